"""The checker goes on after what does not concern it: it finds the same, in whatever order a plan lists things."""

import random
from typing import Any

import pytest

from orchestrator.core.check import check
from orchestrator.core.ids import LotCode, RecipeId, TaskId
from orchestrator.core.models import Plan, PlanRequest
from orchestrator.core.quantities import Quantity
from tests.core.plan_changes import (
    BROKEN,
    PLAN,
    REQUEST,
    as_planned,
    batch,
    changed,
    crew,
    moved,
    outlook,
    without,
)
from tests.fakes.kitchens import at, small_kitchen

IN_THE_PLAN = ("tasks", "batches", "pegs", "outlooks", "breaks", "given_up", "let_go")
IN_THE_REQUEST = ("actuals", "stops", "held_lots", "lost_lots")
IN_THE_KITCHEN = ("equipment", "crew", "recipes", "orders", "stock", "supplies")


def shuffled(model: Any, fields: tuple[str, ...], chance: random.Random) -> Any:
    listed = {field: getattr(model, field) for field in fields}
    return model.model_copy(update={field: tuple(chance.sample(all_, len(all_))) for field, all_ in listed.items()})


def said(plan: Plan, request: PlanRequest) -> set[tuple[str, str]]:
    return {(violation.rule, violation.says) for violation in check(plan, request)}


def asked(now: str = "Wed 06:00", **update: Any) -> PlanRequest:
    return REQUEST.model_copy(update={"now": at(now), **update})


def also(plan: Plan, **more: tuple[Any, ...]) -> Plan:
    """The plan with further tasks, pegs and the like."""
    return plan.model_copy(update={field: (*getattr(plan, field), *found) for field, found in more.items()})


def of_unknown_recipe(plan: Plan) -> Plan:
    """Half of the batches are of recipes that there are not."""
    unknown = [
        plan.batches[0].model_copy(update={"lot": LotCode(f"X{n}"), "recipe": RecipeId("sauce"), "allergens": ()})
        for n in range(3)
    ]
    return also(plan, batches=tuple(unknown))


def shared_stay(plan: Plan, **update: Any) -> Plan:
    """A little of the sorbet is Saturday's, and stays as the rest does."""
    peg = plan.pegs[2].model_copy(update={"order": "SAT-STALL", "quantity": Quantity.model_validate("0.01 L")})
    stay = plan.task(TaskId("S1.harden.SUN-CAFE"))
    return also(
        changed(plan, stay.id, load=1.0),
        pegs=(peg,),
        tasks=(stay.model_copy(update={"id": TaskId("S1.harden.SAT-STALL"), "load": 0.1, **update}),),
    )


def with_whites() -> PlanRequest:
    """The base leaves whites at 8:40, which the sorbet's chilling takes at 11:00; others come on Thursday."""
    kitchen = small_kitchen(supplies=[{"ingredient": "whites", "ready": at("Thu 10:00")}])
    recipes = [recipe.model_dump() for recipe in kitchen.recipes]
    recipes[0]["steps"][0]["leaves"] = [{"ingredient": "whites", "amount": "1 kg"}]
    recipes[2]["steps"][1]["takes"] = [{"ingredient": "whites", "amount": "1 kg"}]
    return asked(kitchen=kitchen.model_validate({**kitchen.model_dump(), "recipes": recipes}))


def with_old_stock() -> tuple[Plan, PlanRequest]:
    """Two orders are promised custard that is too old by the time; of one nothing is planned."""
    lot = {"lot": "B0", "recipe": "basil-custard", "quantity": "5 L", "made": at("Wed 00:00"), "place": "freezer"}
    orders = [order.model_dump(mode="json") for order in REQUEST.kitchen.orders]
    orders.append({**orders[0], "id": "SAT-CAFE"})
    kitchen = small_kitchen(stock=[{**lot, "use_by": at("Sat 09:00")}], orders=orders)
    pegs = [PLAN.pegs[1].model_copy(update={"lot": LotCode("B0"), "order": o}) for o in ("SAT-STALL", "SAT-CAFE")]
    return also(PLAN, pegs=tuple(pegs)), asked(kitchen=kitchen)


def crowded() -> tuple[Plan, PlanRequest]:
    """Of two that are chilled one is enough to crowd the bath."""
    told = {"heat": {"alone": "5 L", "crowded": 1.5}}
    machines = [{**e.model_dump(), **(told if e.id == "ice-bath" else {})} for e in REQUEST.kitchen.equipment]
    kitchen = REQUEST.kitchen.model_validate({**REQUEST.kitchen.model_dump(), "equipment": machines})
    return changed(changed(PLAN, "S1.chill", load=6.0), "C1.chill", load=1.0), asked(kitchen=kitchen)


STAYS = as_planned("S1.harden.SUN-CAFE", status="in hand")
COOKED = asked("Wed 10:20", actuals=as_planned("C1.cook", "C1.chill"))
HELD = changed(changed(PLAN, "S1.simmer", held_in_place=True), "C1.cook", held_in_place=True)
BEFORE = asked("Wed 08:42", previous=PLAN, actuals=as_planned("C1.cook", "S1.simmer"), lost_lots=(LotCode("S1"),))

SCENES: dict[str, tuple[Plan, PlanRequest]] = {
    **{name: (change(PLAN), REQUEST) for name, (_, change) in BROKEN.items()},
    "some is done, the rest lacks hands, skill and a machine": (
        crew(changed(changed(PLAN, "S1.simmer", spans=()), "S1.chill", equipment=None), "S1.churn", "manager"),
        COOKED,
    ),
    "some is done, the rest is of a lot on hold": (PLAN, COOKED.model_copy(update={"held_lots": (LotCode("C1"),)})),
    "two machines are wrong": (changed(changed(PLAN, "S1.simmer", equipment=None), "B1.churn", load=6.5), REQUEST),
    "sizes, allergens beside unknown recipes": (of_unknown_recipe(batch(PLAN, "B1", allergens=(), scale=2)), REQUEST),
    "two lots are promised too much": (
        also(PLAN, pegs=(PLAN.pegs[0], PLAN.pegs[0].model_copy(update={"lot": LotCode("C9")}))),
        REQUEST,
    ),
    "one order is unmet, the other not covered": (
        outlook(PLAN, "SUN-CAFE", met=False, reason="no churn").model_copy(
            update={"pegs": (PLAN.pegs[0], PLAN.pegs[2])}
        ),
        REQUEST,
    ),
    "a lot on hold is promised": (changed(PLAN, "B1.churn", links=()), asked(held_lots=(LotCode("C1"),))),
    "lots given up that are unknown, or have not begun": (
        PLAN.model_copy(update={"given_up": (LotCode("X9"), LotCode("S1"))}),
        asked(previous=PLAN),
    ),
    "a begun batch loses a step, another is lost": (without(PLAN, "C1.chill"), BEFORE),
    "a share has no stay, another too small a one": (without(shared_stay(PLAN), "S1.harden.SAT-STALL"), REQUEST),
    "a share stays already, another too small": (
        shared_stay(PLAN),
        asked(actuals=tuple(a.model_copy(update={"task": "S1.harden.SAT-STALL"}) for a in STAYS)),
    ),
    "a skipped step, another before its turn": (
        moved(PLAN, "C1.chill", -10),
        asked("Wed 08:00", actuals=as_planned("S1.simmer", status="skipped")),
    ),
    "one let go, another moved though it is held": (
        moved(moved(PLAN, "S1.simmer", -10), "C1.cook", -5).model_copy(update={"let_go": (TaskId("C1.cook"),)}),
        asked(previous=HELD),
    ),
    "whites are left in time": (PLAN, with_whites()),
    "old stock is handed over": with_old_stock(),
    "one of two crowds": crowded(),
}


@pytest.mark.parametrize("name", SCENES)
def test_check_finds_the_same_in_whatever_order_a_plan_lists_things(name: str) -> None:
    plan, request = SCENES[name]
    found = said(plan, request)
    assert (not found) is (name == "whites are left in time")
    for seed in range(6):
        chance = random.Random(seed)
        other = shuffled(request, IN_THE_REQUEST, chance)
        other = other.model_copy(update={"kitchen": shuffled(request.kitchen, IN_THE_KITCHEN, chance)})
        if request.previous is not None:
            before = shuffled(request.previous, IN_THE_PLAN, chance)
            other = other.model_copy(update={"previous": before})
        assert said(shuffled(plan, IN_THE_PLAN, chance), other) == found
