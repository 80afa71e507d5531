"""Everything wired: a reading over real MQTT shows through the gateway, a restart knows all, an end is clean."""

import asyncio
import gc
import json
import urllib.request
from collections.abc import AsyncIterator, Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import aiomqtt
import pytest

from orchestrator.adapters.mqtt_address import MqttAddress
from orchestrator.adapters.scaled_clock import ScaledClock
from orchestrator.bootstrap import Failure, Hooks, Settings, System, build
from orchestrator.bootstrap.hooks import core_rules
from orchestrator.core.commands import Command, StopMachine, Tick
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CommandId, CrewId, EquipmentId, ProbeId
from orchestrator.core.kitchen_commands import ChangeKitchen
from orchestrator.core.models import Kitchen
from orchestrator.core.models.change import ChangeOrder, DropOrder
from orchestrator.core.state import Facts, State
from orchestrator.engine.rules import Decided
from orchestrator.gateway.door import Accepted
from orchestrator.kitchen import read_kitchen
from tests.fakes.planners import ScriptedPlanner

EXAMPLE = Path(__file__).parents[2] / "config"
FRIDGE = ProbeId("fridge-air")


@pytest.fixture(scope="module")
def kitchen() -> Kitchen:
    return read_kitchen(EXAMPLE)


def settings(tmp_path: Path, **changes: object) -> Settings:
    return Settings(**{"data": tmp_path / "data", "kitchen": EXAMPLE, **changes})  # type: ignore[arg-type]


@pytest.fixture
async def run() -> AsyncIterator[Callable[..., System]]:
    systems: list[System] = []

    async def start(of: Settings, **hooks: object) -> System:
        planner = ScriptedPlanner(lambda request: None)
        system = build(of, Hooks(planner=planner, **hooks))  # type: ignore[arg-type]
        await system.start()
        systems.append(system)
        return system

    yield start  # type: ignore[misc]
    for system in systems:
        await system.stop()


def get(url: str) -> tuple[int, bytes]:
    with urllib.request.urlopen(url, timeout=5) as answer:
        return answer.status, answer.read()


async def test_system_first_start_takes_kitchen_over_and_serves(
    run: Callable[..., System], tmp_path: Path, kitchen: Kitchen
) -> None:
    system = await run(settings(tmp_path))
    taken = system.gateway.snapshot().state.kitchen
    assert taken is not None
    # Today the example's own days may be over: then they have gone on.
    assert (taken.name, taken.recipes, taken.first_start) == (kitchen.name, kitchen.recipes, kitchen.planning_start)
    status, body = await asyncio.to_thread(get, f"{system.url}/healthz")
    assert status == 200
    assert json.loads(body)["status"] == "ok"
    assert system.url.startswith("http://127.0.0.1:")
    assert system.broker_url.startswith("mqtt://127.0.0.1:")


async def test_system_while_it_runs_keeps_what_it_loaded_out_of_the_garbage_collectors_way(tmp_path: Path) -> None:
    system = build(settings(tmp_path), Hooks(planner=ScriptedPlanner(lambda request: None), web=False))
    before = gc.get_freeze_count()

    await system.start()
    try:
        loaded = gc.get_freeze_count()
        assert loaded - before > 10_000
        assert len(gc.get_objects()) < loaded
    finally:
        await system.stop()

    assert gc.get_freeze_count() == 0


async def test_system_reading_over_mqtt_is_shown_and_kept(run: Callable[..., System], tmp_path: Path) -> None:
    clock = ScaledClock(read_kitchen(EXAMPLE).planning_start)
    system = await run(settings(tmp_path), clock=clock, web=False)
    address = MqttAddress.parse(system.broker_url)
    async with aiomqtt.Client(address.host, address.port) as client:
        async with asyncio.timeout(10):
            while FRIDGE not in system.gateway.snapshot().facts or not system.gateway.snapshot().facts[FRIDGE].celsius:
                await client.publish(f"coldwright/v1/probes/{FRIDGE}/reading", "3.5", qos=1)
                await asyncio.sleep(0.05)
        await client.publish(f"coldwright/v1/probes/{FRIDGE}/reading", "hot", qos=1)
        async with asyncio.timeout(10):
            while not system.gateway.snapshot().rejected:
                await asyncio.sleep(0.01)
    assert system.gateway.snapshot().facts[FRIDGE].celsius == 3.5
    assert system.gateway.snapshot().rejected == {"malformed": 1}
    await system.stop()
    again = await run(settings(tmp_path), clock=ScaledClock(clock.now()), web=False)
    assert again.gateway.snapshot().facts[FRIDGE].celsius == 3.5


async def test_system_restart_knows_what_was_acknowledged(run: Callable[..., System], tmp_path: Path) -> None:
    system = await run(settings(tmp_path, broker="none"), web=False)
    command = StopMachine(command_id=CommandId("c1"), equipment=EquipmentId("churn"), reason="will not turn")
    first = await asyncio.to_thread(system.gateway.submit, command)
    assert isinstance(first, Accepted)
    state = system.gateway.snapshot().state
    await system.stop()
    again = await run(settings(tmp_path, broker="none", kitchen=None), web=False)
    after = again.gateway.snapshot().state
    assert after.machines == state.machines
    assert "churn" in after.machines
    assert await asyncio.to_thread(again.gateway.submit, command) == first


async def test_system_data_folder_in_use_is_refused(run: Callable[..., System], tmp_path: Path) -> None:
    await run(settings(tmp_path, broker="none"), web=False)
    with pytest.raises(Failure, match="is used by another service"):
        await run(settings(tmp_path, broker="none"), web=False)


async def test_system_port_taken_is_refused_and_nothing_is_left_running(
    run: Callable[..., System], tmp_path: Path
) -> None:
    first = await run(settings(tmp_path, broker="none"))
    assert first.web is not None
    other = settings(tmp_path, data=tmp_path / "other", port=first.web.port, broker="none")
    with pytest.raises(Failure, match="cannot be listened on"):
        await run(other)
    second = await run(settings(tmp_path, data=tmp_path / "other", broker="none"))  # its folder is free again
    assert second.url != first.url


async def test_system_without_kitchen_says_what_to_do(run: Callable[..., System], tmp_path: Path) -> None:
    with pytest.raises(Failure, match="no kitchen yet") as caught:
        await run(settings(tmp_path, kitchen=None, broker="none"), web=False)
    assert caught.value.status == 2


async def test_system_kitchen_with_faults_names_them_all(run: Callable[..., System], tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    with pytest.raises(Failure) as caught:
        await run(settings(tmp_path, kitchen=tmp_path / "empty", broker="none"), web=False)
    assert caught.value.status == 2
    assert "kitchen.yaml" in caught.value.text


async def test_system_broker_that_is_no_url_is_bad_input(run: Callable[..., System], tmp_path: Path) -> None:
    with pytest.raises(Failure, match="mqtt://host:1883") as caught:
        await run(settings(tmp_path, broker="localhost"), web=False)
    assert caught.value.status == 2


async def test_system_broker_killed_is_started_again(run: Callable[..., System], tmp_path: Path) -> None:
    system = await run(settings(tmp_path), web=False)
    broker = system._broker
    assert broker is not None
    assert broker._process is not None
    broker._process.kill()
    async with asyncio.timeout(10):
        while broker.alive():
            await asyncio.sleep(0.01)
        while not broker.alive():
            await asyncio.sleep(0.01)


async def test_system_edited_kitchen_is_reported_and_not_taken(
    run: Callable[..., System], tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    folder = tmp_path / "kitchen"
    _copy(EXAMPLE, folder)
    first = await run(settings(tmp_path, kitchen=folder, broker="none"), web=False)
    before = first.gateway.snapshot().state.kitchen
    await first.stop()
    edited = (folder / "kitchen.yaml").read_text()
    (folder / "kitchen.yaml").write_text(edited.replace("name:", "name: Another", 1))
    again = await run(settings(tmp_path, kitchen=folder, broker="none"), web=False)
    assert again.gateway.snapshot().state.kitchen == before
    assert "and not in use: name" in caplog.text
    vitals = again.watch.vitals()
    assert [(one.reason, one.values["parts"]) for one in vitals.amiss if one.name == "files"] == [
        ("files_edited", "name")
    ]
    assert vitals.ready


async def test_system_ingredient_table_is_taken_anew_at_every_start_and_is_no_edit_that_waits(
    run: Callable[..., System], tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    folder = tmp_path / "kitchen"
    _copy(EXAMPLE, folder)
    first = await run(settings(tmp_path, kitchen=folder, broker="none"), web=False)
    await first.stop()
    table = (folder / "ingredients.yaml").read_text()
    dearer = table.replace("{ ingredient: Sugar, per_kg: 1.10 }", "{ ingredient: Sugar, per_kg: 1.45 }")
    dearer = dearer.replace("currency: GBP", "currency: EUR")
    assert dearer.count("1.45") == dearer.count("EUR") == 1
    (folder / "ingredients.yaml").write_text(dearer)
    again = await run(settings(tmp_path, kitchen=folder, broker="none"), web=False)
    kitchen = again.gateway.snapshot().state.kitchen
    assert kitchen is not None
    assert [row.cost_per_kg for row in kitchen.ingredients if row.id == "sugar"] == [1.45]
    assert kitchen.currency == "EUR"
    assert [r.message for r in caplog.records if "edited in" in r.message] == []


async def test_system_kitchen_changed_by_hand_is_kept_and_is_no_edit_of_its_files(
    run: Callable[..., System], tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    folder = tmp_path / "kitchen"
    _copy(EXAMPLE, folder)
    hooks = {"web": False, "clock": ScaledClock(read_kitchen(EXAMPLE).planning_start)}
    first = await run(settings(tmp_path, kitchen=folder, broker="none"), **hooks)
    kitchen = first.gateway.snapshot().state.kitchen
    assert kitchen is not None
    one, other = kitchen.orders[0], kitchen.orders[1]
    changes = (ChangeOrder(order=one.id, weight=one.weight + 3), DropOrder(order=other.id))
    command = ChangeKitchen(command_id=CommandId("c1"), person=CrewId("manager"), changes=changes)
    assert isinstance(await asyncio.to_thread(first.gateway.submit, command), Accepted)
    before = first.gateway.snapshot().state
    await first.stop()
    again = await run(settings(tmp_path, kitchen=folder, broker="none"), **hooks)
    after = again.gateway.snapshot().state
    assert (after.kitchen, after.by_hand) == (before.kitchen, before.by_hand)
    assert after.kitchen is not None
    assert [o.id for o in after.kitchen.orders] == [o.id for o in kitchen.orders if o.id != other.id]
    assert [r.message for r in caplog.records if "edited in" in r.message] == []
    await again.stop()
    # What the files now say as well is in use; what they say besides is not.
    text = (folder / "orders.yaml").read_text()
    (folder / "orders.yaml").write_text(text.replace(other.customer, "Somebody else"))
    await run(settings(tmp_path, kitchen=folder, broker="none"), **hooks)
    assert f"and not in use: orders: {other.id}" in caplog.text


def _copy(source: Path, target: Path) -> None:
    for file in source.rglob("*.yaml"):
        to = target / file.relative_to(source)
        to.parent.mkdir(parents=True, exist_ok=True)
        to.write_text(file.read_text())


async def test_system_wall_clock_timer_ticks_when_something_is_due(run: Callable[..., System], tmp_path: Path) -> None:
    ticks: list[datetime] = []
    core = core_rules()
    due = datetime.now(UTC) + timedelta(seconds=2)

    def decide(state: State, command: Command, now: datetime, facts: Facts) -> Decided | Refusal:
        if isinstance(command, Tick):
            ticks.append(now)
        return core.decide(state, command, now, facts)

    def next_due(state: State, now: datetime) -> datetime | None:
        return due if now < due else None

    rules = replace(core, decide=decide, next_due=next_due)
    await run(settings(tmp_path, broker="none"), web=False, rules=rules)
    async with asyncio.timeout(15):
        while not any(tick >= due for tick in ticks):
            await asyncio.sleep(0.02)
    assert next(tick for tick in ticks if tick >= due) - due < timedelta(seconds=2)
