"""The checker's rules of shape and promise in kitchens whose recipes are otherwise: no last stay, no step for an order,
links across both, another revision."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from orchestrator.core.check import check
from orchestrator.core.ids import LotCode, OrderId, TaskId
from orchestrator.core.models import Peg, Plan, PlanRequest, Recipe, Supply, TaskLink, WindowClass
from orchestrator.core.quantities import Quantity
from tests.core.plan_changes import (
    KITCHEN,
    PLAN,
    REQUEST,
    as_planned,
    batch,
    changed,
    outlook,
    rules,
    unlinked,
    without,
)
from tests.fakes.kitchens import at

Data = dict[str, Any]


def asked(recipe: str, change: Callable[[Data], Data], *, former: bool = False) -> PlanRequest:
    """What is asked of a kitchen with one recipe changed; the recipe as it was is a former revision, if so wished."""
    was = next(r for r in KITCHEN.recipes if r.id == recipe)
    now = Recipe.model_validate(change(was.model_dump()))
    recipes = tuple(now if r.id == recipe else r for r in KITCHEN.recipes)
    kitchen = KITCHEN.model_copy(update={"recipes": recipes, "former": (was,) if former else ()})
    return REQUEST.model_copy(update={"kitchen": kitchen})


def steps_but(*without: str) -> Callable[[Data], Data]:
    return lambda recipe: {**recipe, "steps": [step for step in recipe["steps"] if step["id"] not in without]}


BASE_NOT_AGED = asked("custard-base", steps_but("age"))
"""The base keeps for 4320 min and stays nowhere of its own."""


def straight(*, most: int | None = 4320, window: str = "safety") -> Plan:
    """The base is taken from its chilling, over at 10:15 on Wednesday, and churned at 9:00 on Thursday."""
    link = TaskLink(after=TaskId("C1.chill"), most=most, window=WindowClass(window))
    return changed(without(PLAN, "C1.age.B1"), "B1.churn", links=(link,))


def test_check_lot_without_a_last_stay_is_taken_within_its_shelf_life() -> None:
    assert rules(straight(), BASE_NOT_AGED) == set()
    assert rules(straight(most=4319), BASE_NOT_AGED) == set()
    says = "B1.churn must follow C1.chill by at least 0 min, at most 4320 min (safety)"
    for loose in (straight(most=4321), straight(most=None), straight(window="quality")):
        assert [v.says for v in check(loose, BASE_NOT_AGED)] == [says]


def test_check_lot_that_keeps_for_ever_is_waited_for_all_the_same() -> None:
    request = asked("custard-base", lambda base: {**steps_but("age")(base), "shelf_life": None})
    assert rules(straight(most=None), request) == set()
    assert rules(changed(straight(), "B1.churn", links=()), request) == {"recipe"}


COLLECTED = asked("basil-custard", steps_but("temper", "hand-over"))
"""Saturday's custard is fetched from the freezer: no step is done for the order."""


def collected(ready: str, margin_min: int) -> Plan:
    plan = without(without(PLAN, "SAT-STALL.B.temper"), "SAT-STALL.B.hand-over")
    plan = changed(plan, "B1.harden.SAT-STALL", end=plan.end)
    return outlook(plan, "SAT-STALL", ready_at=at(ready), margin_min=margin_min)


def test_check_order_without_steps_of_its_own_is_ready_once_its_lot_has_stayed_long_enough() -> None:
    # Hardening begins at 9:30 on Thursday, for 240 min at least; due on Saturday at 11:00.
    assert rules(collected("Thu 13:30", 2730), COLLECTED) == set()
    says = [v.says for v in check(collected("Thu 09:30", 2970), COLLECTED)]
    assert says == ["SAT-STALL is ready Thu 26 Nov 13:30, not Thu 26 Nov 09:30"]


def test_check_order_without_steps_waits_for_the_last_of_its_lots() -> None:
    # The second lot goes into the freezer an hour later; what another order has of the first does not count.
    plan = collected("Thu 13:30", 2730)
    half = Quantity.model_validate("2.4 L")
    order, lot = OrderId("SAT-STALL"), LotCode("B2")
    pegs = (*plan.pegs, Peg(lot=lot, order=order, quantity=half))
    stay = plan.task(TaskId("B1.harden.SAT-STALL"))
    later = stay.model_copy(
        update={"id": TaskId("B2.harden.SAT-STALL"), "lot": lot, "start": stay.start + timedelta(hours=1)}
    )
    other = later.model_copy(
        update={"id": TaskId("B1.harden.SUN-CAFE"), "lot": LotCode("B1"), "start": at("Fri 09:30")}
    )
    for tasks in ((*plan.tasks, later, other), (other, later, *plan.tasks)):
        both = plan.model_copy(update={"pegs": pegs, "tasks": tasks})
        says = [v.says for v in check(both, COLLECTED) if v.rule == "outlook"]
        assert says == ["SAT-STALL is ready Thu 26 Nov 14:30, not Thu 26 Nov 13:30"]


def test_check_order_of_a_lot_that_stays_nowhere_is_ready_when_its_work_ends() -> None:
    request = asked("basil-custard", steps_but("harden", "temper", "hand-over"))
    plan = without(collected("Thu 09:30", 2970), "B1.harden.SAT-STALL")
    assert rules(plan, request) == set()
    says = [v.says for v in check(outlook(plan, "SAT-STALL", ready_at=at("Thu 09:00"), margin_min=3000), request)]
    assert says == ["SAT-STALL is ready Thu 26 Nov 09:30, not Thu 26 Nov 09:00"]


def test_check_order_for_which_nothing_is_made_is_not_called_met() -> None:
    plan = collected("Thu 13:30", 2730)
    plan = plan.model_copy(update={"pegs": tuple(peg for peg in plan.pegs if peg.order != "SAT-STALL")})
    assert "SAT-STALL is called met, but nothing is made for it" in [v.says for v in check(plan, COLLECTED)]


def test_check_step_that_follows_a_stay_and_a_step_of_its_order_is_tied_to_both() -> None:
    def after_both(recipe: Data) -> Data:
        *before, last = recipe["steps"]
        return {**recipe, "steps": [*before, {**last, "after": [{"step": "harden"}, *last["after"]]}]}

    request = asked("basil-custard", after_both)
    assert rules(PLAN, request) == set()
    assert rules(unlinked(PLAN, "SAT-STALL.B.hand-over", "SAT-STALL.B.temper"), request) == {"recipe"}


SECOND = asked("custard-base", lambda base: {**steps_but("age")(base), "revision": 2}, former=True)
"""Revision 1 of the base, which is aged, was replaced by a second that is not."""


def begun(request: PlanRequest, *tasks: str) -> PlanRequest:
    actuals = as_planned(*tasks)
    return request.model_copy(update={"actuals": actuals, "now": max(actual.end for actual in actuals)})


def test_check_batch_is_of_the_present_revision_unless_it_has_begun() -> None:
    says = "C1 is of revision 1 of Custard base, and nobody has begun it: revision 2 holds"
    assert [v.says for v in check(PLAN, SECOND)] == [says]
    assert [v.says for v in check(PLAN, begun(SECOND, "S1.simmer")) if v.rule == "recipe"] == [says]
    assert rules(PLAN, begun(SECOND, "C1.cook")) == set()


def test_check_batch_whose_code_only_begins_alike_has_not_begun() -> None:
    other = begun(SECOND, "C1.cook").actuals[0].model_copy(update={"task": TaskId("C12.cook")})
    request = SECOND.model_copy(update={"actuals": (other,), "now": other.end})
    assert "nobody has begun it" in " ".join(v.says for v in check(PLAN, request) if v.rule == "recipe")


def test_check_who_takes_from_a_begun_batch_is_tied_to_it_as_its_own_revision_says() -> None:
    request = begun(SECOND, "C1.cook")
    untied = unlinked(PLAN, "B1.churn", "C1.age.B1")
    says = [v.says for v in check(untied, request) if v.rule == "recipe"]
    assert says == ["B1.churn must follow C1.age.B1 by at least 0 min, at most 0 min (quality)"]


def test_check_who_takes_from_a_batch_of_a_revision_nobody_knows_is_tied_as_the_present_one_says() -> None:
    plan = batch(PLAN, "C1", revision=7)
    assert "recipe" not in rules(plan)
    assert "recipe" in rules(unlinked(plan, "B1.churn", "C1.age.B1"))


def test_check_begun_batch_takes_the_ingredients_of_its_own_revision() -> None:
    def with_lemon(recipe: Data) -> Data:
        take = {"ingredient": "lemons", "amount": "1 kg"}
        steps = [{**s, "takes": [*s["takes"], take]} if s["id"] == "chill" else s for s in recipe["steps"]]
        return {**recipe, "steps": steps, "revision": 2}

    request = asked("damson-sorbet", with_lemon, former=True)
    late = Supply(ingredient="lemons", ready=at("Thu 06:00"))
    request = request.model_copy(update={"kitchen": request.kitchen.model_copy(update={"supplies": (late,)})})
    assert "supplies" not in rules(PLAN, begun(request, "S1.simmer"))
    assert "supplies" in rules(batch(PLAN, "S1", revision=2), request)


def test_check_what_a_step_of_an_order_takes_is_there_by_then() -> None:
    def with_cones(recipe: Data) -> Data:
        *before, last = recipe["steps"]
        return {**recipe, "steps": [*before, {**last, "takes": [{"ingredient": "cones", "amount": "20 each"}]}]}

    request = asked("basil-custard", with_cones)
    for ready, found in (("Sat 10:40", set()), ("Sat 10:41", {"supplies"})):
        late = Supply(ingredient="cones", ready=at(ready))
        kitchen = request.kitchen.model_copy(update={"supplies": (late,)})
        assert rules(PLAN, request.model_copy(update={"kitchen": kitchen})) == found
