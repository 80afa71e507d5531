"""Batches pooled or split where the plan is better for it: kitchens small enough to solve by hand."""

from datetime import timedelta
from pathlib import Path
from typing import Any, Final

from orchestrator.core.models import Actual, Plan, PlanRequest, Shift
from orchestrator.core.moves import moves_between
from tests.planner.by_hand import Data, hands, kitchen, machine, order, person, recipe, shift, step
from tests.planner.planned import planned

DAYS: Final = [shift(day) for day in range(4)]
ALL_DAY: Final = [shift(day, "06:00", "22:00") for day in range(4)]


def frozen(name: str, code: str, least: str = "1 L") -> Data:
    """Churned for an hour by a cook, hardened for four in the freezer, where it keeps for a month; handed over."""
    churn = step("churn", 60, process="churn", equipment="churn", load="4 L", **hands())
    keep = step("keep", process="harden", equipment="freezer", load="4 L", stay={"least": "4 h", "most": "30 d"})
    serve = step("hand-over", 10, process="hand over", station="bench", per="order", **hands(skill="serve"))
    return recipe(name, code, [churn, keep, serve], batch={"least": least, "most": "6 L"})


def three_orders(folder: Path, freezer: str, least: str = "1 L") -> PlanRequest:
    """3 L of jam by Thursday noon, 1 L by Friday noon; and 6 L of gel by Thursday 22:00."""
    machines = [
        machine("churn", "churn", capacity="6 L", least=least),
        machine("freezer", "freezer", capacity=freezer, shared=True, store=True),
    ]
    evening = shift(1, "15:00", "23:00")
    crew = [person("cook", "make serve clean", *DAYS), person("late", "make serve clean", evening)]
    orders = [
        order("1 12:00", ("jam", "3 L"), name="A"),
        order("2 12:00", ("jam", "1 L"), name="B"),
        order("1 22:00", ("gel", "6 L"), name="C"),
    ]
    return kitchen(folder, machines, [frozen("jam", "J", least), frozen("gel", "G", least)], orders, crew=crew, days=4)


def served(plan: Plan) -> dict[str, list[tuple[str, float]]]:
    """Of each lot, who takes how much."""
    found: dict[str, list[tuple[str, float]]] = {}
    for peg in plan.pegs:
        found.setdefault(peg.lot, []).append((peg.consumer, round(peg.quantity.value, 3)))
    return {lot: sorted(takers) for lot, takers in found.items()}


def late(plan: Plan) -> dict[str, int | None]:
    return {outlook.order: outlook.late_min if outlook.met else None for outlook in plan.outlooks}


def test_a_litre_that_would_lie_in_the_way_of_a_full_freezer_is_made_apart_afterwards(tmp_path: Path) -> None:
    # Together, the litre for Friday would stay in the freezer until then, and 6 L of gel find no room beside it.
    plan = planned(three_orders(tmp_path, "6 L"), "full")
    assert served(plan) == {"J1": [("A", 3.0)], "J2": [("B", 1.0)], "G1": [("C", 6.0)]}
    assert late(plan) == {"A": 0, "B": 0, "C": 0}


def test_with_room_for_both_one_batch_serves_both_orders(tmp_path: Path) -> None:
    # 7 L hold the gel and the litre: a second run would only cost an hour of somebody's hands.
    plan = planned(three_orders(tmp_path, "7 L"), "full")
    assert served(plan) == {"J1": [("A", 3.0), ("B", 1.0)], "G1": [("C", 6.0)]}
    assert late(plan) == {"A": 0, "B": 0, "C": 0}


def test_run_of_its_own_is_no_smaller_than_the_churn_takes(tmp_path: Path) -> None:
    # Below 2 L the churn draws air: the litre for Friday is made with another litre, which nobody waits for.
    plan = planned(three_orders(tmp_path, "6 L", least="2 L"), "full")
    assert served(plan) == {"J1": [("A", 3.0)], "J2": [("B", 1.0)], "G1": [("C", 6.0)]}
    assert {batch.lot: batch.size.value for batch in plan.batches} == {"J1": 3.0, "J2": 2.0, "G1": 6.0}
    assert late(plan) == {"A": 0, "B": 0, "C": 0}


def test_too_little_for_a_run_of_its_own_is_shared_out_evenly(tmp_path: Path) -> None:
    machines = [
        machine("churn", "churn", capacity="6 L", least="3 L"),
        machine("freezer", "freezer", capacity="20 L", shared=True, store=True),
    ]
    orders = [order("1 12:00", ("jam", "6 L"), name="A"), order("1 13:00", ("jam", "1 L"), name="B")]
    crew = [person("cook", "make serve clean", *DAYS)]
    plan = planned(
        kitchen(tmp_path, machines, [frozen("jam", "J", "3 L")], orders, crew=crew, days=4), "full", seconds=3
    )
    # 7 L are two runs of 3.5 L: 6 L and 1 L would be 6 L and 3 L, two of them for nobody.
    assert [batch.size.value for batch in plan.batches] == [3.5, 3.5]
    assert served(plan) == {"J1": [("A", 3.5)], "J2": [("A", 2.5), ("B", 1.0)]}


# Where a run costs too much time


def one_run(folder: Path, *orders: Data) -> PlanRequest:
    """Somebody who may churn is there on the first day for an hour and a half, long enough for one run."""
    machines = [
        machine("churn", "churn", capacity="6 L"),
        machine("freezer", "freezer", capacity="20 L", shared=True, store=True),
    ]
    crew = [person("cook", "make", shift(0, "08:00", "09:30")), person("clerk", "serve clean", *ALL_DAY)]
    return kitchen(folder, machines, [fresh("jam", "J")], list(orders), crew=crew, days=4)


def fresh(name: str, code: str) -> Data:
    """As `frozen`, but keeping for two days: by the rule of thumb a batch serves what is due within 22 hours."""
    made = frozen(name, code)
    made["steps"][1]["stay"] = {"least": "4 h", "most": "48 h"}
    return made


A: Final = order("0 18:00", ("jam", "3 L"), name="A")
B: Final = order("1 17:00", ("jam", "1 L"), name="B")


def test_orders_a_day_apart_share_the_only_run_that_there_can_be(tmp_path: Path) -> None:
    # 23 h lie between them. The run ends by 09:30; at 17:00 the day after, the food is 32 h old and keeps for 48.
    request = one_run(tmp_path, A, B)
    assert late(planned(request)) == {"A": 0, "B": None}
    plan = planned(request, "full")
    assert (served(plan), late(plan)) == ({"J1": [("A", 3.0), ("B", 1.0)]}, {"A": 0, "B": 0})


def with_b(request: PlanRequest, before: Plan, **told: Any) -> PlanRequest:
    """B comes in when there is a plan for A already."""
    return request.model_copy(update={"previous": before, **told})


def test_new_order_goes_into_a_batch_that_has_not_begun_and_keeps_its_code(tmp_path: Path) -> None:
    before = planned(one_run(tmp_path / "before", A), "full")
    plan = planned(with_b(one_run(tmp_path / "after", A, B), before), "full")
    assert (served(before), served(plan)) == ({"J1": [("A", 3.0)]}, {"J1": [("A", 3.0), ("B", 1.0)]})
    assert late(plan) == {"A": 0, "B": 0}


def test_batch_that_goes_into_another_says_so(tmp_path: Path) -> None:
    request = one_run(tmp_path, A, B)
    crew = tuple(
        member.model_copy(update={"shifts": tuple(replace_end(s) for s in member.shifts)})
        for member in request.kitchen.crew
    )
    longer = request.model_copy(update={"kitchen": request.kitchen.model_copy(update={"crew": crew})})
    before = planned(longer, "repair")
    assert served(before) == {"J1": [("A", 3.0)], "J2": [("B", 1.0)]}
    again = request.model_copy(update={"previous": before})
    plan = planned(again, "full")
    assert served(plan) == {"J1": [("A", 3.0), ("B", 1.0)]}
    reasons = {move.task: move.reason for move in moves_between(before, plan, again)}
    assert reasons["J2.churn"] == "what J2 was for is made in J1"


def replace_end(shift: Shift) -> Shift:
    return shift.model_copy(update={"end": shift.end + timedelta(hours=3)})


def test_batch_that_has_begun_stays_as_it_is(tmp_path: Path) -> None:
    before = planned(one_run(tmp_path / "before", A), "full")
    churn = before.task("J1.churn")
    now = churn.start + timedelta(minutes=5)
    begun = Actual(task=churn.id, status="in hand", start=churn.start, end=churn.end, equipment="churn", crew=("cook",))
    request = with_b(one_run(tmp_path / "after", A, B), before, now=now, actuals=(begun,))
    plan = planned(request, "full")
    assert (served(plan), late(plan)) == ({"J1": [("A", 3.0)]}, {"A": 0, "B": None})


def test_batch_held_in_place_stays_as_it_is(tmp_path: Path) -> None:
    before = planned(one_run(tmp_path / "before", A), "full")
    held = tuple(task.model_copy(update={"held_in_place": task.id == "J1.churn"}) for task in before.tasks)
    before = before.model_copy(update={"tasks": held})
    plan = planned(with_b(one_run(tmp_path / "after", A, B), before), "full")
    assert (served(plan), plan.let_go) == ({"J1": [("A", 3.0)]}, ())
