"""The kitchen's clock is set back: readings go on being kept and judged, silence is heard in time, nothing is met by a
time that nobody knows.

What an inspector accepts is common practice of record keeping, not a published rule: both times stay on record as they
came, a time in doubt is marked, and no limit is met by it.
"""

import asyncio
import dataclasses
from datetime import datetime, timedelta

import pytest

from orchestrator.core.ids import ProbeId, TaskId
from orchestrator.core.models.health import Sign
from orchestrator.core.state import State, TaskRecord, TaskStatus
from orchestrator.engine.assess import Assessor
from orchestrator.engine.in_turn import in_turn, judged_between
from orchestrator.ports.event_log import Reading
from tests.engine.test_monitoring import FRIDGE, Kitchen
from tests.fakes.clocks import START
from tests.fakes.event_logs import MemoryReadings
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

FREEZER, HOB = ProbeId("freezer-air"), ProbeId("hob-1-core")
SMALL = small_kitchen()
PLAN = small_plan(SMALL)
IDLE = State(seq=1, kitchen=SMALL, plan=PLAN)
HOUR = timedelta(hours=1)
NIGHT = at("Wed 02:00")


def ahead(minute: float, celsius: float, probe: ProbeId = FREEZER, by: timedelta = HOUR) -> Reading:
    """Measured by a clock that is ahead of ours, since ours was set back."""
    came = NIGHT + timedelta(minutes=minute)
    return Reading(probe, celsius, came + by, came)


def stamped(instant: datetime, celsius: float, probe: ProbeId = FREEZER) -> Reading:
    """By a probe without a clock: stamped as it comes."""
    return Reading(probe, celsius, instant, instant)


def cooking(since: datetime) -> State:
    planned = next(t for t in PLAN.tasks if t.process == "cook")
    record = TaskRecord(status=TaskStatus.IN_HAND, started_at=since, equipment=planned.equipment)
    return dataclasses.replace(IDLE, seq=2, tasks={TaskId(planned.id): record})


def test_freezer_that_warms_is_told_although_its_probes_times_are_still_to_come() -> None:
    assessor = Assessor(SMALL)
    facts = [assessor.fold(ahead(3 * n, -18.0 + 2.0 * n), IDLE) for n in range(5)]
    assert [f.measured_at for f in facts] == [NIGHT + timedelta(minutes=3 * n) for n in range(5)]
    assert facts[-1].outside_since is not None
    assert NIGHT < facts[-1].outside_since <= NIGHT + timedelta(minutes=12)
    assert [(f.sign, f.hint) for f in facts[0].health] == [(Sign.CLOCK_WRONG, "ahead")], "one is enough to doubt it"


def test_no_target_is_met_by_readings_whose_time_is_in_doubt() -> None:
    assessor, state = Assessor(SMALL), cooking(NIGHT)
    curve = [60.0, 70.0, 80.0, 84.0, 84.0, 84.0, 84.0]
    facts = [assessor.fold(ahead(n, c, HOB), state) for n, c in enumerate(curve)]
    assert [f.celsius for f in facts] == curve, "they are shown"
    assert {f.believable for f in facts} == {False}
    right = Assessor(SMALL)
    met = [right.fold(ahead(n, c, HOB, timedelta()), state).met_at for n, c in enumerate(curve)]
    assert met[-1] is not None, "the same curve by a clock that is right meets it"


def test_backlog_that_is_ahead_counts_by_its_newest_alone() -> None:
    came = NIGHT + timedelta(minutes=5)
    backlog = [Reading(FREEZER, -20.0 + n, came + timedelta(minutes=30 + n), came, seq=n) for n in range(10)]
    other = ahead(5, 3.0, FRIDGE)
    assert in_turn([*reversed(backlog), other]) == [backlog[-1], other]
    live = [ahead(3 * n, -18.0) for n in range(4)]
    assert in_turn(reversed(live)) == live


def test_stored_readings_are_judged_after_a_restart_as_they_were_before_it() -> None:
    store = MemoryReadings()
    kept = [ahead(3 * n, -18.0 + n) for n in range(8)]
    store.add(kept)
    again = judged_between(store.between, FREEZER, NIGHT, NIGHT + timedelta(minutes=12))
    assert again == kept[:5]
    assert judged_between(store.between, FREEZER, NIGHT + HOUR, NIGHT + 2 * HOUR) == [], "nor a second time, later"
    one, other = Assessor(SMALL), Assessor(SMALL)
    facts = [[assessor.fold(r, IDLE) for r in kept[:5]][-1] for assessor in (one, other)]
    assert facts[0] == facts[1]


def test_probe_without_a_clock_is_heard_on_at_once_after_ours_was_set_back() -> None:
    assessor = Assessor(SMALL)
    for n in range(10):
        assessor.fold(stamped(NIGHT + HOUR + timedelta(minutes=n), -18.0), IDLE)
    warm = [assessor.fold(stamped(NIGHT + timedelta(minutes=10 + n), -18.0 + 3.0 * n), IDLE) for n in range(4)]
    assert [f.celsius for f in warm] == [-18.0, -15.0, -12.0, -9.0]
    assert warm[-1].outside_since == NIGHT + timedelta(minutes=12)
    assert warm[-1].health == ()


def test_store_that_was_out_before_the_clock_was_set_back_stays_out_until_it_is_clearly_in() -> None:
    assessor = Assessor(SMALL)
    out = assessor.fold(stamped(NIGHT + HOUR, -10.0), IDLE)
    assert out.outside_since == NIGHT + HOUR
    still = assessor.fold(stamped(NIGHT + timedelta(minutes=3), -10.0), IDLE)
    assert still.outside_since == NIGHT + timedelta(minutes=3), "never in the future"
    back = assessor.fold(stamped(NIGHT + timedelta(minutes=6), -19.0), IDLE)
    assert back.outside_since is None


def test_hold_is_not_gone_on_with_by_minutes_that_came_twice() -> None:
    assessor, state = Assessor(SMALL), cooking(NIGHT - 2 * HOUR)
    before = assessor.fold(stamped(NIGHT + HOUR, 84.0, HOB), state)
    assert before.reached_at == NIGHT + HOUR
    again = [assessor.fold(stamped(NIGHT + timedelta(minutes=n), 84.0, HOB), state) for n in range(1, 50)]
    assert {f.met_at for f in again} == {None}
    assert again[-1].celsius == 84.0
    later = [assessor.fold(stamped(NIGHT + HOUR + timedelta(minutes=n), 84.0, HOB), state) for n in (1, 2)]
    assert later[-1].met_at is not None, "from then on it counts"


def test_from_when_on_a_probe_counts_again_is_told_while_the_clock_is_before_the_start_of_its_step() -> None:
    assessor, state = Assessor(SMALL), cooking(NIGHT)
    told = [assessor.fold(stamped(NIGHT - HOUR + timedelta(minutes=n), 84.0, HOB), state) for n in range(50)]
    assert {f.counts_from for f in told} == {NIGHT}
    assert {f.reached_at for f in told} == {None}
    again = assessor.fold(stamped(NIGHT + timedelta(minutes=1), 84.0, HOB), state)
    assert (again.counts_from, again.reached_at) == (None, NIGHT + timedelta(minutes=1))


def test_it_is_told_while_minutes_of_the_step_come_twice_and_of_no_step_at_all() -> None:
    assessor, state = Assessor(SMALL), cooking(NIGHT - 2 * HOUR)
    before = assessor.fold(stamped(NIGHT + HOUR, 70.0, HOB), state)
    assert before.counts_from is None
    twice = assessor.fold(stamped(NIGHT + timedelta(minutes=1), 84.0, HOB), state)
    assert twice.counts_from == NIGHT + HOUR
    assert assessor.fold(stamped(NIGHT + HOUR + timedelta(minutes=1), 84.0, HOB), state).counts_from is None
    idle = Assessor(SMALL)
    idle.fold(stamped(NIGHT + HOUR, 70.0, HOB), IDLE)
    assert idle.fold(stamped(NIGHT, 70.0, HOB), IDLE).counts_from is None


def test_a_reading_on_its_way_while_the_step_began_tells_of_no_clock() -> None:
    assessor = Assessor(SMALL)
    late = Reading(HOB, 20.0, NIGHT - timedelta(minutes=5), NIGHT + timedelta(seconds=1))
    assert assessor.fold(late, cooking(NIGHT)).counts_from is None


@pytest.mark.parametrize("since_last_min", [0, 3])
async def test_probe_that_falls_silent_after_the_clock_was_set_back_is_missed_in_time(since_last_min: int) -> None:
    kitchen = await Kitchen().open()
    await kitchen.hear(5, 3.2)
    kitchen.clock.move(minutes=since_last_min)
    kitchen.clock.set_back(hours=1)
    set_at = kitchen.clock.now()
    for _ in range(13):
        kitchen.clock.move(minutes=1)
        await asyncio.sleep(0)
    fact = kitchen.engine.picture.facts[FRIDGE]
    assert fact.silent_since is not None
    assert set_at <= fact.silent_since <= set_at + timedelta(minutes=1)
    assert kitchen.clock.now() < START
    await kitchen.engine.stop()


async def test_readings_ahead_of_a_clock_that_was_set_back_are_kept_and_shown() -> None:
    kitchen = await Kitchen().open()
    await kitchen.hear(5, 3.2)
    kitchen.clock.set_back(hours=1)
    true = START + timedelta(minutes=8)
    await kitchen.engine.on_readings([Reading(FRIDGE, 9.5, true, kitchen.clock.now())])
    await asyncio.sleep(0.01)
    assert kitchen.store.latest()[FRIDGE].measured_at == true
    fact = kitchen.engine.picture.facts[FRIDGE]
    assert (fact.celsius, fact.measured_at, fact.outside_since) == (9.5, kitchen.clock.now(), kitchen.clock.now())
    await kitchen.engine.stop()
