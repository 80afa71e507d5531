"""Changes: each is carried out on a request, says itself in words, and is refused where it names what is not there."""

import pytest

from orchestrator.core.changes import apply
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.models import Break, Plan, PlanRequest, Shift, Stop
from orchestrator.core.models.change import CHANGES, Change
from orchestrator.planner.plan import make_plan
from tests.fakes.tiny import at, tiny_request


@pytest.fixture(scope="module")
def request_with_plan() -> PlanRequest:
    request = tiny_request()
    plan = make_plan(request, effort="repair", seconds=1).plan
    assert plan is not None
    return request.model_copy(update={"previous": plan})


def change(kind: str, **told: object) -> Change:
    return CHANGES.validate_python({"change": kind, **told})


def applied(request: PlanRequest, kind: str, **told: object) -> PlanRequest:
    after = apply(request, [change(kind, **told)])
    assert isinstance(after, PlanRequest)
    return after


def refused(request: PlanRequest, kind: str, **told: object) -> Refusal:
    after = apply(request, [change(kind, **told)])
    assert isinstance(after, Refusal)
    return after


PARTY = {
    "id": "FRI-PARTY",
    "customer": "Birthday",
    "due": at(2, "15:00"),
    "lines": [{"product": "basil-custard", "quantity": "2 L"}],
}


def test_add_order_is_asked_for_beside_the_others(request_with_plan: PlanRequest) -> None:
    after = applied(request_with_plan, "add order", order=PARTY)
    assert [order.id for order in after.kitchen.orders] == ["SAT-STALL", "FRI-PARTY"]


def test_add_order_of_a_known_name_or_an_unknown_product_is_refused(request_with_plan: PlanRequest) -> None:
    twice = refused(request_with_plan, "add order", order={**PARTY, "id": "SAT-STALL"})
    assert (twice.thing, twice.remedy) == ("SAT-STALL", "another name")
    wrong = {**PARTY, "lines": [{"product": "basil-custrad", "quantity": "2 L"}]}
    misspelt = refused(request_with_plan, "add order", order=wrong)
    assert (misspelt.code, misspelt.remedy) == (RefusalCode.UNKNOWN, "did you mean basil-custard?")
    weighed = {**PARTY, "lines": [{"product": "basil-custard", "quantity": "2 kg"}]}
    counted = refused(request_with_plan, "add order", order=weighed)
    assert counted.remedy == "an amount in L"


def test_change_order_keeps_what_is_left_out(request_with_plan: PlanRequest) -> None:
    after = applied(request_with_plan, "change order", order="SAT-STALL", due=at(3, "12:00"), weight=4)
    order = after.kitchen.orders[0]
    assert (order.due, order.weight, order.lines) == (at(3, "12:00"), 4, request_with_plan.kitchen.orders[0].lines)


def test_planned_days_follow_an_order_that_is_due_later_up_to_a_limit(request_with_plan: PlanRequest) -> None:
    before = request_with_plan.kitchen
    after = applied(request_with_plan, "add order", order={**PARTY, "due": at(8, "12:00")})
    # Wednesday 06:00 to Thursday of the week after, 12:00: eight days and six hours.
    assert (before.horizon_days, after.kitchen.horizon_days) == (5, 9)
    assert after.kitchen.planned_until >= at(8, "12:00")
    assert applied(request_with_plan, "change order", order="SAT-STALL", due=at(6, "9:00")).kitchen.horizon_days == 7
    told = refused(request_with_plan, "add order", order={**PARTY, "due": at(28, "06:01")})
    assert told.remedy == "after Wed 25 Nov 06:00, by Wed 23 Dec 06:00"


def test_change_order_to_a_time_that_is_past_is_refused(request_with_plan: PlanRequest) -> None:
    told = refused(request_with_plan, "change order", order="SAT-STALL", due=at(-1, "12:00"))
    assert told.remedy == "after Wed 25 Nov 06:00, by Wed 23 Dec 06:00"


def test_change_of_a_late_order_leaves_its_hand_over_alone(request_with_plan: PlanRequest) -> None:
    late = request_with_plan.model_copy(update={"now": at(3, "12:00")})
    assert applied(late, "change order", order="SAT-STALL", weight=4).kitchen.orders[0].weight == 4
    assert refused(late, "change order", order="SAT-STALL", due=at(3, "11:30")).thing == "SAT-STALL"


def test_absence_cuts_a_shift_in_two_and_keeps_its_breaks(request_with_plan: PlanRequest) -> None:
    away = {"crew": "early-cook", "start": at(0, "09:00"), "end": at(0, "10:00")}
    parts = applied(request_with_plan, "absent", **away).kitchen.crew[0].shifts[:2]
    assert [(s.start, s.end, len(s.breaks)) for s in parts] == [
        (at(0, "06:00"), at(0, "09:00"), 0),
        (at(0, "10:00"), at(0, "14:00"), 1),
    ]
    whole = applied(request_with_plan, "absent", crew="early-cook", start=at(0, "00:00"), end=at(1, "00:00"))
    assert [s.start for s in whole.kitchen.crew[0].shifts] == [at(day, "06:00") for day in (1, 2, 3, 4)]


def test_absence_within_a_break_shortens_it(request_with_plan: PlanRequest) -> None:
    pause = request_with_plan.kitchen.crew[0].shifts[0].breaks[0]
    middle = pause.start + (pause.end - pause.start) / 2
    after = applied(request_with_plan, "absent", crew="early-cook", start=middle, end=at(0, "23:00"))
    left = after.kitchen.crew[0].shifts[0]
    assert (left.end, left.breaks) == (middle, (Break(start=pause.start, end=middle),))


def test_absence_outside_every_shift_or_of_a_stranger_is_refused(request_with_plan: PlanRequest) -> None:
    night = {"start": at(0, "20:00"), "end": at(0, "22:00")}
    assert refused(request_with_plan, "absent", crew="early-cook", **night).status == "has no shift then"
    assert refused(request_with_plan, "absent", crew="erly-cook", **night).remedy == "did you mean early-cook?"


def test_drop_order_leaves_it_out_and_an_unknown_one_is_refused(request_with_plan: PlanRequest) -> None:
    assert applied(request_with_plan, "drop order", order="SAT-STALL").kitchen.orders == ()
    assert refused(request_with_plan, "drop order", order="SUN-STALL").status == "there is no order of that name"


def test_smaller_batch_plans_anew_what_nobody_has_begun(request_with_plan: PlanRequest) -> None:
    after = applied(request_with_plan, "smaller batch", order="SAT-STALL", product="basil-custard", quantity="2 L")
    plan = make_plan(after, effort="repair", seconds=1).plan
    assert plan is not None
    assert [(b.recipe, b.size.value) for b in plan.batches if b.recipe == "basil-custard"] == [("basil-custard", 2.0)]


def test_smaller_batch_that_is_not_smaller_is_refused(request_with_plan: PlanRequest) -> None:
    told = refused(request_with_plan, "smaller batch", order="SAT-STALL", product="basil-custard", quantity="6 L")
    assert told.status == "SAT-STALL wants 4 L of basil-custard"


def test_extra_shift_that_adjoins_another_becomes_one_with_it(request_with_plan: PlanRequest) -> None:
    after = applied(request_with_plan, "extra shift", crew="early-cook", start=at(0, "14:00"), end=at(0, "16:00"))
    shift = after.kitchen.crew[0].shifts[0]
    assert (shift.start, shift.end, len(shift.breaks)) == (at(0, "06:00"), at(0, "16:00"), 1)


def test_extra_shift_apart_from_the_others_stands_alone(request_with_plan: PlanRequest) -> None:
    after = applied(request_with_plan, "extra shift", crew="early-cook", start=at(0, "18:00"), end=at(0, "20:00"))
    assert after.kitchen.crew[0].shifts[1] == Shift(start=at(0, "18:00"), end=at(0, "20:00"))


def test_start_earlier_moves_the_next_shift_only(request_with_plan: PlanRequest) -> None:
    after = applied(request_with_plan, "start earlier", crew="early-cook", start=at(1, "04:30"))
    starts = [shift.start for shift in after.kitchen.crew[0].shifts]
    assert starts == [at(0, "06:00"), at(1, "04:30"), at(2, "06:00"), at(3, "06:00"), at(4, "06:00")]


def test_start_earlier_within_a_shift_is_refused(request_with_plan: PlanRequest) -> None:
    assert refused(request_with_plan, "start earlier", crew="early-cook", start=at(1, "09:00")).thing == "early-cook"


def test_machine_stopped_and_back_add_and_shorten_a_stop(request_with_plan: PlanRequest) -> None:
    after = applied(request_with_plan, "machine stopped", equipment="churn", start=at(0, "06:00"), end=at(0, "12:00"))
    assert after.stops == (Stop(equipment="churn", start=at(0, "06:00"), end=at(0, "12:00")),)
    back = applied(after, "machine back", equipment="churn", at=at(0, "09:00"))
    assert back.stops == (Stop(equipment="churn", start=at(0, "06:00"), end=at(0, "09:00")),)
    assert refused(request_with_plan, "machine back", equipment="churn", at=at(0, "09:00")).status == "is not stopped"


def test_machine_stopped_unknown_or_backwards_is_refused(request_with_plan: PlanRequest) -> None:
    span = {"start": at(0, "06:00"), "end": at(0, "12:00")}
    told = refused(request_with_plan, "machine stopped", equipment="chrun", **span)
    assert told.remedy == "did you mean churn?"
    back = {"start": at(0, "12:00"), "end": at(0, "06:00")}
    assert (
        refused(request_with_plan, "machine stopped", equipment="churn", **back).status == "would end before it begins"
    )


def test_stock_lot_serves_an_order_without_a_batch(request_with_plan: PlanRequest) -> None:
    lot = {"lot": "B90", "recipe": "basil-custard", "quantity": "4 L", "made": at(-1, "12:00"), "place": "freezer"}
    alone = request_with_plan.model_copy(update={"previous": None})
    plan = make_plan(applied(alone, "stock lot", lot=lot), effort="repair", seconds=1).plan
    assert plan is not None
    assert [(peg.lot, peg.order) for peg in plan.pegs] == [("B90", "SAT-STALL")]


def test_hold_and_free_mark_the_task_of_the_present_plan(request_with_plan: PlanRequest) -> None:
    after = applied(request_with_plan, "hold task", task="B1.churn")
    assert isinstance(after.previous, Plan)
    assert [task.id for task in after.previous.tasks if task.held_in_place] == ["B1.churn"]
    freed = applied(after, "free task", task="B1.churn")
    assert freed.previous == request_with_plan.previous
    assert refused(request_with_plan, "hold task", task="C1.age.B1").remedy == "work that has not begun"


def test_allow_break_lets_a_quality_window_be_missed_and_the_plan_names_it(request_with_plan: PlanRequest) -> None:
    named = {"task": "B1.churn", "after": "C1.age.B1", "side": "too early", "minutes": 330}
    sooner = {"order": "SAT-STALL", "due": at(1, "10:00")}
    late = applied(request_with_plan, "change order", **sooner)
    assert [o.late_min > 0 for o in _plan(late).outlooks] == [True]
    open_ = apply(request_with_plan, [change("change order", **sooner), change("allow break", **named)])
    assert isinstance(open_, PlanRequest)
    plan = _plan(open_, seconds=4.0)
    assert [(b.task, b.after, b.side) for b in plan.breaks] == [("B1.churn", "C1.age.B1", "too early")]
    assert 0 < plan.breaks[0].minutes <= 330


def test_allow_break_of_a_safety_window_or_of_strangers_is_refused(request_with_plan: PlanRequest) -> None:
    told = refused(request_with_plan, "allow break", task="B1.churn", after="C1.cook", side="too late", minutes=5)
    assert told.status == "does not follow that task"


def test_apply_stops_at_the_first_refusal(request_with_plan: PlanRequest) -> None:
    told = apply(request_with_plan, [change("drop order", order="NONE"), change("drop order", order="SAT-STALL")])
    assert isinstance(told, Refusal)
    assert told.thing == "NONE"


def _plan(request: PlanRequest, seconds: float = 1.0) -> Plan:
    effort = "full" if seconds > 1 else "repair"
    plan = make_plan(request, effort=effort, seconds=seconds, deterministic=True).plan  # type: ignore[arg-type]
    assert plan is not None
    return plan


@pytest.mark.parametrize(
    ("kind", "told", "says"),
    [
        ("add order", {"order": PARTY}, "FRI-PARTY more: 2 L Basil custard for Birthday, due Fri 27 Nov 15:00"),
        ("change order", {"order": "SAT-STALL", "due": at(3, "12:00")}, "SAT-STALL: due Sat 28 Nov 12:00"),
        ("drop order", {"order": "SAT-STALL"}, "without SAT-STALL"),
        (
            "smaller batch",
            {"order": "SAT-STALL", "product": "basil-custard", "quantity": "2 L"},
            "2 L Basil custard for SAT-STALL instead of 4 L",
        ),
        (
            "extra shift",
            {"crew": "early-cook", "start": at(0, "18:00"), "end": at(0, "20:00")},
            "Early cook also from Wed 25 Nov 18:00 to 20:00",
        ),
        (
            "start earlier",
            {"crew": "early-cook", "start": at(1, "04:30")},
            "Early cook begins Thu 26 Nov 04:30 instead of 06:00",
        ),
        (
            "absent",
            {"crew": "early-cook", "start": at(0, "09:00"), "end": at(0, "10:00")},
            "Early cook away from Wed 25 Nov 09:00 to 10:00",
        ),
        (
            "machine stopped",
            {"equipment": "churn", "start": at(0, "18:00"), "end": at(1, "07:00")},
            "Churn stopped from Wed 25 Nov 18:00 to Thu 26 Nov 07:00",
        ),
        ("machine back", {"equipment": "churn", "at": at(0, "09:00")}, "Churn back Wed 25 Nov 09:00"),
        ("hold task", {"task": "B1.churn"}, "B1.churn held in place"),
        ("free task", {"task": "B1.churn"}, "B1.churn may move"),
        (
            "allow break",
            {"task": "B1.churn", "after": "C1.age.B1", "side": "too early", "minutes": 60},
            "B1.churn up to 60 min too early after C1.age.B1: a quality break, named openly",
        ),
        (
            "stock lot",
            {"lot": {"lot": "B90", "recipe": "basil-custard", "quantity": "4 L", "made": at(-1, "12:00")}},
            "4 L Basil custard more on hand (B90)",
        ),
    ],
)
def test_change_says_itself_in_words(
    request_with_plan: PlanRequest, kind: str, told: dict[str, object], says: str
) -> None:
    assert change(kind, **told).says(request_with_plan.kitchen) == says


def test_supply_that_is_there_is_waited_for_no_more_and_others_are() -> None:
    first = tiny_request()
    known = sorted({t.ingredient for r in first.kitchen.recipes for s in r.steps for t in s.takes if t.ingredient})
    request = first
    for name in known[:2]:
        request = applied(request, "supply moved", ingredient=name, ready=at(2, "10:00"))
    assert [supply.ingredient for supply in request.kitchen.supplies] == known[:2]
    after = applied(request, "supply there", ingredient=known[0])
    assert [supply.ingredient for supply in after.kitchen.supplies] == known[1:2]
    assert refused(request, "supply there", ingredient="oysters").code is RefusalCode.UNKNOWN


def test_swapped_ingredient_brings_its_allergens_into_recipes_and_into_what_is_planned(
    request_with_plan: PlanRequest,
) -> None:
    name = next(
        t.ingredient for r in request_with_plan.kitchen.recipes for s in r.steps for t in s.takes if t.ingredient
    )
    after = applied(request_with_plan, "swap ingredient", ingredient=name, by="soy drink", allergens=["soy"])
    taking = [r for r in after.kitchen.recipes if any(t.ingredient == "soy drink" for s in r.steps for t in s.takes)]
    before = {r.id: r for r in request_with_plan.kitchen.recipes}
    assert taking
    assert [recipe.revision for recipe in taking] == [before[recipe.id].revision + 1 for recipe in taking]
    assert all(t.ingredient != name for r in after.kitchen.recipes for s in r.steps for t in s.takes)
    assert after.previous is not None
    assert request_with_plan.previous is not None
    made = {batch.lot for batch in after.previous.batches if batch.recipe in {recipe.id for recipe in taking}}
    fed = made | {peg.batch for peg in after.previous.pegs if peg.lot in made and peg.batch is not None}
    old = {batch.lot: set(batch.allergens) for batch in request_with_plan.previous.batches}
    assert made
    assert {b.lot: set(b.allergens) for b in after.previous.batches} == {
        lot: has | ({"soy"} if lot in fed else set()) for lot, has in old.items()
    }
    assert refused(request_with_plan, "swap ingredient", ingredient="oysters", by="x").code is RefusalCode.UNKNOWN
