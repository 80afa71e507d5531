"""A probe that may not be believed: its fact says so once, meets nothing, and counts anew when it is well again."""

import dataclasses
import itertools
from datetime import datetime, timedelta

from orchestrator.core.ids import CrewId, EquipmentId, ProbeId
from orchestrator.core.models import Kitchen, LimitUse, ProbeFact
from orchestrator.core.models.health import Sign
from orchestrator.core.models.limit import LimitId
from orchestrator.core.probe_book import placed, with_event
from orchestrator.core.probe_events import ProbeAssigned, ProbeChecked, ProbeEvent, ProbeOffsetApplied
from orchestrator.core.state import State, TaskRecord, TaskStatus
from orchestrator.engine.assess import Assessor
from orchestrator.kitchen.shipped import shipped_limits
from orchestrator.ports.event_log import Reading
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

BEGUN = at("Wed 07:00")
HOB, BATH, FRIDGE = ProbeId("hob-1-core"), ProbeId("ice-bath-core"), ProbeId("fridge-air")


def _kitchen() -> Kitchen:
    """The small kitchen, whose cooking is judged by the rows for a mix: 80 °C for 25 s, or 69 °C for 30 min."""
    plain, use = small_kitchen(), LimitUse(id=LimitId("frozen-dessert-mix"), ceiling=None)
    recipes = []
    for recipe in plain.recipes:
        steps = [s.model_copy(update={"limit": use}) if s.process == "cook" else s for s in recipe.steps]
        recipes.append(recipe.model_copy(update={"steps": tuple(steps)}))
    return plain.model_copy(update={"recipes": tuple(recipes), "limits": shipped_limits().limits})


KITCHEN = _kitchen()
PLAN = small_plan(KITCHEN)


def _cooking(process: str = "cook") -> State:
    task = next(t for t in PLAN.tasks if t.process == process)
    record = TaskRecord(status=TaskStatus.IN_HAND, started_at=BEGUN, equipment=task.equipment)
    return dataclasses.replace(State(seq=1, kitchen=KITCHEN, plan=PLAN), seq=2, tasks={task.id: record})


def _folded(
    assessor: Assessor, curve: list[float], state: State, probe: ProbeId = HOB, since: datetime = BEGUN
) -> list[ProbeFact]:
    facts = []
    for minute, celsius in enumerate(curve, 1):
        instant = since + timedelta(minutes=minute)
        facts.append(assessor.fold(Reading(probe, celsius, instant, instant + timedelta(seconds=1)), state))
    return facts


def _signs(fact: ProbeFact) -> list[tuple[Sign, str]]:
    return [(finding.sign, finding.hint) for finding in fact.health]


def test_custard_read_in_fahrenheit_meets_neither_its_target_nor_its_limit() -> None:
    facts = _folded(Assessor(KITCHEN), [1.8 * (20.0 + 1.55 * n) + 32.0 for n in range(41)], _cooking())
    assert _signs(facts[-1]) == [(Sign.UNIT_MISTAKEN, "fahrenheit as celsius")]
    assert not facts[-1].believable
    # 82 "°C" were read at 28 °C, long before anybody could know: that counts for nothing either.
    assert any(fact.met_at is not None for fact in facts)
    assert (facts[-1].met_at, facts[-1].reached_at, facts[-1].arrival_from) == (None, None, None)
    verdict = facts[-1].verdict
    assert verdict is not None
    assert (verdict.status, verdict.at) == ("not judged", None)
    assert verdict.why == "the probe may not be believed: unit mistaken (fahrenheit as celsius)"


def test_finding_that_lasts_changes_the_meaning_of_the_fact_once() -> None:
    facts = _folded(Assessor(KITCHEN), [40.0 + 0.5 * n for n in range(20)] + [49.7] * 60, _cooking())
    health = [fact.meaning()[-2] for fact in facts]
    assert sum(a != b for a, b in itertools.pairwise(health)) == 1
    assert _signs(facts[-1]) == [(Sign.STUCK, "")]


def test_probe_that_is_well_again_counts_from_there_on() -> None:
    rising = [40.0 + 0.5 * n for n in range(20)]
    well_again = [81.0, 81.2, 81.1, 81.3, 81.2, 81.4]
    facts = _folded(Assessor(KITCHEN), [*rising, *[49.7] * 30, *well_again], _cooking())
    stuck, cured = facts[48], facts[-1]
    assert (stuck.believable, cured.believable) == (False, True)
    assert stuck.verdict is not None
    assert stuck.verdict.status == "not judged"
    assert cured.verdict is not None
    assert cured.verdict.status == "met"
    # Not before three readings had changed again: what was read meanwhile may be anything.
    assert all(instant >= BEGUN + timedelta(minutes=53) for instant, _ in cured.verdict.readings)


def test_what_was_met_before_a_probe_stuck_stays_met() -> None:
    held = [79.0 + 0.5 * n for n in range(10)]
    facts = _folded(Assessor(KITCHEN), [*held, *[70.0] * 40], _cooking())
    assert not facts[-1].believable
    assert facts[-1].met_at == facts[12].met_at
    assert facts[-1].verdict is not None
    assert facts[-1].verdict.status == "met"


def test_ceiling_passed_by_a_doubtful_reading_stays_told() -> None:
    facts = _folded(Assessor(KITCHEN), [1.8 * (20.0 + 1.55 * n) + 32.0 for n in range(41)], _cooking())
    # Read as °C, its ceiling of 85 °C is passed by the eighth reading: 87.5 after 84.7.
    assert facts[-1].ceiling_broken_at == BEGUN + timedelta(minutes=8)
    assert not facts[-1].believable


def test_chill_with_a_doubtful_probe_is_never_called_on_course_or_met() -> None:
    facts = _folded(Assessor(KITCHEN), [80.0 - 0.5 * n for n in range(60)] + [50.4] * 30, _cooking("chill"), BATH)
    assert facts[55].cooling == "on course"
    assert (facts[-1].believable, facts[-1].cooling) == (False, "")


def test_fridge_in_fahrenheit_keeps_its_alarm_and_is_not_believed() -> None:
    idle = State(seq=1, kitchen=KITCHEN, plan=PLAN)
    facts = _folded(Assessor(KITCHEN), [38.0 + 0.1 * (n % 3) for n in range(20)], idle, FRIDGE)
    assert _signs(facts[-1]) == [(Sign.UNIT_MISTAKEN, "fahrenheit as celsius")]
    assert facts[-1].outside_since == BEGUN + timedelta(minutes=1)


def test_lag_that_all_probes_share_is_nobodys_clock() -> None:
    assessor, idle = Assessor(KITCHEN), State(seq=1, kitchen=KITCHEN, plan=PLAN)
    for minute in range(60):
        instant = BEGUN + timedelta(minutes=minute)
        for probe, celsius in ((FRIDGE, 3.0), (ProbeId("freezer-air"), -20.0), (HOB, 20.0)):
            reading = Reading(probe, celsius + 0.1 * (minute % 2), instant, instant + timedelta(minutes=5))
            fact = assessor.fold(reading, idle)
            assert fact.health == ()


def test_clock_of_one_probe_that_is_behind_is_told() -> None:
    assessor, idle = Assessor(KITCHEN), State(seq=1, kitchen=KITCHEN, plan=PLAN)
    for minute in range(30):
        now = BEGUN + timedelta(minutes=minute)
        assessor.fold(Reading(ProbeId("freezer-air"), -20.0, now, now + timedelta(seconds=1)), idle)
        late = now - timedelta(minutes=7)
        fact = assessor.fold(Reading(FRIDGE, 3.0 + 0.1 * (minute % 2), late, now), idle)
    assert _signs(fact) == [(Sign.CLOCK_WRONG, "behind")]
    assert fact.health[0].amount == 7.0


def test_low_battery_is_told_and_believed() -> None:
    assessor, idle = Assessor(KITCHEN), State(seq=1, kitchen=KITCHEN, plan=PLAN)
    for minute in range(4):
        now = BEGUN + timedelta(minutes=minute)
        fact = assessor.fold(Reading(FRIDGE, 3.0, now, now, battery_percent=12.0), idle)
    assert _signs(fact) == [(Sign.BATTERY_LOW, "")]
    assert fact.believable


def test_restart_looks_back_to_what_a_finding_was_told_by() -> None:
    assessor, idle = Assessor(KITCHEN), State(seq=1, kitchen=KITCHEN, plan=PLAN)
    fact = _folded(assessor, [38.0] * 20, idle, FRIDGE)[-1]
    known = dataclasses.replace(idle, facts={FRIDGE: fact})
    now = BEGUN + timedelta(hours=3)
    assert assessor.resume_from(FRIDGE, known, now) <= fact.health[0].since - timedelta(minutes=30)


def _with(*events: ProbeEvent, state: State) -> State:
    book, kitchen = state.probes, state.kitchen
    for event in events:
        book = with_event(book, event)
        kitchen = placed(kitchen, event) if isinstance(event, ProbeAssigned) and kitchen is not None else kitchen
    return dataclasses.replace(state, seq=state.seq + 1, kitchen=kitchen, probes=book)


def _check(shown_c: float, when: datetime) -> ProbeChecked:
    return ProbeChecked(
        probe=HOB,
        at=when,
        person=CrewId("manager"),
        point="ice",
        expected_c=0.0,
        shown_c=shown_c,
        tolerance_c=1.0,
        source="FDA Food Code 2022, 4-203.11",
        passed=abs(shown_c) <= 1.0,
    )


def test_confirmed_offset_is_added_to_what_is_measured_from_then_on_and_marked() -> None:
    assessor, cooking = Assessor(KITCHEN), _cooking()
    applied = ProbeOffsetApplied(
        probe=HOB, at=BEGUN + timedelta(minutes=3), person=CrewId("manager"), offset_c=-1.4, before_c=0.0
    )
    state = _with(_check(1.4, BEGUN + timedelta(minutes=2)), applied, state=cooking)
    facts = _folded(assessor, [60.0, 61.0, 62.0, 63.0], state)
    assert [(fact.celsius, fact.offset_c) for fact in facts] == [
        (60.0, 0.0),
        (61.0, 0.0),
        (60.6, -1.4),
        (61.6, -1.4),
    ]


def test_probe_that_failed_its_check_is_not_believed_until_it_passes_or_is_corrected() -> None:
    assessor, cooking = Assessor(KITCHEN), _cooking()
    failed = _with(_check(1.4, BEGUN), state=cooking)
    fact = _folded(assessor, [60.0, 83.0, 83.1], failed)[-1]
    assert _signs(fact) == [(Sign.CHECK_FAILED, "")]
    assert (fact.believable, fact.met_at) == (False, None)
    passed = _with(_check(0.2, BEGUN + timedelta(minutes=4)), state=failed)
    facts = _folded(assessor, [83.2, 83.3, 83.2], passed, since=BEGUN + timedelta(minutes=4))
    assert facts[-1].believable
    assert facts[-1].met_at is not None
    assert facts[-1].met_at >= BEGUN + timedelta(minutes=5)


def test_probe_put_elsewhere_is_read_there_from_then_on() -> None:
    assessor, idle = Assessor(KITCHEN), State(seq=1, kitchen=KITCHEN, plan=PLAN)
    _folded(assessor, [20.0, 20.1], idle)
    moved = ProbeAssigned(
        probe=HOB, at=BEGUN, person=None, equipment=EquipmentId("fridge"), reads="air", before=EquipmentId("hob-1")
    )
    state = _with(moved, state=idle)
    fact = _folded(assessor, [9.0, 9.1], state, since=BEGUN + timedelta(minutes=10))[-1]
    assert (fact.equipment, fact.outside_since) == ("fridge", BEGUN + timedelta(minutes=11))


def test_probe_put_into_a_tasks_food_judges_that_task_wherever_it_came_from() -> None:
    task = next(t for t in PLAN.tasks if t.process == "chill")
    moved = ProbeAssigned(
        probe=HOB,
        at=BEGUN,
        person=None,
        equipment=EquipmentId("ice-bath"),
        task=task.id,
        reads="core",
        before=EquipmentId("hob-1"),
    )
    fact = _folded(Assessor(KITCHEN), [60.0, 55.0], _with(moved, state=_cooking("chill")))[-1]
    assert fact.task == task.id


def test_freezer_probe_that_reads_a_fridges_warmth_is_told_once_with_both_causes() -> None:
    """3 °C are the fridge's, or the freezer's -16 °C sent in Fahrenheit: the readings cannot tell, one look can."""
    assessor, idle, facts = Assessor(KITCHEN), State(seq=1, kitchen=KITCHEN, plan=PLAN), {}
    for minute in range(40):
        now = BEGUN + timedelta(minutes=minute)
        for probe, celsius in ((FRIDGE, -20.0), (ProbeId("freezer-air"), 3.0)):
            reading = Reading(probe, celsius + 0.1 * (minute % 3), now, now + timedelta(seconds=1))
            facts[probe] = assessor.fold(reading, idle)
    (told,) = facts[ProbeId("freezer-air")].health
    assert (told.sign, told.hint, told.other) == (Sign.SWAPPED, "or fahrenheit as celsius", FRIDGE)
    assert abs(told.limit - (told.amount - 15.0 - 32.0) / 1.8) < 0.1
    assert _signs(facts[FRIDGE]) == [(Sign.SWAPPED, "")]
