"""Where a step names a limit, the limit's verdict decides; stays, draws, defrosts and several probes."""

import dataclasses
from datetime import datetime, timedelta
from typing import Any

import pytest

from orchestrator.core.by_probes import deciding, met_by_all, worst_verdict
from orchestrator.core.ids import ProbeId, TaskId
from orchestrator.core.limits import aim
from orchestrator.core.models import Kitchen, LimitUse, Probe, ProbeFact, Step
from orchestrator.core.models.equipment import DefrostClock
from orchestrator.core.models.limit import LimitId
from orchestrator.core.state import State, TaskRecord, TaskStatus
from orchestrator.engine.assess import Assessor
from orchestrator.kitchen.shipped import shipped_limits
from orchestrator.ports.event_log import Reading
from tests.core.alarm_script import all_told, facts_of
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

BEGUN = at("Wed 07:00")


def _kitchen(step: str, named: str, probes: tuple[Probe, ...] = (), **changes: Any) -> Kitchen:
    """The small kitchen in which all steps of that id name a limit."""
    plain, use = small_kitchen(), LimitUse(id=LimitId(named))

    def changed(one: Step) -> Step:
        return one.model_copy(update={"limit": use, **changes}) if one.id == step else one

    recipes = tuple(r.model_copy(update={"steps": tuple(map(changed, r.steps))}) for r in plain.recipes)
    more = {"recipes": recipes, "limits": shipped_limits().limits, "probes": (*plain.probes, *probes)}
    return plain.model_copy(update=more)


def _in_hand(kitchen: Kitchen, task: str, since: datetime = BEGUN) -> State:
    plan = small_plan(kitchen)
    planned = plan.task(TaskId(task))
    record = TaskRecord(status=TaskStatus.IN_HAND, started_at=since, equipment=planned.equipment)
    return dataclasses.replace(State(seq=1, kitchen=kitchen, plan=plan), seq=2, tasks={planned.id: record})


def _fold(assessor: Assessor, state: State, probe: str, curve: list[tuple[float, float]]) -> ProbeFact:
    """Minutes after the beginning, and °C."""
    for minute, celsius in curve:
        instant = BEGUN + timedelta(minutes=minute)
        fact = assessor.fold(Reading(ProbeId(probe), celsius, instant, instant), state)
    return fact


def test_chill_is_judged_by_the_legs_of_its_limit_from_when_the_food_passes_57() -> None:
    # FDA Food Code 2022, 3-501.14(A): 57 to 21 °C within 2 h. It stood hot for an hour first: no time is lost by that.
    kitchen = _kitchen("chill", "two-leg-cooling")
    state, assessor = _in_hand(kitchen, "C1.chill"), Assessor(kitchen)
    hot = [(float(m), 80.0) for m in range(1, 60, 5)]
    cooling = [(60.0 + m, 80.0 - 0.5 * m) for m in range(0, 120, 5)]
    fact = _fold(assessor, state, "ice-bath-core", [*hot, *cooling, (181.0, 20.0)])
    assert fact.verdict is not None
    assert (fact.cooling, fact.verdict.status) == ("on course", "not yet")
    warm = [(60.0 + m, 56.0) for m in range(0, 125, 5)]
    late = _fold(Assessor(kitchen), state, "ice-bath-core", [*hot, *warm])
    assert late.verdict is not None
    assert (late.cooling, late.verdict.status, late.verdict.row) == ("first leg missed", "broken", "first-leg")


def test_hold_is_met_as_the_limit_asks_where_the_target_is_only_its_aim() -> None:
    # 21 CFR 1240.61(c): 80 °C for 25 s; whole minutes would ask for a whole one.
    use = LimitUse(id=LimitId("frozen-dessert-mix"), row="25-s")
    limit = _kitchen("cook", "frozen-dessert-mix").limit(use.id)
    assert limit is not None
    target = aim(limit, use, "C")
    kitchen = _kitchen("cook", "frozen-dessert-mix", target=target, limit=use)
    state = _in_hand(kitchen, "C1.cook")
    fact = _fold(Assessor(kitchen), state, "hob-1-core", [(1.0, 80.0), (1.0 + 25 / 60, 80.0)])
    assert fact.met_at == BEGUN + timedelta(seconds=85)
    short = _fold(Assessor(kitchen), state, "hob-1-core", [(1.0, 80.0), (1.0 + 24 / 60, 80.0)])
    assert short.met_at is None


def test_own_target_above_the_limit_has_to_be_met_besides() -> None:
    kitchen = _kitchen("cook", "frozen-dessert-mix")  # its own: 82 °C for a minute
    state = _in_hand(kitchen, "C1.cook")
    curve = [(1.0, 81.0), (1.5, 81.0), (2.0, 81.0)]
    fact = _fold(Assessor(kitchen), state, "hob-1-core", curve)
    assert fact.verdict is not None
    assert (fact.verdict.status, fact.met_at) == ("met", None)


def test_heat_expected_after_the_longest_end_will_not_be_met_in_time_and_is_not_broken_by_it() -> None:
    kitchen = _kitchen("cook", "frozen-dessert-mix")  # at most 60 min
    state, assessor = _in_hand(kitchen, "C1.cook"), Assessor(kitchen)
    slow = [(2.0 * m, 10.0 + 0.6 * m) for m in range(29)]
    fact = _fold(assessor, state, "hob-1-core", slow)
    assert fact.verdict is not None
    assert fact.verdict.status == "will not be met in time"
    late = _fold(assessor, state, "hob-1-core", [(61.0, 40.0)])
    assert late.verdict is not None
    assert late.verdict.status == "will not be met in time"


def test_draw_is_judged_on_the_probe_in_the_churn() -> None:
    probe = Probe(id=ProbeId("churn-core"), name="Churn core", equipment="churn", reads="core")  # type: ignore[arg-type]
    kitchen = _kitchen("churn", "draw-out-of-the-churn", (probe,), target=None)
    state = _in_hand(kitchen, "B1.churn")
    fact = _fold(Assessor(kitchen), state, "churn-core", [(1.0, 4.0), (5.0, -3.0), (9.0, -5.5)])
    assert [(one.task, one.verdict.status, one.verdict.of) for one in fact.kept] == [("B1.churn", "met", "food")]


STAY = "C1.age.B1"


@pytest.mark.parametrize(("reads", "after_min", "status"), [("air", 19.0, "not yet"), ("air", 21.0, "broken")])
def test_stay_is_judged_live_on_air_with_its_grace(reads: str, after_min: float, status: str) -> None:
    kitchen = _kitchen("age", "ageing")
    state = _in_hand(kitchen, STAY)
    curve = [(0.0, 3.0), (10.0, 6.0), (10.0 + after_min, 6.0)]
    fact = _fold(Assessor(kitchen), state, "fridge-air", curve)
    assert [(one.task, one.verdict.status, one.verdict.of) for one in fact.kept] == [(STAY, status, reads)]


def test_stay_broken_before_a_restart_stays_broken_after_it() -> None:
    kitchen = _kitchen("age", "ageing")
    state = _in_hand(kitchen, STAY)
    broken = _fold(Assessor(kitchen), state, "fridge-air", [(0.0, 3.0), (10.0, 6.0), (40.0, 6.0)])
    again = dataclasses.replace(state, seq=3, facts={broken.probe: broken})
    fact = _fold(Assessor(kitchen), again, "fridge-air", [(50.0, 3.0), (55.0, 3.0)])
    assert fact.kept == broken.kept


def _defrosting(assessor: Assessor, state: State, last_min: int) -> ProbeFact:
    """Air of the freezer: three rises of 20 min every 6 h, and a fourth that lasts so long."""
    rises = [(60, 20), (420, 20), (780, 20), (1140, last_min)]
    warm = [float(m) for start, long in rises for m in range(start, start + long)]
    curve = [(float(m), -12.0 if float(m) in set(warm) else -20.0) for m in range(0, 1140 + last_min)]
    return _fold(assessor, state, "freezer-air", curve)


def test_defrost_that_was_due_is_not_outside_until_it_lasts_too_long() -> None:
    kitchen = small_kitchen()
    state = State(seq=1, kitchen=kitchen, plan=small_plan(kitchen))
    due = _defrosting(Assessor(kitchen), state, 34)
    assert (due.defrosting, due.outside_since) == (True, None)
    # Half as long again as the earlier ones and five minutes, 35, is the most.
    long = _defrosting(Assessor(kitchen), state, 40)
    assert (long.defrosting, long.outside_since) == (False, BEGUN + timedelta(minutes=1140))


def test_first_defrost_of_a_freezer_whose_clock_is_known_is_not_outside_until_it_lasts_too_long() -> None:
    plain = small_kitchen()
    clock = DefrostClock(every=360, longest=40)
    machines = tuple(e.model_copy(update={"defrosts": clock}) if e.id == "freezer" else e for e in plain.equipment)
    kitchen = plain.model_copy(update={"equipment": machines})
    state = State(seq=1, kitchen=kitchen, plan=small_plan(kitchen))
    curve = [(float(m), -12.0 if m >= 60 else -20.0) for m in range(100)]
    first = _fold(Assessor(kitchen), state, "freezer-air", curve)
    assert (first.defrosting, first.outside_since) == (True, None)
    long = _fold(Assessor(kitchen), state, "freezer-air", [*curve, (100.0, -12.0), (101.0, -12.0)])
    assert (long.defrosting, long.outside_since) == (False, BEGUN + timedelta(minutes=60))


def _fact(probe: str, **more: Any) -> ProbeFact:
    fields = {"probe": probe, "equipment": "hob-1", "task": "C1.cook", "measured_at": BEGUN, "celsius": 80.0}
    return ProbeFact.model_validate({**fields, **more})


def _said(status: str, of: str = "food", **more: Any) -> dict[str, Any]:
    return {"limit": "x", "title": "X", "applied": "y", "status": status, "of": of, "tolerance_degrees": 1.0, **more}


def test_of_several_probes_in_one_food_the_worst_decides() -> None:
    met = _fact("edge", met_at=BEGUN, verdict=_said("met"))
    cold = _fact("middle", verdict=_said("not yet"))
    elsewhere = _fact("drawer", measured_at=BEGUN - timedelta(minutes=5))
    task = TaskId("C1.cook")
    assert met_by_all([met], task, BEGUN)
    assert not met_by_all([met, cold], task, BEGUN)
    assert met_by_all([met, elsewhere], task, BEGUN)
    worst = deciding([met, cold, elsewhere], task, BEGUN)
    assert worst is not None
    assert worst.probe == "middle"


def test_food_decides_before_air() -> None:
    task = TaskId(STAY)
    air = _fact("air", task=None, kept=[{"task": task, "verdict": _said("broken", "air")}])
    core = _fact("core", task=None, kept=[{"task": task, "verdict": _said("met")}])
    both, alone = worst_verdict([air, core], task), worst_verdict([air], task)
    assert both is not None
    assert alone is not None
    assert (both.status, alone.status) == ("met", "broken")


def test_food_probe_above_the_limit_of_its_stay_is_told_and_air_is_left_to_the_store() -> None:
    probe = Probe(id=ProbeId("fridge-core"), name="Fridge core", equipment="fridge", reads="core")  # type: ignore[arg-type]
    kitchen = _kitchen("age", "ageing", (probe,))
    state = _in_hand(kitchen, STAY)
    alarm = f"target_missed:{STAY}"
    warm = _fold(Assessor(kitchen), state, "fridge-core", [(0.0, 3.0), (10.0, 5.1)])
    facts = facts_of(state, "Wed 07:10", alarm, warm)
    assert (facts.missed, facts.reason, facts.priority) == (True, "limit", "critical")
    air = _fold(Assessor(kitchen), state, "fridge-air", [(0.0, 3.0), (10.0, 6.0), (40.0, 6.0)])
    assert alarm not in all_told(state, "Wed 07:40", air)
