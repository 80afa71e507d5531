"""What a demo finds when it opens: an earlier one, a taken port, a week that is over; and the history it makes."""

import asyncio
import json
import socket
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.bootstrap import Settings, saved_demo
from orchestrator.bootstrap.demo_opening import OPENS_AFTER, OPENS_BEFORE, DemoOptions, _Opening, free_port, schedule
from orchestrator.bootstrap.first_look import FirstLook
from orchestrator.bootstrap.history import FirstWellThenQuick, History, make_history, something_to_watch
from orchestrator.cli.example import example_kitchen
from orchestrator.core.ids import EquipmentId, ProbeId, TaskId
from orchestrator.core.models import ProbeFact
from orchestrator.core.state import State, TaskRecord, TaskStatus
from orchestrator.gateway.door import Snapshot
from orchestrator.kitchen import read_kitchen
from orchestrator.simulator.troubles import CHURN_STOPS, TITLES
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan
from tests.simulation.house import PlannerHere


def opening(data: Path, *, fresh: bool = False) -> _Opening:
    options = DemoOptions(kitchen=example_kitchen(), data=data, fresh=fresh)
    return _Opening(options, read_kitchen(example_kitchen()), lambda what, share: None)


def leave_behind(data: Path, now: str) -> None:
    data.mkdir()
    saved_demo.save(data, {"now": now})
    SqlEventLog(data / "events.db").close()


def test_port_that_is_free_is_taken_and_a_taken_one_gives_way_to_any() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        assert free_port(taken.getsockname()[1]) == 0
        port = taken.getsockname()[1]
    assert free_port(port) == port


def test_saved_values_come_back_and_a_torn_file_counts_as_none(tmp_path: Path) -> None:
    saved_demo.save(tmp_path, {"now": "2026-11-25T06:00:00+00:00", "speed": 60.0})
    assert saved_demo.load(tmp_path) == {"now": "2026-11-25T06:00:00+00:00", "speed": 60.0}
    (tmp_path / "practice.json").write_text('{"now": "2026-')
    assert saved_demo.load(tmp_path) is None
    assert saved_demo.load(tmp_path / "nowhere") is None


def test_forgetting_removes_the_record_and_nothing_else(tmp_path: Path) -> None:
    mine = tmp_path / "recipes.txt"
    for path in (mine, tmp_path / "events.db", tmp_path / "events.db-wal", tmp_path / "practice.json"):
        path.write_text("x")
    saved_demo.forget(tmp_path, [tmp_path / "events.db"])
    assert list(tmp_path.iterdir()) == [mine]


def test_earlier_demo_is_taken_up(tmp_path: Path) -> None:
    leave_behind(tmp_path / "demo", "2026-11-26T09:00:00+00:00")
    assert opening(tmp_path / "demo").earlier() == {"now": "2026-11-26T09:00:00+00:00"}


@pytest.mark.parametrize("now", ["2026-11-30T06:00:00+00:00", "some day"])
def test_demo_whose_week_is_over_begins_anew(tmp_path: Path, now: str) -> None:
    leave_behind(tmp_path / "demo", now)
    assert opening(tmp_path / "demo").earlier() is None
    assert not (tmp_path / "demo" / "events.db").exists()


def test_fresh_forgets_the_earlier_demo(tmp_path: Path) -> None:
    leave_behind(tmp_path / "demo", "2026-11-26T09:00:00+00:00")
    assert opening(tmp_path / "demo", fresh=True).earlier() is None
    assert saved_demo.load(tmp_path / "demo") is None


def test_troubles_are_spread_and_the_churn_stops_before_its_next_run() -> None:
    state = State(kitchen=small_kitchen(), plan=small_plan())
    planned = schedule(state, at("Wed 09:00"))
    assert set(planned) == set(TITLES)
    assert len(set(planned.values())) == len(TITLES)
    assert planned[CHURN_STOPS] == at("Thu 08:35")


@pytest.mark.slow
async def test_history_lives_through_the_first_day_and_leaves_time_and_heat(tmp_path: Path) -> None:
    start = at("Wed 06:00")
    told: list[float] = []
    history = History(
        settings=Settings(data=tmp_path, kitchen=example_kitchen(), practice=True),
        planner=FirstWellThenQuick(PlannerHere(), 1.0),
        start=start,
        until=(start + timedelta(hours=6), start + timedelta(hours=6)),
        seed=1,
        variation=1.0,
        on_progress=lambda what, share: told.append(share),
    )
    saved = await make_history(history)
    log = SqlEventLog(tmp_path / "events.db")
    kinds = [record.event.kind for record in await asyncio.to_thread(lambda: list(log.read()))]
    log.close()
    assert json.loads(json.dumps(saved))["now"] == (start + timedelta(hours=6)).isoformat()
    assert saved["physics"]["at"] == saved["now"]
    assert saved["seq"]["fridge-air"] > 300
    assert kinds[0] == "kitchen_imported"
    assert "plan_adopted" in kinds
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert timedelta(hours=24) < OPENS_AFTER < OPENS_BEFORE


def _watching(fact: ProbeFact, **record: Any) -> bool:
    state = State(kitchen=small_kitchen(), plan=small_plan())
    state = replace(state, tasks={TaskId("C1.chill"): TaskRecord(**record)})
    picture = Snapshot(
        version=1, state=state, facts={fact.probe: fact}, now=at("Wed 09:00"), rate=0.0, practice=True, rejected={},
        rejected_last={}, broker_url="", linked=True, planning=False,
    )  # fmt: skip
    return something_to_watch(picture)


def test_demo_opens_when_food_on_a_probe_is_on_its_way() -> None:
    chilling = ProbeFact(probe=ProbeId("ice-bath-core"), equipment=EquipmentId("ice-bath"), task=TaskId("C1.chill"))
    begun = {"status": TaskStatus.IN_HAND, "started_at": at("Wed 08:45")}
    assert _watching(chilling, **begun)
    assert not _watching(chilling, status=TaskStatus.WAITING)
    assert not _watching(chilling, **{**begun, "started_at": at("Wed 08:58")})
    assert not _watching(chilling.model_copy(update={"met_at": at("Wed 08:55")}), **begun)
    assert not _watching(chilling.model_copy(update={"task": None}), **begun)


async def test_clock_waits_for_the_first_page_but_not_for_a_health_check_nor_for_ever() -> None:
    served: list[str] = []

    async def screens(scope: Any, receive: Any, send: Any) -> None:
        served.append(scope["path"])

    first = FirstLook(longest_s=60.0).around(screens)
    assert not first.taken()
    first.begin()
    await first({"type": "lifespan", "path": ""}, None, None)
    await first({"type": "http", "path": "/healthz"}, None, None)
    assert not first.taken()
    await first({"type": "http", "path": "/"}, None, None)
    assert first.taken()
    assert served == ["", "/healthz", "/"]
    unseen = FirstLook(longest_s=0.0)
    unseen.begin()
    assert unseen.taken()
