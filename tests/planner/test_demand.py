"""Orders become batches and tasks: netting, losses, splitting, components, re-planning. All by hand."""

from typing import Any

import pytest

from orchestrator.core.models import Actual, PlanRequest
from orchestrator.core.quantities import Unit
from orchestrator.planner.demand import Demand, explode
from orchestrator.planner.plan import make_plan
from orchestrator.planner.sizes import SizeRange, split
from tests.fakes.tiny import START, at, second_product, tiny_data, tiny_request


def _order(data: dict[str, Any], litres: float) -> None:
    data["orders"][0]["lines"][0]["quantity"] = f"{litres} L"


def _stock(lot: str, litres: float, day: int, **more: Any) -> dict[str, Any]:
    made = at(-day, "12:00")
    return {"lot": lot, "recipe": "basil-custard", "quantity": f"{litres} L", "made": made, "place": "freezer"} | more


def _sizes(demand: Demand, code: str) -> list[float]:
    return [b.size.value for b in demand.batches if b.lot.rstrip("0123456789") == code]


def _pegs(demand: Demand) -> list[tuple[str, str, float]]:
    return [(p.lot, p.consumer, round(p.quantity.value, 6)) for p in demand.pegs]


def test_explode_one_order_makes_product_and_base_with_the_loss_added() -> None:
    demand = explode(tiny_request())
    # 4 L out of the churn need 4.2 L in: 0.2 L stay in it. Scale 4.2/4; the base is 4.2 L of 8 L.
    assert [(b.lot, b.size.value, round(b.scale, 6)) for b in demand.batches] == [("B1", 4.0, 1.05), ("C1", 4.2, 0.525)]
    assert _pegs(demand) == [("B1", "SAT-STALL", 4.0), ("C1", "B1", 4.2)]


def test_explode_ids_links_and_loads_follow_the_rules() -> None:
    specs = {spec.id: spec for spec in explode(tiny_request()).specs}
    assert set(specs) == {"C1.cook", "C1.age.B1", "B1.churn", "B1.freeze.SAT-STALL", "SAT-STALL.B.hand-over"}
    joined = [(s, [(k.after, k.least, k.most) for k in specs[s].links]) for s in ("C1.age.B1", "B1.churn")]
    assert joined == [("C1.age.B1", [("C1.cook", 0, 0)]), ("B1.churn", [("C1.age.B1", 0, 0)])]
    assert specs["B1.churn"].load == pytest.approx(4.2)
    assert specs["SAT-STALL.B.hand-over"].title == "Hand over basil custard for Market stall"


def test_explode_need_above_the_churn_is_split_into_equal_runs() -> None:
    data = tiny_data()
    _order(data, 9.0)
    # The churn holds 5 L of mix, so 4.8 L out: 9 L take two runs of 4.5 L.
    assert _sizes(explode(tiny_request(data)), "B") == [4.5, 4.5]


def test_explode_need_below_the_least_is_made_at_the_least_and_the_rest_stays() -> None:
    data = tiny_data()
    _order(data, 1.0)
    demand = explode(tiny_request(data))
    assert _sizes(demand, "B") == [2.0]
    rest = next(spec for spec in demand.specs if spec.id == "B1.freeze.rest")
    assert (rest.quantity.value if rest.quantity else None, rest.load) == (1.0, pytest.approx(1.1))


def test_split_pieces_come_in_whole_numbers() -> None:
    assert split(101, SizeRange(10, 60), Unit.EACH) == (51.0, 50.0)


def test_split_three_runs_rather_than_two_full_and_a_scrap() -> None:
    assert split(10.5, SizeRange(2.0, 5.0), Unit.LITRE) == (3.5, 3.5, 3.5)


def test_explode_orders_of_one_product_share_a_batch_in_order_of_due() -> None:
    data = tiny_data()
    _order(data, 1.5)
    later = {
        **data["orders"][0],
        "id": "SUN",
        "due": at(4, "11:00"),
        "lines": [{"product": "basil-custard", "quantity": "2 L"}],
    }
    data["orders"].insert(0, later)
    assert _pegs(explode(tiny_request(data)))[:2] == [("B1", "SAT-STALL", 1.5), ("B1", "SUN", 2.0)]


def test_explode_stock_is_taken_first_and_oldest_first() -> None:
    data = tiny_data()
    data["stock"] = [_stock("B7", 1.0, day=1), _stock("B5", 1.0, day=3)]
    _order(data, 3.5)
    demand = explode(tiny_request(data))
    # 1 L of B5 (three days old), 1 L of B7, and 1.5 L anew: sized up to 2 L, numbered after the highest.
    assert _pegs(demand)[:3] == [("B5", "SAT-STALL", 1.0), ("B7", "SAT-STALL", 1.0), ("B8", "SAT-STALL", 1.5)]
    assert {s.id for s in demand.specs if s.lot in ("B5", "B7")} == {"B5.hold.SAT-STALL", "B7.hold.SAT-STALL"}


def test_explode_stock_that_ends_before_the_order_is_due_is_not_used() -> None:
    data = tiny_data()
    data["stock"] = [_stock("B5", 4.0, day=3, use_by=at(2, "12:00"))]
    demand = explode(tiny_request(data))
    assert ("B1" in {b.lot for b in demand.batches}, [p for p in demand.pegs if p.lot == "B5"]) == (False, [])
    assert "B5.hold.rest" in {spec.id for spec in demand.specs}


@pytest.mark.parametrize("told", [{"held_lots": ("B5",)}, {"lost_lots": ("B5",)}])
def test_explode_stock_on_hold_or_lost_is_not_used(told: dict[str, Any]) -> None:
    data = tiny_data()
    data["stock"] = [_stock("B5", 4.0, day=3)]
    demand = explode(tiny_request(data, **told))
    assert _pegs(demand) == [("B6", "SAT-STALL", 4.0), ("C1", "B6", 4.2)]


def test_explode_component_serves_two_products() -> None:
    data = tiny_data()
    data["recipes"].append(second_product())
    data["orders"][0]["lines"] = [
        {"product": "basil-custard", "quantity": "2 L"},
        {"product": "hazelnut-custard", "quantity": "3 L"},
    ]
    demand = explode(tiny_request(data))
    assert [(p.lot, p.consumer, round(p.quantity.value, 6)) for p in demand.pegs if p.lot == "C1"] == [
        ("C1", "B1", 2.2),
        ("C1", "H1", 3.2),
    ]
    assert {b.lot: b.allergens for b in demand.batches} == {
        "B1": ("milk",),
        "C1": ("milk",),
        "H1": ("hazelnut", "milk"),
    }


def test_explode_consumers_too_far_apart_for_one_ageing_get_a_batch_each() -> None:
    data = tiny_data()
    data["recipes"][0]["steps"][1]["stay"]["most"] = 1440
    _order(data, 4.8)
    other = {**data["orders"][0], "id": "SUN", "due": at(4, "11:00")}
    data["orders"].append(other)
    # 12 to 24 h of ageing: half of the 12 h between them bridges no day.
    assert _sizes(explode(tiny_request(data)), "C") == [5.0, 5.0]


def test_explode_without_the_machine_names_it_and_makes_nothing() -> None:
    data = tiny_data()
    data["equipment"] = [e for e in data["equipment"] if e["kind"] != "hob"]
    demand = explode(tiny_request(data))
    assert (demand.batches, demand.specs) == ((), ())
    assert [(u.order, u.reason) for u in demand.unmet] == [
        ("SAT-STALL", "Custard base: there is no hob for 'Cook the custard base'")
    ]


def test_explode_again_changes_nothing() -> None:
    request = tiny_request()
    plan = make_plan(request, effort="repair", seconds=1).plan
    again = explode(request.model_copy(update={"previous": plan}))
    first = explode(request)
    assert (again.batches, again.pegs, again.specs) == (first.batches, first.pegs, first.specs)


def _replanned(**told: Any) -> Demand:
    request = tiny_request()
    plan = make_plan(request, effort="repair", seconds=1).plan
    return explode(request.model_copy(update={"previous": plan} | told))


def test_explode_lost_base_is_made_again_under_the_next_number() -> None:
    cooked = Actual(task="C1.cook", status="done", start=START, end=at(0, "06:40"), equipment="hob-1")
    demand = _replanned(lost_lots=("C1",), actuals=(cooked,), now=at(0, "07:00"))
    assert _pegs(demand) == [("B1", "SAT-STALL", 4.0), ("C2", "B1", 4.2)]
    # What happened to the lost one stays on record, what was still to come does not.
    assert [spec.id for spec in demand.specs if spec.lot == "C1"] == ["C1.cook"]


def test_explode_new_order_uses_what_is_over_before_it_makes_more() -> None:
    data = tiny_data()
    _order(data, 1.0)
    request = tiny_request(data)
    plan = make_plan(request, effort="repair", seconds=1).plan
    data["orders"].append({**data["orders"][0], "id": "SUN", "due": at(4, "11:00")})
    demand = explode(PlanRequest(kitchen=tiny_request(data).kitchen, now=START, previous=plan))
    assert _pegs(demand) == [("B1", "SAT-STALL", 1.0), ("C1", "B1", 2.2), ("B1", "SUN", 1.0)]


def test_explode_cancelled_order_drops_what_nobody_has_begun() -> None:
    request = tiny_request()
    plan = make_plan(request, effort="repair", seconds=1).plan
    kitchen = request.kitchen.model_copy(update={"orders": ()})
    demand = explode(PlanRequest(kitchen=kitchen, now=START, previous=plan))
    assert (demand.batches, demand.pegs, demand.specs) == ((), (), ())


def test_explode_number_of_a_batch_that_left_the_plan_is_not_used_again() -> None:
    request = tiny_request()
    plan = make_plan(request, effort="repair", seconds=1).plan
    assert plan is not None
    given_up = plan.model_copy(
        update={"batches": tuple(b for b in plan.batches if b.lot != "C1"), "pegs": plan.pegs[:1]}
    )
    cooked = Actual(task="C1.cook", status="done", start=START, end=at(0, "06:40"), equipment="hob-1")
    told = {"previous": given_up, "actuals": (cooked,), "now": at(0, "07:00")}
    assert _pegs(explode(request.model_copy(update=told))) == [("B1", "SAT-STALL", 4.0), ("C2", "B1", 4.2)]


def test_explode_order_that_is_being_handed_over_asks_for_nothing_more() -> None:
    begun = Actual(task="SAT-STALL.B.hand-over", status="in hand", start=START, end=at(0, "07:00"), equipment=None)
    demand = _replanned(lost_lots=("B1",), actuals=(begun,), now=at(0, "06:30"))
    assert [batch.lot for batch in demand.batches if batch.lot == "B2"] == []
