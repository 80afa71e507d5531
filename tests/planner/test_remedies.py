"""Remedies: found by hand, ranked by cost, and each one planned and checked again here."""

import time
from collections.abc import Callable

import pytest

from orchestrator.core.changes import apply
from orchestrator.core.check import check
from orchestrator.core.models import PlanAnswer, PlanRequest
from orchestrator.core.models.change import AllowBreak, ChangeOrder, SmallerBatch
from orchestrator.core.models.change_crew import ExtraShift, StartEarlier
from orchestrator.core.models.questions import HelpProgress, RemediesAnswer, RemediesQuestion
from orchestrator.core.models.remedy import Remedy, RemedyKind
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.planner.answers import answer
from orchestrator.planner.plan import make_plan
from orchestrator.planner.remedies import remedies
from orchestrator.planner.remedy_costs import cost
from orchestrator.planner.trouble import FINE, standings
from tests.fakes.tiny import at, tiny_data, tiny_kitchen, tiny_request
from tests.planner.planned import planned


def late_request() -> PlanRequest:
    """Due Thu 10:00, ready at 10:30 at best: aged over night, run at 06:00, hardened to 10:20, handed over."""
    data = tiny_data()
    data["orders"][0]["due"] = at(1, "10:00")
    return tiny_request(data)


def asked(request: PlanRequest, seconds: float = 60.0) -> RemediesAnswer:
    return remedies(RemediesQuestion(request=request, plan=planned(request), seconds=seconds), lambda: False)


def serves(request: PlanRequest, remedy: Remedy) -> bool:
    """Whether a plan made anew with the remedy keeps every rule and serves the order well."""
    changed = apply(request.model_copy(update={"previous": planned(request)}), remedy.changes)
    assert isinstance(changed, PlanRequest)
    plan = make_plan(changed, effort="full", seconds=3, deterministic=True).plan
    assert plan is not None
    assert check(plan, changed) == ()
    allowed = frozenset((str(c.task), str(c.after)) for c in remedy.changes if isinstance(c, AllowBreak))
    return standings(plan, allowed)[remedy.order] == FINE


def test_remedies_of_a_late_order_are_three_of_different_kinds_the_cheapest_first() -> None:
    """By hand: half an hour of sleep (45), a hand-over at 10:30 (60), half an hour less of hardening (90)."""
    told = asked(late_request())
    assert [(r.kind, r.cost) for r in told.remedies] == [
        (RemedyKind.EARLIER, 45),
        (RemedyKind.LATER, 60),
        (RemedyKind.BREAK, 90),
    ]
    assert told.remedies[0].changes == (StartEarlier(crew="early-cook", start=at(1, "05:30")),)  # type: ignore[arg-type]
    assert told.remedies[0].says == "Early cook begins Thu 26 Nov 05:30 instead of 06:00"
    assert told.remedies[1].changes == (ChangeOrder(order="SAT-STALL", due=at(1, "10:30")),)  # type: ignore[arg-type]
    assert "B1.hold" not in told.remedies[2].says
    assert "30 min too early" in told.remedies[2].says


def test_every_remedy_is_a_plan_that_keeps_the_rules_and_serves_the_order() -> None:
    request = late_request()
    told = asked(request)
    assert len(told.remedies) == 3
    for remedy in told.remedies:
        assert serves(request, remedy)
        assert [(o.order, o.met, o.late_min) for o in remedy.outlooks] == [("SAT-STALL", True, 0)]
        assert remedy.gives.startswith("SAT-STALL is ready Thu 26 Nov ")


def test_remedies_of_an_order_that_is_too_large_offer_less_of_it() -> None:
    """By hand: two runs of the churn from Thu 06:00, the second hardened to 10:40; one run is ready by 10:30."""
    data = tiny_data()
    for recipe in data["recipes"]:
        recipe["steps"][1]["stay"]["window"] = "safety"  # nothing may be broken here
    data["orders"][0]["due"] = at(1, "10:30")
    data["orders"][0]["lines"][0]["quantity"] = "8 L"
    told = asked(tiny_request(data))
    smaller = [r for r in told.remedies if r.kind is RemedyKind.SMALLER]
    assert len(smaller) == 1
    assert serves(tiny_request(data), smaller[0])


def test_short_delivery_offers_as_much_of_the_order_as_it_is_enough_for() -> None:
    """By hand: 4 L of custard take 4.2 L of base (0.2 L stay in the churn), 4.2 / 8 of 5 L of milk: 2.625 L. 2 L are
    here, the rest comes after the order is due. 2 L of milk make 3.2 L of base, 3 L of custard."""
    data = tiny_data()
    rest = {"ingredient": "milk", "ready": at(3, "12:30"), "on_hand": "2 L", "counted_at": at(0, "06:00")}
    data["supplies"] = [rest]
    request = tiny_request(data)
    told = asked(request)
    smaller = [r for r in told.remedies if r.kind is RemedyKind.SMALLER]
    assert len(smaller) == 1
    assert serves(request, smaller[0])
    (change,) = smaller[0].changes
    assert isinstance(change, SmallerBatch)
    # The first step at which what stays in the churn is allowed for.
    assert 2.8 <= change.quantity.value <= 3.0


def test_remedies_harm_no_other_order() -> None:
    """A second order that is on time stays so, whatever is offered to the first."""
    data = tiny_data()
    data["orders"][0]["due"] = at(1, "10:00")
    data["orders"].append({**data["orders"][0], "id": "FRI-CAFE", "customer": "Café", "due": at(2, "12:00")})
    offered = asked(tiny_request(data)).remedies
    assert len(offered) == 3
    for remedy in offered:
        assert {o.order: (o.met, o.late_min) for o in remedy.outlooks}["FRI-CAFE"] == (True, 0)


def test_search_tells_what_it_has_tried_and_what_is_left() -> None:
    heard: list[HelpProgress] = []
    request = late_request()
    question = RemediesQuestion(request=request, plan=planned(request), seconds=60.0)
    told = remedies(question, lambda: False, heard.append)

    assert {(one.order, one.turn, one.of) for one in heard} == {("SAT-STALL", 1, 1)}
    stages = [one.doing for one in heard]
    turning = stages.index("remedies")
    assert set(stages[:turning]) == {"conflict"}
    assert set(stages[turning:]) == {"remedies"}
    assert [one.tried for one in heard[1:turning]] == list(range(1, turning))
    assert told.conflicts[0].tried == turning - 1
    ways = heard[turning:]
    assert [(one.tried, one.left) for one in ways] == [(n, len(ways) - n) for n in range(len(ways))]


def test_quick_trial_ends_with_the_time_of_all_of_them(monkeypatch: pytest.MonkeyPatch) -> None:
    """However long one trial would take: it is told to end, and none is begun that there is no time left for."""
    begun: list[float] = []

    def slow(
        request: PlanRequest, *, effort: str, seconds: float, stop: Callable[[], bool], chances: bool
    ) -> PlanAnswer:
        begun.append(time.perf_counter())
        while not stop() and time.perf_counter() < begun[-1] + 20:
            time.sleep(0.01)
        return PlanAnswer(plan=None, violations=(), seconds=0.0)

    monkeypatch.setattr("orchestrator.planner.remedies.make_plan", slow)
    request, began = late_request(), time.perf_counter()
    question = RemediesQuestion(request=request, plan=planned(request), seconds=3.0)
    told = remedies(question, lambda: False)

    assert (told.remedies, told.complete, len(begun)) == ((), False, 1)
    assert time.perf_counter() - began < 20


def test_no_remedy_is_sought_where_every_order_stands_well() -> None:
    told = asked(tiny_request())
    assert (told.conflicts, told.remedies, told.complete) == ((), (), True)


def test_remedies_without_time_are_none_and_say_so() -> None:
    told = asked(late_request(), seconds=0.0)
    assert (told.remedies, told.complete) == ((), False)


def test_remedies_are_among_the_questions_that_the_planner_answers() -> None:
    request = tiny_request()
    told = answer(RemediesQuestion(request=request, plan=planned(request), seconds=1))
    assert isinstance(told, RemediesAnswer)
    assert (told.conflicts, told.remedies, told.complete) == ((), (), True)


def test_costs_by_hand() -> None:
    kitchen = tiny_kitchen()
    longer = ExtraShift(crew="early-cook", start=at(0, "14:00"), end=at(0, "15:00"))  # type: ignore[arg-type]
    called_in = ExtraShift(crew="early-cook", start=at(6, "06:00"), end=at(6, "07:00"))  # type: ignore[arg-type]
    sooner = StartEarlier(crew="early-cook", start=at(1, "05:00"))  # type: ignore[arg-type]
    later = ChangeOrder(order="SAT-STALL", due=at(3, "12:00"))  # type: ignore[arg-type]
    half = Quantity(value=2, unit=Unit.LITRE)
    less = SmallerBatch(order="SAT-STALL", product="basil-custard", quantity=half)  # type: ignore[arg-type]
    named = AllowBreak(task="B1.churn", after="C1.age.B1", side="too early", minutes=30)  # type: ignore[arg-type]
    costs = [cost(kitchen, (change,)) for change in (longer, called_in, sooner, later, less, named)]
    assert costs == [60, 120, 90, 90, 330, 90]
    assert cost(kitchen, (longer, named)) == 150
