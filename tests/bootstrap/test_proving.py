"""Old records that the kept state has not read are followed soon after a start, aside from the loop: one flipped byte
is told on the page and to programs, and work goes on."""

import asyncio
import json
import time
from pathlib import Path
from typing import Any

import pytest

from orchestrator.bootstrap import Hooks, Settings, System, build, proving
from orchestrator.bootstrap.proving import Proving
from orchestrator.core.errors import Refusal
from tests.bootstrap.test_readiness import get, stop_churn
from tests.bootstrap.test_state_kept import EXAMPLE, _lived
from tests.bootstrap.test_system import EXAMPLE as KITCHEN
from tests.fakes.planners import ScriptedPlanner


def flip_a_byte(log: Path, inside: bytes) -> None:
    """As a disk does it: in the file, behind SQLite's back."""
    whole = bytearray(log.read_bytes())
    at = whole.index(inside)
    whole[at] ^= 0x01
    log.write_bytes(whole)


async def _started(data: Path) -> System:
    system = build(
        Settings(data=data, kitchen=KITCHEN, broker="none"), Hooks(planner=ScriptedPlanner(lambda request: None))
    )
    await system.start()
    return system


async def _proof(system: System) -> dict[str, Any]:
    async with asyncio.timeout(120):
        while True:
            _, body = await asyncio.to_thread(get, f"{system.url}/readyz")
            (found,) = [one for one in json.loads(body)["checks"] if one["name"] == "proof"]
            if found["reason"] != "proof_soon":
                return dict(found)
            await asyncio.sleep(0.1)


async def test_whole_record_is_found_whole_soon_after_a_start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(proving.Proving.__init__, "__kwdefaults__", {"after_s": 0.0})
    assert KITCHEN == EXAMPLE
    system = await _started(tmp_path)
    try:
        found = await _proof(system)
        assert (found["ok"], found["reason"]) == (True, "proof_whole")
    finally:
        await system.stop()


async def test_flipped_byte_in_an_old_record_is_told_while_work_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ended = await _lived(tmp_path, "first")
    assert (tmp_path / "state.snapshot").exists()
    flip_a_byte(tmp_path / "events.db", b'"early-cook"')
    monkeypatch.setattr(proving.Proving.__init__, "__kwdefaults__", {"after_s": 0.0})
    system = await _started(tmp_path)
    try:
        assert system.engine.picture.state == ended, "the start rests on the kept state and does not see it"
        found = await _proof(system)
        assert (found["ok"], found["needed"], found["reason"]) == (False, False, "proof_changed")
        assert "restore the last good backup" in found["says"]
        page = (await asyncio.to_thread(get, f"{system.url}/system"))[1]
        assert found["says"].replace("'", "&#39;") in page
        assert (await asyncio.to_thread(get, f"{system.url}/readyz"))[0] == 200, "people are not turned away"
        assert not isinstance(await system.gateway.submit_async(stop_churn(1)), Refusal)
    finally:
        await system.stop()


async def test_log_that_cannot_be_opened_is_told_and_tried_again(tmp_path: Path) -> None:
    (tmp_path / "events.db").write_bytes(b"no database at all" * 100)
    one = Proving(tmp_path / "events.db")
    assert not await one.prove()
    assert one.facts is not None
    assert "events.db" in one.facts.unreadable


async def test_loop_goes_on_while_the_record_is_followed(tmp_path: Path) -> None:
    """What the loop does for it is to wait: processor time, for a busy machine's stalls are not its own."""
    await _lived(tmp_path, "first")
    one = Proving(tmp_path / "events.db")
    proven = asyncio.create_task(one.prove())
    turns, longest_s = 0, 0.0
    while not proven.done():
        begun = time.thread_time()
        await asyncio.sleep(0.001)
        longest_s = max(longest_s, time.thread_time() - begun)
        turns += 1
    assert await proven
    assert turns > 10
    assert longest_s < 0.020
