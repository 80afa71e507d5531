"""The date mark of lots: which day counts, what freezing does, whose day governs, and what follows when it is over.

FDA Food Code 2022, 3-501.17 (7 days, the day it was made being day 1; the ingredient prepared first governs) and its
Annex 3 on the same paragraph (freezing stops the count and does not begin it anew; from memory).
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from orchestrator.core.day_marks import lots_here, mark_of, next_day
from orchestrator.core.due import next_due
from orchestrator.core.errors import RefusalCode
from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.models import Kitchen, PlannedTask, TaskKind
from orchestrator.core.models.limit import Limit, LimitId, LimitUse
from orchestrator.core.state import State, TaskStatus
from orchestrator.core.views.lots import lot_views
from orchestrator.kitchen.shipped import shipped_limits
from tests.core.doubt_script import churned
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchens import at, small_kitchen

C1, B1 = LotCode("C1"), LotCode("B1")


def _kitchen(*, days: int | None = None) -> dict[str, object]:
    """The small kitchen, whose base ages by the shipped limit; with fewer days by a local code, where given."""
    kitchen: Kitchen = small_kitchen()
    recipes = tuple(
        recipe.model_copy(
            update={
                "steps": tuple(
                    step.model_copy(update={"limit": LimitUse(id=LimitId("ageing"))}) if step.id == "age" else step
                    for step in recipe.steps
                )
            }
        )
        for recipe in kitchen.recipes
    )
    limits = tuple(_local(limit, days) if limit.id == "date-marking" else limit for limit in shipped_limits().limits)
    return {"recipes": recipes, "limits": limits}


def _local(limit: Limit, days: int | None) -> Limit:
    if days is None:
        return limit
    rows = (limit.rows[0].model_copy(update={"days": days}),)
    return limit.model_copy(update={"rows": rows, "local_code": "Town of Example, Ordinance 12"})


def _aged(**more: object) -> Script:
    return with_base_aged(in_a_planned_kitchen(**_kitchen(**more)))  # type: ignore[arg-type]


def test_base_cooked_on_wednesday_is_in_its_first_day_then_and_may_be_used_to_the_end_of_tuesday() -> None:
    script = _aged()
    mark = mark_of(script.state, C1, script.now)
    assert mark is not None
    assert (mark.day, mark.days, mark.last, mark.oldest) == (1, 7, date(2026, 12, 1), C1)
    assert mark.verdict.applied == "FDA Food Code 2022, 3-501.17, 2022"
    later = [mark_of(script.state, C1, at(when)) for when in ("Thu 08:00", "Sun 08:00")]
    assert [one.day for one in later if one is not None] == [2, 5]


def test_product_counts_from_the_base_that_went_into_it_and_waits_in_the_freezer() -> None:
    script = churned(in_a_planned_kitchen(**_kitchen()))  # type: ignore[arg-type]
    mark = mark_of(script.state, B1, script.now)
    assert mark is not None
    assert (mark.oldest, mark.made.date(), mark.last) == (C1, date(2026, 11, 25), None)
    thursday = mark.day
    later = mark_of(script.state, B1, script.now + timedelta(days=20))
    assert later is not None
    assert (later.day, later.verdict.status, thursday) == (2, "met", 2)


def test_lot_of_nothing_that_is_kept_cold_has_no_mark() -> None:
    plain = with_base_aged(in_a_planned_kitchen(limits=shipped_limits().limits))
    assert mark_of(plain.state, C1, plain.now) is None


def test_no_mark_without_the_limit() -> None:
    assert mark_of(with_base_aged(in_a_planned_kitchen()).state, C1, at("Thu 08:00")) is None


def test_base_past_its_days_goes_on_hold_at_midnight_and_opens_a_deviation_with_the_text_that_applied() -> None:
    script = _aged(days=1)
    midnight = next_day(script.state, script.now)
    assert midnight == at("Thu 00:00")
    assert (next_due(script.state, at("Wed 23:59")) or at("Sun 08:00")) <= midnight
    script.give("Wed 23:59", "tick")
    assert not script.state.deviations
    events = script.give("Thu 00:00", "tick")
    assert [e.lot for e in events if isinstance(e, LotHeld)] == [C1]
    facts = next(iter(script.state.deviations.values())).facts
    assert (facts.cause, facts.safety) == ("past its days", True)
    assert (facts.limit, facts.applied) == ("Use within seven days", "Town of Example, Ordinance 12")
    assert facts.reason == "past its days: day 2 of 1 by Town of Example, Ordinance 12"


def test_step_that_takes_food_past_its_days_does_not_start_even_before_anybody_looked() -> None:
    script = _aged(days=1)
    refusal = script.refused("Thu 08:00", "start_task", task="B1.churn", person="early-cook", override_reason="hurry")
    assert refusal.code is RefusalCode.NOT_ALLOWED
    assert refusal.status == "lot C1 is past its days: day 2 of 1 by Town of Example, Ordinance 12"


def test_lot_released_by_a_named_code_after_its_days_is_not_held_again() -> None:
    script = _aged(days=1)
    script.give("Thu 00:00", "tick")
    script.released("Thu 07:00", "C1", "the authority allows it")
    assert [e for e in script.give("Thu 07:05", "tick") if isinstance(e, LotHeld)] == []
    script.give("Thu 09:00", "start_task", task="B1.churn", person="early-cook")


def test_only_what_is_there_is_looked_at_for_its_date() -> None:
    """The base ages; what is to be made of it, and the sorbet, have not begun."""
    script = _aged()
    assert list(lots_here(script.state)) == [C1]
    # Taken by the churn, nothing of it stays behind.
    assert list(lots_here(churned(in_a_planned_kitchen(**_kitchen())).state)) == [B1]  # type: ignore[arg-type]


def test_lots_view_shows_the_mark() -> None:
    script = _aged()
    views = {view.lot: view.mark for view in lot_views(script.state, script.facts, at("Thu 08:00"))}
    mark = views[C1]
    assert mark is not None
    assert (mark.day, mark.days, mark.last, mark.broken, mark.frozen) == (2, 7, date(2026, 12, 1), False, False)
    assert views[B1] is None  # nothing of it is begun


@pytest.mark.parametrize(
    ("place", "days"),
    [("fridge", (1, 3, 8)), ("freezer", (1, 1, 1))],
    ids=["counts in the fridge", "waits in the freezer"],
)
def test_stock_counts_from_the_day_it_was_made_unless_it_is_frozen(place: str, days: tuple[int, ...]) -> None:
    lot = {"lot": "C0", "recipe": "custard-base", "quantity": "2 L", "made": at("Wed 07:00"), "place": place}
    state = in_a_planned_kitchen(**_kitchen(), stock=[lot]).state  # type: ignore[arg-type]
    marks = [mark_of(state, LotCode("C0"), at(when)) for when in ("Wed 08:00", "Fri 08:00", "Wed+7 08:00")]
    assert tuple(mark.day for mark in marks if mark is not None) == days
    assert [mark.verdict.status for mark in marks if mark is not None][-1] == ("broken" if place == "fridge" else "met")


def _out_for_saturday(days: int) -> Script:
    """B1 of Wednesday's base, frozen on Thursday: Wednesday and Thursday count, Friday does not, Saturday does."""
    script = churned(in_a_planned_kitchen(**_kitchen(days=days)))  # type: ignore[arg-type]
    script.reads("freezer-air", "freezer", celsius=-18.5, measured_at=at("Sat 10:00"))
    return script


def test_what_is_taken_out_of_the_freezer_counts_that_day() -> None:
    script = _out_for_saturday(2)
    mark = mark_of(script.state, B1, at("Sat 10:20"))
    assert mark is not None
    assert (mark.day, mark.verdict.status) == (2, "met")  # what stays frozen waits
    refusal = script.refused("Sat 10:20", "start_task", task="SAT-STALL.B.temper", person="counter-hand")
    assert (
        refusal.status == "lot B1 is past its days: day 3 of 2 by Town of Example, Ordinance 12, counted from C1 in it"
    )


def test_what_an_order_has_thawed_is_not_handed_over_after_its_days_though_the_rest_stays_frozen() -> None:
    script = _out_for_saturday(3)
    script.give("Sat 10:20", "start_task", task="SAT-STALL.B.temper", person="counter-hand")
    script.give("Sat 10:50", "finish_task", task="SAT-STALL.B.temper", person="counter-hand")
    handing = {"task": "SAT-STALL.B.hand-over", "person": "counter-hand"}
    script.give("Sat 23:50", "start_task", **handing, override_reason="the customer came late")
    refusal = script.refused("Sun 00:10", "finish_task", **handing)
    assert (
        refusal.status == "lot B1 is past its days: day 4 of 3 by Town of Example, Ordinance 12, counted from C1 in it"
    )


def _frozen_again(out: str, again: str) -> State:
    """B1 of Wednesday's base: frozen on Thursday, out from one instant to another, frozen again."""
    script = churned(in_a_planned_kitchen(**_kitchen()))  # type: ignore[arg-type]
    plan, tasks = script.state.plan, script.state.tasks
    assert plan is not None
    stay = next(t for t in plan.tasks if t.lot == B1 and t.kind is TaskKind.STAY and tasks.get(t.id) is not None)
    second_stay = stay.model_copy(update={"id": TaskId("B1.keep-again")})
    first = replace(script.of(stay.id), status=TaskStatus.DONE, finished_at=at(out))
    second = replace(first, status=TaskStatus.IN_HAND, started_at=at(again), finished_at=None)
    rest = {t.id: replace(first, started_at=script.of(t.id).started_at) for t in plan.tasks if _beside(t, stay)}
    return replace(
        script.state,
        plan=plan.model_copy(update={"tasks": (*plan.tasks, second_stay)}),
        tasks={**tasks, **rest, stay.id: first, second_stay.id: second},
    )


@pytest.mark.parametrize(
    ("out", "again", "day"),
    [
        ("Sat 10:00", "Mon 10:00", 5),  # Wed, Thu, Sat, Sun and Mon count
        ("Sat 10:00", "Sat 11:01", 3),  # thawed: Wed, Thu and Sat
        ("Sat 10:00", "Sat 11:00", 2),  # carried from one freezer to another: Wed and Thu
    ],
)
def test_days_thawed_between_two_stays_in_the_freezer_count(out: str, again: str, day: int) -> None:
    state = _frozen_again(out, again)
    days = {when: mark_of(state, B1, at(when)) for when in ("Mon 12:00", "Mon+1 12:00")}
    assert [mark.day for mark in days.values() if mark is not None] == [day, day]


def _beside(task: PlannedTask, stay: PlannedTask) -> bool:
    return task.lot == stay.lot and task.kind is TaskKind.STAY and task.id != stay.id


@pytest.mark.parametrize(
    ("limit", "counted"),
    [("ageing", True), ("cold-holding", True), ("frozen-holding", False), ("hot-holding", False), (None, False)],
)
def test_only_what_a_limit_keeps_cold_has_days_that_count(limit: str | None, counted: bool) -> None:
    use = LimitUse(id=LimitId(limit)) if limit is not None else None
    recipes = tuple(
        recipe.model_copy(
            update={"steps": tuple(s.model_copy(update={"limit": use}) if s.id == "age" else s for s in recipe.steps)}
        )
        for recipe in small_kitchen().recipes
    )
    script = with_base_aged(in_a_planned_kitchen(recipes=recipes, limits=shipped_limits().limits))
    assert (mark_of(script.state, C1, script.now) is not None) is counted
