"""Chances of plans: by hand where a convolution says them, and as the planner offers them."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import Actual, Kitchen, Plan, PlanRequest
from orchestrator.core.models.questions import RiskAnswer, RiskQuestion
from orchestrator.core.models.risk import OrderChance, Risk
from orchestrator.kitchen import read_kitchen
from orchestrator.planner.answers import answer
from orchestrator.planner.plan import make_plan
from orchestrator.planner.risk import risk, wilson
from orchestrator.planner.risk_pose import pose_risk
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan
from tests.fakes.tiny import tiny_request
from tests.planner.test_risk_run import share_of

CONFIG = Path(__file__).parents[2] / "config"
RUNS = 4000


def spread(kitchen: Kitchen, recipe: str, step: str) -> tuple[int, int, int]:
    told = next(s.duration for r in kitchen.recipes if r.id == recipe for s in r.steps if s.id == step)
    assert told is not None
    return told.shortest, told.usual, told.longest


def of(told: Risk, order: str) -> OrderChance:
    return next(chance for chance in told.orders if chance.order == order)


def due_at(kitchen: Kitchen, order: str, clock: str) -> Kitchen:
    orders = tuple(o.model_copy(update={"due": at(clock)}) if o.id == order else o for o in kitchen.orders)
    return kitchen.model_copy(update={"orders": orders})


@pytest.mark.parametrize("due", ["Sat 10:48", "Sat 10:52", "Sat 10:57"])
def test_order_that_is_tempered_and_handed_over_has_the_chance_of_both_together(due: str) -> None:
    kitchen = due_at(small_kitchen(), "SAT-STALL", due)
    plan = small_plan(kitchen)
    told = of(risk(PlanRequest(kitchen=kitchen, now=plan.start), plan, runs=RUNS), "SAT-STALL")
    # Everything before has hours to spare; from 10:20 on the two steps follow each other without a gap, and the
    # hand-over keeps its distance (none) to a temper that ends early.
    temper = share_of(spread(kitchen, "basil-custard", "temper"))
    over = share_of(spread(kitchen, "basil-custard", "hand-over"))
    minutes = int((at(due) - at("Sat 10:20")).total_seconds() // 60)
    exact = float(np.convolve(temper, over)[: minutes + 1].sum())
    assert 0.05 < exact < 0.995
    assert abs(told.chance - exact) < 4 * (exact * (1 - exact) / RUNS) ** 0.5
    assert told.low < told.chance < told.high


def test_order_is_not_handed_over_before_its_earliest_instant_however_early_it_is_ready() -> None:
    kitchen = due_at(small_kitchen(), "SAT-STALL", "Sat 10:52")
    earliest = {"earliest": at("Sat 10:50")}
    orders = tuple(o.model_copy(update=earliest) if o.id == "SAT-STALL" else o for o in kitchen.orders)
    kitchen = kitchen.model_copy(update={"orders": orders})
    plan = small_plan(kitchen)
    told = of(risk(PlanRequest(kitchen=kitchen, now=plan.start), plan, runs=RUNS), "SAT-STALL")
    temper = share_of(spread(kitchen, "basil-custard", "temper"))
    over = share_of(spread(kitchen, "basil-custard", "hand-over"))
    # The hand-over takes 10 minutes as a rule: it begins at 10:40, 20 minutes after tempering began, or later.
    waited = np.where(np.arange(len(temper)) > 20, temper, 0.0)
    waited[20] = temper[:21].sum()
    exact = float(np.convolve(waited, over)[:33].sum())
    assert abs(told.chance - exact) < 4 * (exact * (1 - exact) / RUNS) ** 0.5


def test_steps_that_decide_are_named_with_the_chance_they_would_leave() -> None:
    kitchen = due_at(small_kitchen(), "SAT-STALL", "Sat 10:52")
    plan = small_plan(kitchen)
    told = of(risk(PlanRequest(kitchen=kitchen, now=plan.start), plan, runs=RUNS), "SAT-STALL")
    shares = {step: share_of(spread(kitchen, "basil-custard", step)) for step in ("temper", "hand-over")}
    exact = {}
    for step, other in (("temper", "hand-over"), ("hand-over", "temper")):
        usual = spread(kitchen, "basil-custard", step)[1]
        shorter = np.where(np.arange(len(shares[step])) <= usual, shares[step], 0.0)
        exact[f"SAT-STALL.B.{step}"] = float(np.convolve(shorter / shorter.sum(), shares[other])[:33].sum())
    assert {c.task: c.chance_if_usual for c in told.causes} == pytest.approx(exact, abs=0.03)
    gains = [c.chance_if_usual for c in told.causes]
    assert gains == sorted(gains, reverse=True)


def test_step_in_hand_counts_only_what_it_may_still_take() -> None:
    kitchen = due_at(small_kitchen(), "SAT-STALL", "Sat 10:52")
    plan = small_plan(kitchen)
    begun = {"task": "SAT-STALL.B.temper", "status": "in hand", "start": at("Sat 10:20"), "end": at("Sat 10:40")}
    actual = Actual.model_validate({**begun, "equipment": "bench", "crew": ["counter-hand"]})
    request = PlanRequest(kitchen=kitchen, now=at("Sat 10:38"), actuals=(*_past(plan), actual))
    told = of(risk(request, plan, runs=RUNS), "SAT-STALL")
    temper = share_of(spread(kitchen, "basil-custard", "temper"))
    left = np.where(np.arange(len(temper)) >= 18, temper, 0.0)
    over = share_of(spread(kitchen, "basil-custard", "hand-over"))
    exact = float(np.convolve(left / left.sum(), over)[:33].sum())
    assert abs(told.chance - exact) < 4 * (exact * (1 - exact) / RUNS) ** 0.5 + 1e-9


def _past(plan: Plan) -> list[Actual]:
    """All that was to begin by Saturday 10:20 went as planned."""
    found = []
    for task in plan.tasks:
        if task.end <= at("Sat 10:20"):
            told = {"task": task.id, "status": "done", "start": task.start, "end": task.end}
            found.append(Actual.model_validate({**told, "equipment": task.equipment}))
    return found


def test_order_handed_over_is_certain_and_one_not_met_has_no_chance() -> None:
    kitchen = small_kitchen()
    plan = small_plan(kitchen)
    unmet = plan.outlooks[1].model_copy(update={"met": False, "reason": "no damsons"})
    plan = plan.model_copy(update={"outlooks": (plan.outlooks[0], unmet)})
    done = [
        Actual.model_validate(
            {"task": t.id, "status": "done", "start": t.start, "end": t.end, "equipment": t.equipment}
        )
        for t in plan.tasks
        if t.end <= at("Sat 10:50")
    ]
    told = risk(PlanRequest(kitchen=kitchen, now=at("Sat 10:51"), actuals=tuple(done)), plan, runs=500)
    assert [(chance.order, chance.chance) for chance in told.orders] == [("SAT-STALL", 1.0)]


def test_window_that_a_crowded_machine_endangers_is_named_first_with_its_causes() -> None:
    kitchen = read_kitchen(CONFIG)
    request = PlanRequest(kitchen=kitchen, now=kitchen.planning_start)
    plan = make_plan(request, effort="repair", seconds=1).plan
    assert plan is not None
    told = risk(request, plan)
    assert [w.chance for w in told.windows] == sorted(w.chance for w in told.windows)
    worst = told.windows[0]
    assert worst.chance < 0.95
    assert worst.causes
    assert worst.causes[0].chance_if_usual > worst.chance
    starts = {task.id: task.start for task in plan.tasks}
    for window in told.windows:
        # What is planned later than the window cannot be what breaks it.
        assert all(starts[cause.task] < starts[window.task] for cause in window.causes)


def test_same_seed_tells_the_same_and_another_seed_nearly_the_same() -> None:
    kitchen = due_at(small_kitchen(), "SAT-STALL", "Sat 10:52")
    plan = small_plan(kitchen)
    request = PlanRequest(kitchen=kitchen, now=plan.start)
    first = risk(request, plan, runs=RUNS, seed=5)
    assert risk(request, plan, runs=RUNS, seed=5) == first
    second = risk(request, plan, runs=RUNS, seed=6)
    assert second != first
    assert abs(of(first, "SAT-STALL").chance - of(second, "SAT-STALL").chance) < 0.05


def test_plan_without_spreads_is_certain() -> None:
    kitchen = small_kitchen()
    plan = small_plan(kitchen)
    fixed = tuple(
        t.model_copy(update={"duration": t.duration.model_copy(update={"shortest": u, "longest": u})})
        for t in plan.tasks
        for u in [t.duration.usual]
    )
    plan = plan.model_copy(update={"tasks": fixed})
    told = risk(PlanRequest(kitchen=kitchen, now=plan.start), plan, runs=200)
    assert {chance.chance for chance in told.orders} == {1.0}
    assert {(window.chance, window.causes) for window in told.windows} == {(1.0, ())}


def test_full_plan_tells_its_chances_and_a_repair_leaves_them_open() -> None:
    request = tiny_request()
    full = make_plan(request, effort="full", seconds=1, deterministic=True).plan
    quick = make_plan(request, effort="repair", seconds=1).plan
    assert full is not None
    assert quick is not None
    assert full.simulated_runs == 2000
    assert full.outlooks[0].chance is not None
    assert full.outlooks[0].chance > 0.9
    assert (quick.simulated_runs, quick.outlooks[0].chance) == (0, None)


def test_question_about_risk_is_answered() -> None:
    kitchen = small_kitchen()
    plan = small_plan(kitchen)
    request = PlanRequest(kitchen=kitchen, now=plan.start)
    told = answer(RiskQuestion(request=request, plan=plan, runs=300, seed=2))
    assert isinstance(told, RiskAnswer)
    assert told.risk == risk(request, plan, runs=300, seed=2)
    assert told.risk.runs == 300
    assert any("re-plan" in line for line in told.risk.assumes)


@pytest.mark.parametrize(("kept", "runs"), [(0, 50), (50, 50), (45, 50), (1, 2000), (1799, 2000)])
def test_interval_is_scipys_wilson_interval(kept: int, runs: int) -> None:
    theirs = stats.binomtest(kept, runs).proportion_ci(method="wilson")
    assert wilson(kept, runs) == pytest.approx((theirs.low, theirs.high), abs=1e-6)


def _stopped(plan: Plan) -> PlanRequest:
    kitchen = small_kitchen()
    stop = {"equipment": "churn", "start": at("Thu 09:00"), "end": at("Thu 09:20")}
    return PlanRequest.model_validate({"kitchen": kitchen, "now": plan.start, "stops": [stop]})


def _stretched(plan: Plan) -> PlanRequest:
    return PlanRequest(kitchen=small_kitchen(), now=plan.start, stretched={TaskId("B1.churn"): 15})


@pytest.mark.parametrize("asked", [_stopped, _stretched])
def test_stops_and_added_minutes_reach_the_simulation(asked: Callable[[Plan], PlanRequest]) -> None:
    plan = small_plan()
    usual = pose_risk(PlanRequest(kitchen=small_kitchen(), now=plan.start), plan)
    told = pose_risk(asked(plan), plan)
    churn = next(i for i, s in enumerate(told.steps) if plan.tasks[s.task].id == "B1.churn")
    changed = told.steps[churn].spread != usual.steps[churn].spread, told.stops != usual.stops
    assert changed == ((False, True) if asked is _stopped else (True, False))


def test_clean_down_keeps_its_place_between_the_runs_on_its_machine() -> None:
    plan = small_plan()
    net = pose_risk(PlanRequest(kitchen=small_kitchen(), now=plan.start), plan)
    names = {piece: plan.tasks[net.pieces[piece].task].id for piece in range(len(net.pieces))}
    waits = {(names[w.after], names[w.piece]) for w in net.waits}
    assert ("B1.churn", "churn.clean.S1") in waits
    assert ("churn.clean.S1", "S1.churn") in waits


def test_slower_machine_takes_its_share_of_more_also_of_what_it_has_in_hand() -> None:
    kitchen = small_kitchen()
    slow = tuple(m.model_copy(update={"speed": 0.5}) if m.id == "hob-1" else m for m in kitchen.equipment)
    kitchen, plan = kitchen.model_copy(update={"equipment": slow}), small_plan()
    begun = {"task": "C1.cook", "status": "in hand", "start": at("Wed 08:00"), "end": at("Wed 09:20")}
    cook = Actual.model_validate({**begun, "equipment": "hob-1", "crew": ["early-cook"]})
    net = pose_risk(PlanRequest(kitchen=kitchen, now=at("Wed 08:30"), actuals=(cook,)), plan)
    step = next(s for s in net.steps if plan.tasks[s.task].id == "C1.cook")
    assert (step.spread, step.spent) == ((60, 80, 120), 30)


def test_simulation_that_is_told_to_stop_answers_with_the_runs_it_has() -> None:
    plan = small_plan(due_at(small_kitchen(), "SAT-STALL", "Sat 10:52"))
    request = PlanRequest(kitchen=due_at(small_kitchen(), "SAT-STALL", "Sat 10:52"), now=plan.start)
    told = risk(request, plan, runs=RUNS, stop=lambda: True)
    assert told.runs == 1000
    # The same luck for the same run, however many there are.
    assert told == risk(request, plan, runs=1000)


def test_work_may_go_to_another_machine_of_its_kind_and_cleaning_may_not() -> None:
    kitchen = small_kitchen()
    second = next(m for m in kitchen.equipment if m.id == "hob-1").model_copy(update={"id": EquipmentId("hob-2")})
    twin = next(m for m in kitchen.equipment if m.id == "churn").model_copy(update={"id": EquipmentId("churn-2")})
    kitchen = kitchen.model_copy(update={"equipment": (*kitchen.equipment, second, twin)})
    plan = small_plan()
    net = pose_risk(PlanRequest(kitchen=kitchen, now=plan.start), plan)
    machines = {plan.tasks[p.task].id: [kitchen.equipment[m].id for m in p.machines] for p in net.pieces}
    assert machines["C1.cook"] == ["hob-1", "hob-2"]
    # Clean-downs hang on the sequence of runs: both stay where they are.
    assert (machines["B1.churn"], machines["churn.clean.S1"]) == (["churn"], ["churn"])
