"""A service keeps its state as it ends, and starts from it to the same kitchen as from the log."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.bootstrap import Hooks, Settings, build
from orchestrator.core.events import Recorded
from orchestrator.core.ids import CommandId, CrewId
from orchestrator.core.recipe_commands import ComeIn
from orchestrator.core.state import State
from tests.fakes.planners import ScriptedPlanner

EXAMPLE = Path(__file__).parents[2] / "config"


async def _lived(data: Path, name: str = "") -> State:
    """Start, let somebody come in, end. Returns: the state at the end."""
    settings = Settings(data=data, kitchen=EXAMPLE, broker="none")
    system = build(settings, Hooks(planner=ScriptedPlanner(lambda request: None), web=False))
    await system.start()
    if name:
        await system.engine.submit(ComeIn(command_id=CommandId(name), person=CrewId("early-cook")))
    state = system.engine.picture.state
    await system.stop()
    return state


async def test_service_starts_from_the_state_that_it_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ended = await _lived(tmp_path, "first")
    kept = tmp_path / "state.snapshot"
    begun: list[int] = []
    read = SqlEventLog.read

    def noted(self: SqlEventLog, after: int = 0) -> Iterator[Recorded]:
        begun.append(after)
        return read(self, after)

    monkeypatch.setattr(SqlEventLog, "read", noted)
    assert await _lived(tmp_path) == ended
    kept.unlink()
    assert await _lived(tmp_path) == ended
    assert begun[0] == ended.seq > 0
    assert 0 in begun[1:]
