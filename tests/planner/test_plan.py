"""From request to checked plan: the example kitchen, stops, late orders and their reasons, drift, the worker."""

import random
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from orchestrator.core.models import Actual, Kitchen, PlanRequest, Stop, TaskKind
from orchestrator.kitchen import read_kitchen
from orchestrator.planner.patience import Patience
from orchestrator.planner.plan import make_plan
from orchestrator.planner.problem import Problem, Schedule
from tests.fakes.drift import later
from tests.fakes.tiny import at, second_product, tiny_data, tiny_request
from tests.planner.planned import planned

CONFIG = Path(__file__).parents[2] / "config"


@pytest.fixture(scope="module")
def example() -> Kitchen:
    return read_kitchen(CONFIG)


def test_make_plan_tiny_kitchen_keeps_every_rule_and_is_on_time() -> None:
    plan = planned(tiny_request())
    assert [(o.order, o.met, o.late_min) for o in plan.outlooks] == [("SAT-STALL", True, 0)]
    age = plan.task("C1.age.B1")
    assert timedelta(hours=12) <= age.end - age.start <= timedelta(hours=72)


def test_make_plan_tasks_tell_their_windows() -> None:
    plan = planned(tiny_request())
    cook, churn = plan.task("C1.cook"), plan.task("B1.churn")
    told = (churn.opens, churn.closes, churn.closing_class)
    assert told == (cook.end + timedelta(hours=12), cook.end + timedelta(hours=72), "quality")


def test_make_plan_example_kitchen_is_on_time_with_nothing_broken(example: Kitchen) -> None:
    plan = planned(PlanRequest(kitchen=example, now=example.planning_start))
    assert [(o.met, o.late_min) for o in plan.outlooks] == [(True, 0)] * len(example.orders)
    assert plan.breaks == ()


def test_make_plan_example_kitchen_runs_by_allergens_and_hands_over_shortly_before_due(example: Kitchen) -> None:
    plan = planned(PlanRequest(kitchen=example, now=example.planning_start))
    cleans = sorted(str(task.title) for task in plan.tasks if task.kind is TaskKind.CLEAN)
    # Damson, basil, hazelnut: allergens only grow, but the sorbet's deep colour must go before the pale basil.
    # Two days of churning, one of them longer than four hours in use.
    assert cleans == [
        "Clean the churn for hygiene",
        *["Clean the churn for the night"] * 2,
        "Clean the churn fully",
        *["Pre-cool the churn"] * 4,
        "Rinse the churn",
        "Rinse the grinder",
    ]
    due = {order.id: order.due for order in example.orders}
    margins = [due[task.order] - task.end for task in plan.tasks if task.process == "hand over" and task.order]
    assert timedelta(minutes=30) <= min(margins)
    assert max(margins) <= timedelta(minutes=60)


def test_make_plan_example_kitchen_material_in_is_out_and_loss(example: Kitchen) -> None:
    plan = planned(PlanRequest(kitchen=example, now=example.planning_start))
    recipes = {recipe.id: recipe for recipe in example.recipes}
    for batch in plan.batches:
        recipe = recipes[batch.recipe]
        lost = sum(step.loss.value for step in recipe.steps if step.loss)
        pegged = sum(peg.quantity.value for peg in plan.pegs if peg.lot == batch.lot)
        kept = (t for t in plan.tasks if t.lot == batch.lot and str(t.id).endswith("keep.rest"))
        rest = sum(task.quantity.value for task in kept if task.quantity is not None)
        assert recipe.yields.value * batch.scale == pytest.approx(pegged + rest + lost)


def test_make_plan_is_the_same_twice(example: Kitchen) -> None:
    request = PlanRequest(kitchen=example, now=example.planning_start)
    assert planned(request) == planned(request)


def test_make_plan_full_effort_is_no_worse_and_passes() -> None:
    answer = make_plan(tiny_request(), effort="full", seconds=2, deterministic=True)
    assert (answer.violations, answer.plan is not None) == ((), True)


def _without_cleans(schedule: Schedule) -> Schedule:
    return replace(schedule, cleans=())


def _all_at_once(schedule: Schedule) -> Schedule:
    return replace(schedule, places=tuple(p and replace(p, start=0, end=p.end - p.start) for p in schedule.places))


def _nobody_works(schedule: Schedule) -> Schedule:
    return replace(
        schedule, places=tuple(p and replace(p, workers=tuple(() for _ in p.workers)) for p in schedule.places)
    )


def _one_left_out(schedule: Schedule) -> Schedule:
    return replace(schedule, places=(None, *schedule.places[1:]))


@pytest.mark.parametrize("spoil", [_without_cleans, _all_at_once, _nobody_works, _one_left_out])
def test_make_plan_wrong_answer_of_the_solver_is_never_offered(
    monkeypatch: pytest.MonkeyPatch, spoil: Callable[[Schedule], Schedule]
) -> None:
    data = tiny_data()
    data["recipes"].append(second_product())
    data["orders"][0]["lines"].append({"product": "hazelnut-custard", "quantity": "3 L"})
    request = tiny_request(data)
    sound = planned(request)
    asked: list[Schedule] = []

    def wrong(_problem: Problem, guess: Schedule, **_told: object) -> Schedule:
        asked.append(spoil(guess))
        return replace(asked[-1], method="constraint model")

    monkeypatch.setattr("orchestrator.planner.solve.solve", wrong)
    answer = make_plan(request, effort="full", seconds=2)
    assert len(asked) >= 1
    assert answer.violations == ()
    assert answer.plan is not None
    assert answer.plan.method.startswith("first guess")
    assert answer.plan.tasks == sound.tasks


def test_make_plan_solver_that_fails_leaves_the_first_guess(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_asked: object, **_told: object) -> Schedule:
        raise ValueError("the planner made an invalid model")

    monkeypatch.setattr("orchestrator.planner.solve.solve", fails)
    answer = make_plan(tiny_request(), effort="full", seconds=2)
    assert answer.plan is not None
    assert answer.plan.method.startswith("first guess")


def _held_and_late() -> PlanRequest:
    """An order that comes too late, so that a repair searches around it; the churn run is held in place."""
    request = tiny_request()
    before = planned(request)
    held = tuple(task.model_copy(update={"held_in_place": task.id == "B1.churn"}) for task in before.tasks)
    sooner = tuple(order.model_copy(update={"due": at(2, "11:00")}) for order in request.kitchen.orders)
    kitchen = request.kitchen.model_copy(update={"orders": sooner})
    return request.model_copy(update={"kitchen": kitchen, "previous": before.model_copy(update={"tasks": held})})


def _spoilt(_problem: Problem, mended: Schedule) -> Schedule:
    return _all_at_once(mended)


def _fails(_problem: Problem, _mended: Schedule) -> Schedule:
    raise ValueError("a fault of the search")


@pytest.mark.parametrize("search", [_spoilt, _fails])
def test_make_plan_unsound_search_of_a_repair_leaves_what_construction_makes(
    monkeypatch: pytest.MonkeyPatch, search: Callable[[Problem, Schedule], Schedule]
) -> None:
    request = _held_and_late()
    asked: list[Schedule] = []

    def around_trouble(problem: Problem, mended: Schedule, _patience: Patience) -> Schedule:
        asked.append(mended)
        return search(problem, mended)

    monkeypatch.setattr("orchestrator.planner.repair._around_trouble", around_trouble)
    plan = planned(request)
    assert len(asked) > 0
    # What is held stays held: that was no reason to let it go.
    assert (plan.method, plan.let_go) == ("repair", ())
    assert request.previous is not None
    assert plan.task("B1.churn").start == request.previous.task("B1.churn").start


def test_make_plan_clean_downs_stand_between_runs_and_hold_up_the_next() -> None:
    data = tiny_data()
    data["recipes"].append(second_product())
    data["orders"][0]["lines"].append({"product": "hazelnut-custard", "quantity": "3 L"})
    plan = planned(tiny_request(data))
    cleans = [task for task in plan.tasks if task.kind is TaskKind.CLEAN]
    assert len(cleans) == 1
    run = plan.task(f"{cleans[0].lot}.churn")
    assert (cleans[0].id, cleans[0].id in {link.after for link in run.links}) == (f"churn.clean.{run.lot}", True)


def test_make_plan_order_due_before_it_can_be_ready_is_late_and_says_why() -> None:
    data = tiny_data()
    data["orders"][0]["due"] = at(0, "12:00")
    plan = planned(tiny_request(data))
    # Cooked at once, aged 12 h to 18:40, churned at 06:00 by the early cook, hardened 4 h: handed over by 10:30.
    outlook = plan.outlooks[0]
    assert (outlook.met, outlook.late_min) == (True, 22 * 60 + 30)
    assert "waits for people until Thu 26 Nov 06:00: too few with the skill churn are there before" in outlook.reason


def test_make_plan_order_that_cannot_be_made_within_the_horizon_is_unmet_and_says_why() -> None:
    data = tiny_data()
    data["recipes"][1]["steps"][1]["stay"] = {"least": 7000, "most": 10080, "window": "safety"}
    outlook = planned(tiny_request(data)).outlooks[0]
    # 40 min of cooking, 12 h of ageing, 20 min of churning, 7000 min of hardening and 10 min of handing over end
    # 9 h 50 min after the horizon.
    assert (outlook.met, outlook.reason) == (
        False,
        "'Cook the custard base' (C1) cannot start before Wed 25 Nov 06:00, and would have to by Tue 24 Nov 20:10",
    )


def test_make_plan_stopped_churn_moves_the_run_past_the_stop() -> None:
    first = planned(tiny_request())
    churn = first.task("B1.churn")
    stop = Stop(equipment="churn", start=churn.start - timedelta(hours=1), end=churn.start + timedelta(hours=2))
    again = planned(tiny_request(previous=first, stops=(stop,)))
    moved = again.task("B1.churn")
    assert moved.end <= stop.start or moved.start >= stop.end


def test_make_plan_again_without_news_moves_nothing(example: Kitchen) -> None:
    request = PlanRequest(kitchen=example, now=example.planning_start)
    first = planned(request)
    again = planned(request.model_copy(update={"previous": first}))
    placed = [(task.id, task.start, task.end, task.equipment, task.spans) for task in first.tasks]
    assert [(task.id, task.start, task.end, task.equipment, task.spans) for task in again.tasks] == placed


def test_make_plan_base_already_kept_too_long_is_named_among_the_breaks() -> None:
    data = tiny_data()
    data["recipes"][0]["steps"][1]["stay"]["most"] = 1440
    request = tiny_request(data)
    first = planned(request)
    start, now = first.task("C1.cook").start, first.task("C1.cook").end + timedelta(hours=30)
    end = start + timedelta(minutes=40)
    facts = (
        Actual(task="C1.cook", status="done", start=start, end=end, equipment="hob-1", crew=("early-cook",)),
        Actual(task="C1.age.B1", status="in hand", start=end, end=now, equipment="fridge"),
    )
    again = planned(request.model_copy(update={"now": now, "previous": first, "actuals": facts}))
    assert [(b.task, b.after, b.side) for b in again.breaks] == [("B1.churn", "C1.age.B1", "too late")]


def test_make_plan_base_past_its_safety_window_is_made_again() -> None:
    data = tiny_data()
    data["recipes"][0]["steps"][1]["stay"] = {"least": 720, "most": 1440, "window": "safety"}
    request = tiny_request(data)
    first = planned(request)
    cook = first.task("C1.cook")
    now = cook.end + timedelta(hours=25)
    facts = (
        Actual(task="C1.cook", status="done", start=cook.start, end=cook.end, equipment="hob-1", crew=("early-cook",)),
        Actual(task="C1.age.B1", status="in hand", start=cook.end, end=now, equipment="fridge"),
    )
    again = planned(request.model_copy(update={"now": now, "previous": first, "actuals": facts}))
    assert [peg.lot for peg in again.pegs if peg.batch == "B1"] == ["C2"]


@pytest.mark.parametrize("seed", [2, 5, 9])
def test_make_plan_while_reality_drifts_always_passes(example: Kitchen, seed: int) -> None:
    rng = random.Random(seed)
    request = PlanRequest(kitchen=example, now=example.planning_start)
    plan = planned(request)
    while request.now < example.planning_start + timedelta(days=4):
        now = request.now + timedelta(minutes=rng.choice([90, 150, 240]), seconds=rng.randint(0, 59))
        request = later(request, plan, now, rng)
        plan = planned(request)
    done = {actual.task for actual in request.actuals if actual.status == "done"}
    assert {"SAT-STALL.B.hand-over", "SAT-CAFE.S.hand-over", "SAT-PARTY.W.hand-over"} <= done


@pytest.mark.parametrize("seed", [30, 33])
def test_make_plan_through_lots_held_and_lost_and_machines_stopped_always_passes(example: Kitchen, seed: int) -> None:
    rng = random.Random(seed)
    request = PlanRequest(kitchen=example, now=example.planning_start)
    plan = planned(request)
    while request.now < example.planning_start + timedelta(days=3, hours=12):
        request = later(request, plan, request.now + timedelta(minutes=rng.choice([120, 180, 240])), rng)
        begun = sorted({str(a.task).split(".")[0] for a in request.actuals} & {str(b.lot) for b in plan.batches})
        told: dict[str, object] = {"stops": ()}
        if begun and rng.random() < 0.15:
            which = rng.choice(["held_lots", "lost_lots"])
            told[which] = tuple({*getattr(request, which), rng.choice(begun)})
        elif request.held_lots and rng.random() < 0.5:
            told["held_lots"] = ()
        if rng.random() < 0.15:
            machine = rng.choice(["churn", "hob-1", "ice-bath", "oven"])
            told["stops"] = (Stop(equipment=machine, start=request.now, end=request.now + timedelta(hours=2)),)
        request = request.model_copy(update=told)
        plan = planned(request)
