"""What a plan gives up is judged: it has begun, has work left, and could not simply have stayed where it was."""

from orchestrator.core.check import check
from orchestrator.core.ids import EquipmentId, LotCode
from orchestrator.core.models import LeftOverIn, Plan, PlanRequest, Recipe, Stop
from tests.core.plan_changes import PLAN, REQUEST, as_planned, outlook, rules
from tests.fakes.kitchens import at

S1 = LotCode("S1")


def _asked(*done: str, stops: tuple[Stop, ...] = ()) -> PlanRequest:
    """Wednesday 11:00, after some of the work."""
    return REQUEST.model_copy(
        update={"now": at("Wed 11:00"), "previous": PLAN, "actuals": as_planned("C1.cook", *done), "stops": stops}
    )


def _without_sorbet() -> Plan:
    """All that the sorbet still needs is left out, and its order with it."""
    begun = {"S1.simmer"}
    tasks = tuple(t for t in PLAN.tasks if t.id in begun or (t.lot != S1 and t.order != "SUN-CAFE"))
    plan = PLAN.model_copy(update={"tasks": tasks, "given_up": (S1,)})
    return outlook(plan, "SUN-CAFE", met=False, ready_at=None, margin_min=0, reason="the sorbet is given up")


def test_check_lot_that_could_stay_where_it_was_is_not_given_up() -> None:
    assert "given up" in rules(_without_sorbet(), _asked("S1.simmer"))


def test_check_lot_whose_machine_is_gone_may_be_given_up() -> None:
    stop = Stop(equipment=EquipmentId("churn"), start=at("Thu 09:50"), end=at("Sun 12:00"))
    assert "given up" not in rules(_without_sorbet(), _asked("S1.simmer", stops=(stop,)))


def test_check_lot_whose_place_other_work_has_taken_may_be_given_up() -> None:
    plan = _without_sorbet()
    run = PLAN.task("B1.churn")  # type: ignore[arg-type]
    there = run.model_copy(update={"start": at("Thu 09:45"), "end": at("Thu 10:15"), "spans": ()})
    tasks = tuple(there if task.id == run.id else task for task in plan.tasks)
    assert "given up" not in rules(plan.model_copy(update={"tasks": tasks}), _asked("S1.simmer"))


def test_check_lot_whose_date_passes_before_it_would_be_handed_over_may_be_given_up() -> None:
    """A left-over went into the sorbet, here never frozen, and runs out on Saturday; the café comes on Sunday."""
    told = {"task": "S1.simmer", "lot": "C1-left-1", "at": at("Wed 10:30"), "made": at("Wed 08:40")}
    steps = [step.model_copy(update={"frozen": False}) for step in _sorbet().steps]
    recipes = tuple(
        recipe.model_copy(update={"steps": tuple(steps)}) if recipe.id == "damson-sorbet" else recipe
        for recipe in REQUEST.kitchen.recipes
    )
    kitchen = REQUEST.kitchen.model_copy(update={"recipes": recipes})
    for until, allowed in (("Sat 12:00", True), ("Sun 20:00", False)):
        brought = (LeftOverIn.model_validate({**told, "until": at(until)}),)
        asked = _asked("S1.simmer").model_copy(update={"kitchen": kitchen, "left_overs": brought})
        assert ("given up" not in rules(_without_sorbet(), asked)) is allowed


def _sorbet() -> Recipe:
    return next(recipe for recipe in REQUEST.kitchen.recipes if recipe.id == "damson-sorbet")


def _says(plan: Plan, request: PlanRequest) -> list[str]:
    return [violation.says for violation in check(plan, request) if violation.rule == "given up"]


def test_check_lot_that_has_not_begun_is_left_out_not_given_up() -> None:
    said = _says(_without_sorbet(), _asked())
    assert said == ["S1 is given up, but has not begun: it is left out, or kept"]


def test_check_lot_with_nothing_but_a_stay_before_it_is_kept_not_given_up() -> None:
    request = _asked("S1.simmer", "S1.chill", "S1.churn").model_copy(update={"now": at("Thu 10:31")})
    said = _says(PLAN.model_copy(update={"given_up": (S1,)}), request)
    assert said == ["S1 is given up, but has no work left: it is left out, or kept"]


def test_check_lot_that_the_plan_before_did_not_know_is_not_given_up() -> None:
    said = _says(_without_sorbet(), _asked("S1.simmer").model_copy(update={"previous": None}))
    assert said == ["S1 is given up, but is no batch of the plan before"]
