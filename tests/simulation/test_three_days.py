"""Three simulated days of the example kitchen, from Wednesday's start to Saturday's hand-over, with every trouble.

Everything is real but people, heat and time: engine, event log, readings store, first guess and repair. What must
hold after every step is in `invariants`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

import pytest

from orchestrator.cli.example import example_kitchen
from orchestrator.core.events import (
    AlarmEscalated,
    AlarmRaised,
    MachineStopped,
    PlanAdopted,
    Recorded,
    TaskStarted,
)
from orchestrator.core.models import TaskKind
from orchestrator.core.models.alarm import AlarmKind
from orchestrator.simulator.runner import Cast
from orchestrator.simulator.troubles import CHURN_STOPS, DOOR_OPEN, LATE_COOK, PROBE_SILENT, Planted
from tests.fakes.kitchens import at
from tests.simulation.house import House
from tests.simulation.invariants import Counted, Watch

START, END = at("Wed 06:00"), at("Sat 14:10")
PLANTED_AT = {
    PROBE_SILENT: at("Thu 15:00"),
    LATE_COOK: at("Thu 22:00"),  # nobody but the early cook comes next
    CHURN_STOPS: at("Fri 10:30"),  # a run is planned within the hour
    DOOR_OPEN: at("Fri 17:00"),
}


@dataclass(frozen=True, slots=True)
class Week:
    """What came of it."""

    watch: Watch
    counted: Counted
    cast: Cast

    def planted(self, trouble: str) -> Planted:
        return self.cast.troubles.planted[trouble]

    def told(self, kind: AlarmKind, since: datetime, until: datetime) -> list[tuple[datetime, bool]]:
        """When people were told of such an alarm, and whether it was a miss by then."""
        return [
            (r.event.at, r.event.facts.missed)
            for r in self.watch.log
            if isinstance(r.event, AlarmRaised | AlarmEscalated)
            and r.event.facts.kind is kind
            and since <= r.event.at <= until
        ]


@pytest.fixture(scope="module")
def week(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Week]:
    with House(example_kitchen(), tmp_path_factory.mktemp("house"), START) as house:
        watch = Watch(house.gateway)
        runner, cast = house.runner(seed=1, variation=1.0, on_step=watch)
        counted = Counted(house.gateway)
        cast.crew.gateway = counted
        cast.troubles.scheduled = dict(PLANTED_AT)
        runner.run(END)
        yield Week(watch, counted, cast)


@pytest.mark.slow
def test_saturdays_orders_are_handed_over(week: Week) -> None:
    plan = week.watch.replayed.plan
    assert plan is not None
    for order in ("SAT-STALL", "SAT-CAFE"):
        tasks = [t.id for t in plan.tasks if t.order == order and t.kind is TaskKind.WORK]
        assert tasks
        assert [task for task in tasks if not week.watch.done(task)] == []


@pytest.mark.slow
def test_nothing_acknowledged_is_lost_or_doubled(week: Week) -> None:
    assert len(week.counted.acknowledged) > 100
    week.watch.acts_on_record(week.counted)


@pytest.mark.slow
def test_every_miss_was_warned_of_before(week: Week) -> None:
    assert week.watch.steps > 500
    assert week.watch.unwarned_misses() == {}


@pytest.mark.slow
def test_all_four_troubles_came(week: Week) -> None:
    assert set(week.cast.troubles.planted) == set(PLANTED_AT)


@pytest.mark.slow
def test_late_cook_is_noticed_while_away_and_the_work_is_done_all_the_same(week: Week) -> None:
    late = week.planted(LATE_COOK)
    shift = at("Fri 06:00")
    assert late.thing == "early-cook"
    told = week.told(AlarmKind.TASK_LATE, shift, late.end)
    assert told
    assert told[0][0] - shift <= timedelta(minutes=30)
    first = next(r.event for r in week.watch.log if isinstance(r.event, TaskStarted) and r.event.at >= shift)
    assert first.at < late.end + timedelta(minutes=30)


@pytest.mark.slow
def test_stopped_churn_is_told_at_once_with_the_windows_it_endangers_and_replanned(week: Week) -> None:
    stop = week.planted(CHURN_STOPS)
    assert week.told(AlarmKind.MACHINE_STOPPED, stop.start, stop.start + timedelta(minutes=1))
    endangered = week.told(AlarmKind.WINDOW_CLOSING, stop.start, stop.start + timedelta(minutes=5))
    assert endangered
    assert not any(missed for _, missed in endangered)
    assert any(
        isinstance(r.event, PlanAdopted) and stop.start <= r.event.at < stop.start + timedelta(minutes=10)
        for r in week.watch.log
    )
    runs = [
        r.event.at
        for r in week.watch.log
        if isinstance(r.event, TaskStarted) and r.event.task.endswith(".churn") and r.event.at >= stop.start
    ]
    assert min(runs) >= stop.end
    assert _stops(week.watch.log) == [("churn", stop.end)]


def _stops(log: list[Recorded]) -> list[tuple[str, datetime | None]]:
    return [(r.event.equipment, r.event.until) for r in log if isinstance(r.event, MachineStopped)]


@pytest.mark.slow
def test_silent_probe_is_told_after_its_time_and_over_when_it_speaks_again(week: Week) -> None:
    silent = week.planted(PROBE_SILENT)
    told = week.told(AlarmKind.PROBE_SILENT, silent.start, silent.end)
    assert told
    assert timedelta(minutes=9) <= told[0][0] - silent.start <= timedelta(minutes=17)
    alarm = week.watch.replayed.alarms.get(next(iter(week.watch.of(AlarmKind.PROBE_SILENT))))
    assert alarm is None or alarm.returned_at is not None


@pytest.mark.slow
def test_open_freezer_is_told_as_a_warning_before_it_counts_as_a_miss(week: Week) -> None:
    door = week.planted(DOOR_OPEN)
    told = week.told(AlarmKind.STORE_WARM, door.start, door.end + timedelta(hours=1))
    assert [missed for _, missed in told][:2] == [False, True]
    assert told[0][0] < told[1][0]
    assert told[0][0] - door.start < timedelta(minutes=40)
