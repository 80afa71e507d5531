"""Several display processes on one kitchen: each shows what the writer recorded, and hands it what people do."""

import asyncio
import ssl
from collections.abc import AsyncIterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import pytest

from orchestrator.bootstrap import Hooks, Settings, System, build, first_start
from orchestrator.bootstrap.show import DisplayOnly, Showing
from orchestrator.core.errors import RefusalCode
from orchestrator.core.ids import EquipmentId, ProbeId
from orchestrator.core.kitchen_events import KitchenChanged
from orchestrator.gateway.door import Accepted, Refusal
from orchestrator.ports.event_log import Reading
from tests.bootstrap.test_readiness import get, stop_churn
from tests.bootstrap.test_system import EXAMPLE
from tests.bootstrap.test_take_over import act
from tests.bootstrap.test_web_server import issued
from tests.display.test_approval_at_the_door import Planner, sorbet
from tests.fakes.clocks import HandClock
from tests.fakes.kitchens import small_kitchen
from tests.fakes.planners import ScriptedPlanner
from tests.fakes.postgres import Postgres

FRIDGE = ProbeId("fridge-air")


def hooks(*, web: bool = True) -> Hooks:
    return Hooks(planner=ScriptedPlanner(lambda request: None), web=web)


class House:
    """A writer without screens, and two displays."""

    def __init__(self, url: str, folder: Path) -> None:
        settings = Settings(data=folder, database=url, kitchen=EXAMPLE, broker="none")
        self.writer: System = build(settings, hooks(web=False))
        self.one, self.two = (DisplayOnly(Showing(url), hooks()) for _ in range(2))

    async def start(self) -> None:
        await self.writer.start()
        await self.one.start()
        await self.two.start()
        async with asyncio.timeout(120):
            while not (self.one.vitals().ready and self.two.vitals().ready):
                await asyncio.sleep(0.05)

    async def stop(self) -> None:
        for part in (self.one, self.two, self.writer):
            await part.stop()


@pytest.fixture
async def house(server: Postgres, tmp_path: Path) -> AsyncIterator[House]:
    made = House(server.url(), tmp_path)
    await made.start()
    yield made
    await made.stop()


async def stopped(display: DisplayOnly) -> None:
    async with asyncio.timeout(120):
        while "churn" not in display.gateway.snapshot().state.machines:
            await asyncio.sleep(0.05)


async def test_act_at_one_display_is_on_record_and_on_every_display(house: House) -> None:
    assert await asyncio.to_thread(act, house.one.web.url, 1) == 200
    assert "churn" in house.one.gateway.snapshot().state.machines  # whoever acted sees it with the answer
    assert "churn" in house.writer.gateway.snapshot().state.machines
    await stopped(house.two)
    status, body = await asyncio.to_thread(get, f"{house.two.web.url}/machines")
    assert (status, "tried" in body) == (200, True)


async def test_act_that_the_kitchen_refuses_is_refused_at_the_display_in_its_words(house: House) -> None:
    unknown = stop_churn(1).model_copy(update={"equipment": EquipmentId("no-such")})
    there = await house.writer.gateway.submit_async(unknown)
    here = await house.two.gateway.submit_async(unknown.model_copy(update={"command_id": "again"}))
    assert isinstance(here, Refusal)
    assert here == there
    assert here.code is RefusalCode.UNKNOWN


async def test_same_act_at_both_displays_is_done_once(house: House) -> None:
    answers = await asyncio.gather(*(d.gateway.submit_async(stop_churn(7)) for d in (house.one, house.two)))
    assert isinstance(answers[0], Accepted)
    assert answers[0] == answers[1]
    stops = [one for one in house.writer.gateway.history(0, 100) if one.event.kind == "machine_stopped"]
    assert [one.command_id for one in stops] == ["act-7"]


async def test_reading_is_shown_as_the_writer_has_it(house: House) -> None:
    now = datetime.now(UTC)
    readings = [Reading(FRIDGE, 3.0 + n / 10, at := now - timedelta(seconds=40 - n), at, seq=n) for n in range(30)]
    await house.writer.engine.on_readings(readings)
    wanted = house.writer.gateway.snapshot().facts[FRIDGE].celsius
    async with asyncio.timeout(120):
        while (fact := house.two.gateway.snapshot().facts.get(FRIDGE)) is None or fact.celsius != wanted:
            await asyncio.sleep(0.1)
        while house.writer.gateway.snapshot().state.seq != house.two.gateway.snapshot().state.seq:
            await asyncio.sleep(0.1)
    assert house.two.gateway.snapshot().facts[FRIDGE].celsius == wanted


async def test_readings_that_the_writer_turned_away_are_counted_at_every_display(house: House) -> None:
    house.writer.rejected.by_reason["malformed"] = 3
    house.writer.rejected.last["malformed"] = "{no brace"
    async with asyncio.timeout(120):
        while not (seen := house.two.gateway.snapshot()).rejected:
            await asyncio.sleep(0.1)
    assert (seen.rejected, seen.rejected_last) == ({"malformed": 3}, {"malformed": "{no brace"})
    _, counted = await asyncio.to_thread(get, f"{house.two.web.url}/metrics")
    assert 'coldwright_readings_rejected_total{reason="malformed"} 3' in counted
    _, page = await asyncio.to_thread(get, f"{house.two.web.url}/probes")
    assert "{no brace" in page


@pytest.mark.parametrize(("minutes", "status"), [(90, 200), (7 * 24 * 60, 409)])
async def test_recipe_approved_at_a_display_is_asked_of_its_own_planner_and_carried_out_by_the_writer(
    minutes: int, status: int, server: Postgres, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(first_start, "read_kitchen", lambda folder: small_kitchen())
    url, theirs, ours, clock = server.url(), Planner(), Planner(), HandClock(small_kitchen().planning_start)
    settings = Settings(data=tmp_path, database=url, kitchen=EXAMPLE, broker="none")
    writer = build(settings, Hooks(clock=clock, timers=clock.timers, planner=theirs, web=False))
    display = DisplayOnly(Showing(url), Hooks(clock=clock, planner=ours))
    await writer.start()
    try:
        await display.start()
        async with asyncio.timeout(120):
            while display.gateway.snapshot().state.plan is None or not display.vitals().ready:
                await asyncio.sleep(0.05)
        change = {"change": "revise recipe", "recipe": sorbet(minutes).model_dump(mode="json")}
        told = {"kind": "change_kitchen", "command_id": "a1", "person": "manager", "reason": "tasted"}
        async with httpx.AsyncClient(timeout=100) as client:
            answer = await client.post(f"{display.web.url}/api/v1/commands", json={**told, "changes": [change]})
        carried_out = [r for r in writer.gateway.history(0, 100) if isinstance(r.event, KitchenChanged)]
        asked = [[q.kind for q in planner.questions if q.kind == "what_if"] != [] for planner in (ours, theirs)]
        assert (answer.status_code, len(carried_out), asked) == (status, int(status == 200), [True, False])
        kitchen = display.gateway.snapshot().state.kitchen
        assert kitchen is not None
        revisions = {recipe.id: recipe.revision for recipe in kitchen.recipes}
        assert revisions["damson-sorbet"] == 1 + len(carried_out), "whoever approved sees it with the answer"
    finally:
        await display.stop()
        await writer.stop()


async def test_display_with_a_certificate_speaks_tls_alone(house: House, tmp_path: Path) -> None:
    authority, files = issued(tmp_path, "display")
    display = DisplayOnly(Showing(house.writer.settings.database, certificate=files), hooks())
    await display.start()
    try:
        trusting = ssl.create_default_context()
        authority.configure_trust(trusting)
        async with httpx.AsyncClient(verify=trusting) as client:
            assert display.web.url.startswith("https://")
            assert (await client.get(f"{display.web.url}/healthz")).status_code == 200
            with pytest.raises(httpx.HTTPError):
                await client.get(f"http://127.0.0.1:{display.web.port}/healthz")
    finally:
        await display.stop()


async def test_writer_that_is_gone_is_said_and_the_last_state_stays(house: House) -> None:
    assert await asyncio.to_thread(act, house.one.web.url, 1) == 200
    await stopped(house.two)
    await house.writer.stop()
    async with asyncio.timeout(120):
        while house.two.gateway.snapshot().linked:
            await asyncio.sleep(0.1)
    status, body = await asyncio.to_thread(get, f"{house.two.web.url}/readyz")
    assert (status, "the service that writes this kitchen is not heard" in body) == (503, True)
    assert (await asyncio.to_thread(get, f"{house.two.web.url}/machines"))[0] == 200
    waits = asyncio.create_task(house.two.gateway.submit_async(stop_churn(3)))
    again = build(house.writer.settings, hooks(web=False))
    await again.start()  # who takes over answers what waited
    try:
        assert isinstance(await asyncio.wait_for(waits, 120), Accepted | Refusal)
        async with asyncio.timeout(120):
            while not house.two.gateway.snapshot().linked:
                await asyncio.sleep(0.1)
    finally:
        await again.stop()
