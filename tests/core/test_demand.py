"""Demand that becomes orders, and what to make next, with hand-solvable figures."""

from datetime import UTC, date, datetime
from typing import Any

from orchestrator.core.changes import apply
from orchestrator.core.demand import hourly_orders, missing_to_par, order_to_par, ordered_to_par
from orchestrator.core.ids import RecipeId, StationId
from orchestrator.core.models import Kitchen, PlanRequest
from orchestrator.core.models.change import CHANGES, AddOrder, ChangeOrder, CloseCounter, DropOrder
from orchestrator.core.models.demand import Counted, ParLevel
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.views import make_next
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchens import at, small_kitchen

COUNTER, BASIL, DAMSON = StationId("counter"), RecipeId("basil-custard"), RecipeId("damson-sorbet")


def with_pars(kitchen: Kitchen | None = None) -> Kitchen:
    pars = (
        ParLevel.model_validate({"station": COUNTER, "product": BASIL, "quantity": "6 L"}),
        ParLevel.model_validate({"station": COUNTER, "product": DAMSON, "quantity": "4 L", "by": "09:30"}),
    )
    return (kitchen or small_kitchen()).model_copy(update={"par_levels": pars})


def counted(**left: str) -> tuple[Counted, ...]:
    return tuple(
        Counted.model_validate({"product": product.replace("_", "-"), "quantity": amount})
        for product, amount in left.items()
    )


def test_missing_is_par_less_what_is_left_and_never_less_than_nothing() -> None:
    rows = missing_to_par(with_pars(), COUNTER, counted(basil_custard="1.5 L", damson_sorbet="5 L"))
    assert [(row.par.product, row.left.value, row.missing.value) for row in rows] == [
        (BASIL, 1.5, 4.5),
        (DAMSON, 5.0, 0.0),
    ]
    assert missing_to_par(with_pars(), StationId("stove"), counted(basil_custard="1 L")) == ()


def test_closing_count_becomes_one_order_for_the_next_morning() -> None:
    made = order_to_par(with_pars(), COUNTER, counted(basil_custard="1.5 L", damson_sorbet="1 L"), at("Wed 20:30"))
    assert isinstance(made, AddOrder)
    order = made.order
    assert (order.id, order.customer, order.due) == ("261126-PAR-COUNTER", "Counter, to par", at("Thu 09:30"))
    assert [(line.product, line.quantity.value) for line in order.lines] == [(BASIL, 4.5), (DAMSON, 3.0)]
    assert isinstance(apply(PlanRequest(kitchen=with_pars(), now=at("Wed 20:30")), [made]), PlanRequest)


def test_count_after_midnight_is_that_of_the_day_before() -> None:
    made = order_to_par(with_pars(), COUNTER, counted(basil_custard="0 L"), at("Thu 00:40"))
    assert isinstance(made, AddOrder)
    assert made.order.due == at("Thu 10:00")


def test_second_count_of_an_evening_changes_the_order_or_leaves_it_out() -> None:
    kitchen = with_pars()
    first = order_to_par(kitchen, COUNTER, counted(basil_custard="1.5 L"), at("Wed 20:30"))
    assert isinstance(first, AddOrder)
    ordered = kitchen.model_copy(update={"orders": (*kitchen.orders, first.order)})
    assert ordered_to_par(ordered, COUNTER, BASIL, at("Wed 20:30"))
    assert not ordered_to_par(ordered, COUNTER, DAMSON, at("Wed 20:30"))
    less = order_to_par(ordered, COUNTER, counted(basil_custard="2 L"), at("Wed 20:40"))
    assert isinstance(less, ChangeOrder)
    assert less.lines is not None
    assert less.lines[0].quantity.value == 4.0
    assert order_to_par(ordered, COUNTER, counted(basil_custard="1.5 L"), at("Wed 20:40")) is None
    assert isinstance(order_to_par(ordered, COUNTER, counted(basil_custard="9 L"), at("Wed 20:40")), DropOrder)
    assert order_to_par(kitchen, COUNTER, counted(basil_custard="9 L"), at("Wed 20:40")) is None


def test_count_says_its_arithmetic() -> None:
    count = CloseCounter(station=COUNTER, counts=counted(basil_custard="1.5 L", damson_sorbet="4 L"))
    assert count.says(with_pars()) == (
        "closing count at Counter: Basil custard: par 6 L \u2212 left 1.5 L = 4.5 L missing; "
        "Damson sorbet: par 4 L \u2212 left 4 L = nothing missing"
    )


def test_hours_become_orders_handed_over_as_each_begins_on_the_kitchen_s_clock() -> None:
    # Central European Summer Time is two hours ahead of UTC (EU directive 2000/84/EC: from the last Sunday of March).
    kitchen = small_kitchen().model_copy(update={"time_zone": "Europe/Berlin"})
    basil = next(r for r in kitchen.recipes if r.id == BASIL)
    made = hourly_orders(kitchen, COUNTER, basil, date(2026, 7, 4), {12: 1.5, 11: 2.0, 14: 0.0})
    assert [(c.order.id, c.order.due, c.order.lines[0].quantity.value) for c in made] == [
        ("260704-1100-COUNTER-B", datetime(2026, 7, 4, 9, tzinfo=UTC), 2.0),
        ("260704-1200-COUNTER-B", datetime(2026, 7, 4, 10, tzinfo=UTC), 1.5),
    ]
    again = kitchen.model_copy(update={"orders": (*kitchen.orders, made[0].order)})
    assert hourly_orders(again, COUNTER, basil, date(2026, 7, 4), {11: 1.0})[0].order.id == "260704-1100-COUNTER-B-2"


def changed(script: Script, when: str, *changes: dict[str, Any], person: str = "manager") -> None:
    script.give(when, "change_kitchen", changes=list(changes), person=person)


PAR = {"change": "set par", "station": COUNTER, "product": BASIL, "quantity": "6 L"}
COUNT = {"change": "closing count", "station": COUNTER, "counts": [{"product": BASIL, "quantity": "1.5 L"}]}


def test_par_is_a_managers_and_a_count_is_anybodys_and_both_last() -> None:
    script = in_a_planned_kitchen()
    assert script.refused("Wed 20:00", "change_kitchen", changes=[PAR], person="late-cook").thing == "set par"
    changed(script, "Wed 20:00", PAR)
    changed(script, "Wed 20:30", COUNT, person="late-cook")
    assert script.state.kitchen is not None
    assert [(p.product, p.quantity.value, p.by) for p in script.state.kitchen.par_levels] == [(BASIL, 6.0, "10:00")]
    count = script.state.by_hand.counts[COUNTER, BASIL]
    assert (count.quantity.value, count.at, count.by) == (1.5, at("Wed 20:30"), "late-cook")
    changed(script, "Wed 20:40", {**PAR, "quantity": "0 L"})
    assert script.state.kitchen.par_levels == ()


def test_par_or_count_of_what_is_not_there_is_refused() -> None:
    request = PlanRequest(kitchen=small_kitchen(), now=at("Wed 20:00"))
    for change, remedy in (
        ({**PAR, "station": "countre"}, "did you mean counter?"),
        ({**PAR, "product": "custard-base"}, "one of basil-custard, damson-sorbet"),
        ({**COUNT, "counts": [{"product": BASIL, "quantity": "2 kg"}]}, "an amount in L, or 0"),
    ):
        told = apply(request, [CHANGES.validate_python(change)])
        assert not isinstance(told, PlanRequest)
        assert told.remedy == remedy


def reasons(script: Script, when: str) -> dict[str, list[str]]:
    return {v.product: [r.kind for r in v.reasons] for v in make_next(script.state, script.facts, at(when))}


def test_what_is_below_par_and_not_ordered_comes_first_until_it_is_ordered() -> None:
    script = in_a_planned_kitchen()
    changed(script, "Wed 20:00", {**PAR, "product": DAMSON, "quantity": "4 L"})
    left = {**COUNT, "counts": [{"product": DAMSON, "quantity": "1 L"}]}
    changed(script, "Wed 20:30", left)
    first = make_next(script.state, script.facts, at("Wed 20:31"))[0]
    assert (first.product, first.reasons[0].kind) == (DAMSON, "below par")
    assert first.reasons[0].amount is not None
    assert first.reasons[0].amount.value == 3.0
    assert script.state.kitchen is not None
    order = order_to_par(script.state.kitchen, COUNTER, counted(damson_sorbet="1 L"), at("Wed 20:31"))
    assert isinstance(order, AddOrder)
    changed(script, "Wed 20:31", order.model_dump(mode="json"))
    assert "below par" not in reasons(script, "Wed 20:32").get(DAMSON, [])
    assert "below par" not in [k for kinds in reasons(script, "Fri 20:00").values() for k in kinds]  # the count is old


def test_component_that_nobody_takes_speaks_for_its_product_and_a_free_churn_for_each() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    lot = {"lot": "C90", "recipe": "custard-base", "quantity": "3 L", "made": at("Wed 05:00"), "place": "fridge"}
    changed(script, "Wed 11:00", {"change": "stock lot", "lot": {**lot, "use_by": at("Fri 12:00")}})
    told = {v.product: v for v in make_next(script.state, script.facts, at("Wed 11:05"))}
    use = next(r for r in told[BASIL].reasons if r.kind == "use by")
    assert use.amount is not None
    assert (use.lot, use.amount.value, use.end) == ("C90", 3.0, at("Fri 12:00"))
    assert all(r.kind != "use by" for r in told[DAMSON].reasons)
    free = next(r for r in told[DAMSON].reasons if r.kind == "churn free")
    assert (free.equipment, free.start) == ("churn", at("Wed 11:05"))
    script.give("Wed 11:10", "stop_machine", equipment="churn", person="early-cook")
    assert "churn free" not in [kind for kinds in reasons(script, "Wed 11:15").values() for kind in kinds]


def test_count_alone_asks_for_no_plan_and_with_an_order_it_does() -> None:
    script = in_a_planned_kitchen()
    changed(script, "Wed 20:00", PAR)
    events = script.give("Wed 20:30", "change_kitchen", changes=[COUNT], person="late-cook")
    assert [event.kind for event in events] == ["kitchen_changed"]
    order = order_to_par(script.state.kitchen, COUNTER, counted(basil_custard="1.5 L"), at("Wed 20:31"))  # type: ignore[arg-type]
    assert isinstance(order, AddOrder)
    told = [COUNT, order.model_dump(mode="json")]
    events = script.give("Wed 20:31", "change_kitchen", changes=told, person="manager")
    assert [event.kind for event in events] == ["kitchen_changed", "replan_wanted"]


def test_half_a_piece_is_no_count() -> None:
    kitchen = small_kitchen()
    pieces = tuple(
        r.model_copy(update={"yields": Quantity(value=12, unit=Unit.EACH)}) if r.id == BASIL else r
        for r in kitchen.recipes
    )
    request = PlanRequest(kitchen=kitchen.model_copy(update={"recipes": pieces}), now=at("Wed 20:00"))
    for amount, refused in (("7.5 each", True), ("7 each", False)):
        count = {**COUNT, "counts": [{"product": BASIL, "quantity": amount}]}
        told = apply(request, [CHANGES.validate_python(count)])
        assert isinstance(told, PlanRequest) != refused
