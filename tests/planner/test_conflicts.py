"""What stands against an order: sets found by hand, and each proved irreducible by plans made with and without it."""

from datetime import datetime
from typing import Any

import pytest

from orchestrator.core.ids import OrderId
from orchestrator.core.models import PlanRequest, Stop
from orchestrator.core.models.remedy import Conflict
from orchestrator.planner.conflicts import conflict
from orchestrator.planner.patience import Patience
from orchestrator.planner.plan import make_plan
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.relaxations import relaxations
from orchestrator.planner.trouble import FINE, standings, troubled
from tests.fakes.tiny import at, second_product, shifts, tiny_data, tiny_request
from tests.planner.planned import planned

STALL = OrderId("SAT-STALL")


def found(request: PlanRequest, order: OrderId = STALL) -> Conflict:
    plan = planned(request)
    assert order in troubled(plan, request)
    return conflict(request.model_copy(update={"previous": plan}), plan, order, seconds=60)


def parts(told: Conflict) -> set[tuple[str, str]]:
    return {(part.kind.value, part.thing) for part in told.parts}


def due(day: int, clock: str) -> dict[str, Any]:
    data = tiny_data()
    data["orders"][0]["due"] = at(day, clock)
    return data


def with_only(request: PlanRequest, order: OrderId, kept: set[tuple[str, str]]) -> PlanRequest:
    """The request with only these things in force, of all that could be in the way."""
    for relaxation in relaxations(request, order):
        if (relaxation.part.kind.value, relaxation.part.thing) not in kept:
            request = relaxation.without(request)
    return request


def prove_irreducible(request: PlanRequest, told: Conflict) -> None:
    """With all parts in force a whole search finds no plan that serves the order; without any one of them, it does."""
    kept = parts(told)
    assert kept
    assert not _served(with_only(request, told.order, kept), told.order)
    for part in kept:
        assert _served(with_only(request, told.order, kept - {part}), told.order), part


def _served(request: PlanRequest, order: OrderId) -> bool:
    plan = make_plan(request, effort="full", seconds=2, deterministic=True).plan
    assert plan is not None
    wanted = {o.id for o in request.kitchen.orders}
    return all(standing == FINE for name, standing in standings(plan).items() if name in wanted)


def test_conflict_of_two_orders_on_one_churn_names_the_other_order_and_the_churn() -> None:
    """By hand: cooked 06:40, run to 07:00, rinsed to 07:10, the other run to 07:30, ready 07:40: too late for 07:35."""
    data = due(0, "07:35")
    data["crew"][1]["shifts"] = shifts("06:00", "14:00")
    data["recipes"][0]["steps"][1]["stay"]["least"] = 0
    data["recipes"].append(second_product())
    for recipe in data["recipes"][1:]:
        recipe["steps"][1]["stay"]["least"] = 0
    line = {"product": "hazelnut-custard", "quantity": "4 L"}
    data["orders"].append({**data["orders"][0], "id": "SAT-CAFE", "customer": "Café", "lines": [line]})
    data["orders"][0]["weight"] = 5
    request = tiny_request(data)
    told = found(request, OrderId("SAT-CAFE"))
    assert parts(told) == {("order", "SAT-STALL"), ("machine", "churn")}
    assert told.irreducible
    assert told.says == (
        "SAT-CAFE cannot be ready by Wed 25 Nov 07:35 together with SAT-STALL: "
        "the Churn takes one run at a time, 5 L, cleaned between"
    )
    prove_irreducible(request, told)


def test_conflict_of_windows_and_shifts_names_the_two_days_and_the_two_windows() -> None:
    """By hand: cooked Wed 06:40, aged to 18:40 when nobody is there; Thu 06:00 run, hardened to 10:20: too late."""
    request = tiny_request(due(1, "10:00"))
    told = found(request)
    assert parts(told) == {
        ("shift", "early-cook 2026-11-25"),
        ("shift", "early-cook 2026-11-26"),
        ("window", "custard-base.age"),
        ("window", "basil-custard.freeze"),
    }
    assert told.irreducible
    prove_irreducible(request, told)


def test_conflict_with_a_stopped_machine_names_the_stop() -> None:
    stop = Stop(equipment="churn", start=at(0, "06:00"), end=at(3, "09:00"))
    request = tiny_request(stops=(stop,))
    told = found(request)
    assert ("stop", "churn") in parts(told)
    assert "the Churn is stopped until Sat 28 Nov 09:00" in told.says
    prove_irreducible(request, told)


def test_conflict_of_an_order_that_no_kitchen_could_meet_says_that_time_is_too_short() -> None:
    request = tiny_request(due(0, "06:50"))
    told = found(request)
    assert (told.parts, told.irreducible) == ((), False)
    assert told.says.endswith("even alone, with every machine, person and window free: time itself is too short")


def test_conflict_without_time_claims_nothing() -> None:
    request = tiny_request(due(1, "10:00"))
    plan = planned(request)
    told = conflict(request.model_copy(update={"previous": plan}), plan, STALL, seconds=0)
    assert (told.irreducible, told.tried, told.parts) == (False, 0, ())
    assert told.says == "not all could be tried in time"


@pytest.mark.parametrize("questions", [1, 3, 5, 8, 11, 14])
def test_conflict_cut_short_names_the_smallest_set_so_far_and_says_that_it_may_be_smaller(questions: int) -> None:
    request = tiny_request(due(1, "10:00"))
    plan = planned(request)
    heard: list[tuple[int, int]] = []
    told = conflict(
        request.model_copy(update={"previous": plan}),
        plan,
        STALL,
        seconds=60,
        stop=lambda: len(heard) >= questions,
        told=lambda tried, left: heard.append((tried, left)),
    )
    assert (told.irreducible, told.smallest) == (False, False)
    assert told.tried == len(heard) == questions
    assert [tried for tried, _ in heard] == list(range(1, questions + 1))
    left = [left for _, left in heard]
    assert left == sorted(left, reverse=True)
    if told.parts:
        assert len(told.parts) == left[-1]
        # Whatever is named so far is too much together, as a whole search says too.
        assert not _served(with_only(request, STALL, parts(told)), STALL)
        assert told.says.startswith("not all could be tried in time; what stands in the way is among: ")
    else:
        assert told.says == f"not all could be tried in time; {left[-1]} things could still stand in the way"


def test_conflict_of_one_thing_is_the_smallest_there_is() -> None:
    stop = Stop(equipment="churn", start=at(0, "06:00"), end=at(3, "11:30"))
    told = found(tiny_request(stops=(stop,)))
    assert parts(told) == {("stop", "churn")}
    assert (told.irreducible, told.smallest) == (True, True)


def test_conflict_of_two_things_is_the_smallest_where_none_alone_is_in_the_way() -> None:
    """Back at 09:00, the churn leaves two hours; four of hardening are too long, and neither is without the other."""
    stop = Stop(equipment="churn", start=at(0, "06:00"), end=at(3, "09:00"))
    request = tiny_request(stops=(stop,))
    told = found(request)
    assert parts(told) == {("stop", "churn"), ("window", "basil-custard.freeze")}
    assert (told.irreducible, told.smallest) == (True, True)


def test_conflict_of_four_things_is_irreducible_but_not_known_to_be_the_smallest() -> None:
    told = found(tiny_request(due(1, "10:00")))
    assert (len(told.parts), told.irreducible, told.smallest) == (4, True, False)


def test_relaxations_of_an_order_name_each_thing_once() -> None:
    request = tiny_request()
    named = [(r.part.kind, r.part.thing) for r in relaxations(request, STALL)]
    assert len(named) == len(set(named))
    assert {thing for kind, thing in named if kind == "machine"} == {"hob-1", "churn", "fridge", "freezer"}


@pytest.mark.parametrize("clock", [at(1, "10:00"), at(1, "09:00")])
def test_conflict_wants_are_told_in_words(clock: datetime) -> None:
    data = tiny_data()
    data["orders"][0]["due"] = clock
    request = tiny_request(data)
    late = planned(request).outlooks[0].late_min
    assert found(request).wants == f"SAT-STALL is {late} min late"


def test_conflict_looks_at_its_time_before_each_plan_of_a_trial(monkeypatch: pytest.MonkeyPatch) -> None:
    request = tiny_request(due(2, "11:00"))
    plan = planned(request)
    now, made = [0.0], list[str]()

    def nothing_in_ten_seconds(problem: Problem, _net: object, rule: str, *, patience: Patience) -> Schedule:
        assert not patience.over
        now[0] += 10
        made.append(rule)
        return Schedule(tuple(None for _ in problem.jobs))

    monkeypatch.setattr("orchestrator.planner.conflicts.generate", nothing_in_ten_seconds)
    monkeypatch.setattr("orchestrator.planner.conflicts.time.perf_counter", lambda: now[0])
    told = conflict(request.model_copy(update={"previous": plan}), plan, STALL, seconds=15)
    # Six rules would be tried before the first question is answered; time is up after two.
    assert (len(made), told.irreducible) == (2, False)
    assert told.says.startswith("not all could be tried in time")
