"""Kitchens that cannot do what is asked, or only just: each gets a plan that passes and says why."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from orchestrator.core.check import check
from orchestrator.core.ids import CrewId
from orchestrator.core.models import CrewMember, Kitchen, Order, Outlook, Plan, PlannedTask, PlanRequest, StockLot, Stop
from orchestrator.core.quantities import Quantity
from orchestrator.kitchen import read_kitchen
from orchestrator.planner.plan import make_plan
from tests.fakes.tiny import at, shifts, tiny_data, tiny_request

EXAMPLE = read_kitchen(Path(__file__).parents[2] / "config")
FRIDAY = datetime(2026, 11, 27, tzinfo=UTC)


def planned(kitchen: Kitchen, **told: Any) -> Plan:
    request = PlanRequest(kitchen=kitchen, now=kitchen.planning_start, **told)
    return sound(request)


def sound(request: PlanRequest) -> Plan:
    answer = make_plan(request, effort="repair", seconds=1)
    assert answer.violations == ()
    assert answer.plan is not None
    assert check(answer.plan, request) == ()
    assert all(o.reason for o in answer.plan.outlooks if o.late_min or not o.met)
    return answer.plan


def changed(**told: Any) -> Kitchen:
    return EXAMPLE.model_copy(update=told)


def with_machine(machine: str, **told: Any) -> Kitchen:
    data = EXAMPLE.model_dump()
    data["equipment"] = [{**e, **told} if e["id"] == machine else e for e in data["equipment"]]
    return Kitchen.model_validate(data)


def on_time(plan: Plan) -> bool:
    return all(outlook.met and outlook.late_min == 0 for outlook in plan.outlooks)


def test_nobody_who_can_churn_on_the_churning_day_churns_on_another() -> None:
    def without_friday(member: CrewMember) -> CrewMember:
        there = tuple(s for s in member.shifts if s.start.date() != FRIDAY.date() or "churn" not in member.skills)
        return member.model_copy(update={"shifts": there})

    plan = planned(changed(crew=tuple(without_friday(member) for member in EXAMPLE.crew)))
    assert on_time(plan)
    assert FRIDAY.date() not in {task.start.date() for task in plan.tasks if task.process == "churn"}


def test_churn_stopped_for_two_days_is_named_as_what_makes_orders_late() -> None:
    stop = Stop(equipment="churn", start=FRIDAY - timedelta(days=1), end=FRIDAY + timedelta(days=1))
    plan = planned(EXAMPLE, stops=(stop,))
    assert not any(t.start < stop.end and stop.start < t.end for t in plan.tasks if t.process == "churn")
    late = [outlook for outlook in plan.outlooks if outlook.late_min or not outlook.met]
    assert late
    assert all("the Churn is stopped until Sat 28 Nov 00:00" in outlook.reason for outlook in late)


def _stock(lot: str, recipe: str, amount: str, place: str) -> StockLot:
    made = EXAMPLE.planning_start - timedelta(hours=1)
    return StockLot(lot=lot, recipe=recipe, quantity=Quantity.model_validate(amount), made=made, place=place)


STOCKED = (
    _stock("B7", "basil-custard", "9 L", "freezer"),
    _stock("H7", "hazelnut-custard", "9 L", "freezer"),
    _stock("S7", "damson-sorbet", "9 L", "freezer"),
)


def _frozen_only() -> tuple[Order, ...]:
    lines = {o.id: tuple(n for n in o.lines if n.product != "wafer-cones") for o in EXAMPLE.orders}
    return tuple(order.model_copy(update={"lines": lines[order.id]}) for order in EXAMPLE.orders)


def test_stock_that_covers_everything_leaves_nothing_to_make() -> None:
    plan = planned(changed(stock=STOCKED, orders=_frozen_only()))
    assert on_time(plan)
    assert plan.batches == ()


def test_stock_on_hold_is_not_used_and_made_anew() -> None:
    plan = planned(changed(stock=STOCKED, orders=_frozen_only()), held_lots=("B7", "S7"))
    assert {str(batch.recipe) for batch in plan.batches} >= {"basil-custard", "damson-sorbet"}
    assert {peg.lot for peg in plan.pegs}.isdisjoint({"B7", "S7"})


def test_freezer_that_holds_more_than_it_should_can_still_be_emptied() -> None:
    data = tiny_data()
    lot = {"lot": "B8", "recipe": "basil-custard", "quantity": "60 L", "made": at(-1, "12:00"), "place": "freezer"}
    data["stock"] = [lot]
    assert on_time(sound(tiny_request(data)))


def test_no_orders_is_an_empty_plan() -> None:
    plan = planned(changed(orders=()))
    assert (plan.batches, plan.outlooks) == ((), ())


def test_crew_of_two_hours_a_night_cannot_cook_and_chill_and_is_told_so() -> None:
    def nights(member: CrewMember) -> CrewMember:
        there = tuple(
            s.model_copy(
                update={"start": s.start.replace(hour=22), "end": s.start.replace(hour=23, minute=59), "breaks": ()}
            )
            for s in member.shifts
        )
        return member.model_copy(update={"shifts": there})

    plan = planned(changed(crew=tuple(nights(member) for member in EXAMPLE.crew)))
    assert [outlook.met for outlook in plan.outlooks] == [False] * 5
    assert plan.outlooks[0].reason == (
        "not enough people with the skill prep for all from 'Weigh out the custard base' (C1) to 'Chill the custard "
        "base' (C1), one soon after the other, between Wed 25 Nov 06:00 and Sun 29 Nov 08:17: too few are there for as "
        "long as it takes"
    )


def test_three_times_the_orders_fill_the_freezer_and_what_is_left_out_says_so() -> None:
    def thrice(order: Order) -> Order:
        lines = tuple(n.model_copy(update={"quantity": n.quantity.times(3.0)}) for n in order.lines)
        return order.model_copy(update={"lines": lines})

    # Twice the crew, and a churn with less to be done to it: cold places are all that there is too little of.
    kitchen = with_machine("churn", precool=None, day_end=None)
    more = tuple(member.model_copy(update={"id": CrewId(f"{member.id}-2")}) for member in EXAMPLE.crew)
    orders = tuple(thrice(order) for order in EXAMPLE.orders)
    plan = planned(kitchen.model_copy(update={"orders": orders, "crew": (*EXAMPLE.crew, *more)}))
    left_out = [outlook for outlook in plan.outlooks if not outlook.met]
    assert 1 <= len(left_out) <= 2
    assert [outlook.reason for outlook in left_out if "freezer" not in outlook.reason] == []


@pytest.mark.parametrize(("first_day", "sunday_hours"), [(date(2026, 10, 21), 25), (date(2026, 3, 25), 23)])
def test_week_in_which_the_clocks_change_is_planned_by_local_time(first_day: date, sunday_hours: int) -> None:
    zone = EXAMPLE.local(EXAMPLE.planning_start).tzinfo
    days = (first_day - date(2026, 11, 25)).days

    def moved(what: Any) -> Any:
        if isinstance(what, datetime):
            there = EXAMPLE.local(what).replace(tzinfo=None) + timedelta(days=days)
            return there.replace(tzinfo=zone).astimezone(UTC)
        if isinstance(what, dict):
            return {key: moved(value) for key, value in what.items()}
        return [moved(value) for value in what] if isinstance(what, (list, tuple)) else what

    kitchen = Kitchen.model_validate(moved(EXAMPLE.model_dump()))
    sunday = next(order.due for order in kitchen.orders if order.due.astimezone(zone).weekday() == 6)
    saturday = next(order.due for order in kitchen.orders if order.due.astimezone(zone).weekday() == 5)
    assert sunday - saturday == timedelta(hours=sunday_hours)
    assert on_time(planned(kitchen))


def test_horizon_of_two_weeks_is_planned_as_quickly() -> None:
    assert on_time(planned(changed(horizon_days=14)))


def test_least_batch_larger_than_all_orders_is_made_whole_and_the_rest_kept() -> None:
    data = tiny_data()
    data["orders"][0]["lines"][0]["quantity"] = "500 ml"
    data["recipes"][1]["batch"] = {"least": "4 L", "most": "10 L"}
    plan = sound(tiny_request(data))
    rest = next(task for task in plan.tasks if task.id == "B1.freeze.rest")
    assert rest.quantity is not None
    assert rest.quantity.value == pytest.approx(3.5)


def test_order_in_a_unit_that_no_recipe_yields_is_unmet_and_the_others_are_made() -> None:
    first, *others = EXAMPLE.orders
    wrong = first.lines[0].model_copy(update={"quantity": Quantity.model_validate("4 each")})
    plan = planned(changed(orders=(first.model_copy(update={"lines": (wrong,)}), *others)))
    told = {str(outlook.order): outlook for outlook in plan.outlooks}
    assert told["SAT-STALL"].reason == "basil-custard: there is no recipe that makes it in each"
    assert all(told[order.id].met for order in others)


def test_order_due_before_ageing_can_be_over_names_the_ageing() -> None:
    data = tiny_data()
    data["orders"][0]["due"] = at(0, "12:00")
    for member in data["crew"]:
        member["shifts"] = shifts("00:00", "23:59")
    outlook: Outlook = sound(tiny_request(data)).outlooks[0]
    assert outlook.late_min > 0
    assert "'Age the base' (C1) takes at least 12 h" in outlook.reason


def test_fridge_that_holds_one_base_at_a_time_makes_them_one_after_the_other() -> None:
    plan = planned(with_machine("fridge", capacity="8 L"))
    assert all(outlook.met for outlook in plan.outlooks)
    aged = [task for task in plan.tasks if task.recipe == "custard-base" and task.step == "age"]
    first, second = (
        [task for task in aged if task.lot == lot] for lot in dict.fromkeys(t.lot for t in sorted(aged, key=_start))
    )
    assert max(task.end for task in first) <= min(task.start for task in second)


def _start(task: PlannedTask) -> datetime:
    return task.start


def test_churn_of_half_the_size_makes_more_and_smaller_batches() -> None:
    whole, half = planned(EXAMPLE), planned(with_machine("churn", capacity="2.6 L"))
    runs = [sum(task.process == "churn" for task in plan.tasks) for plan in (whole, half)]
    assert runs == [6, 9]
    assert all(batch.size.value <= 3.06 for batch in half.batches if str(batch.recipe).endswith(("custard", "sorbet")))
