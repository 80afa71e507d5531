"""Pre-cools, day-end cleans and hygiene cleans: a plan made by hand passes, and each rule is broken once."""

import pytest

from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import Actual, Kitchen, Plan, PlannedTask, PlanRequest, Stop, Upkeep
from tests.core.plan_changes import (
    KITCHEN,
    PLAN,
    REQUEST,
    Change,
    batch,
    changed,
    crew,
    linked,
    moved,
    rules,
    stretched,
    unlinked,
    without,
)
from tests.fakes.kitchens import at

CHURN = {
    "cleaning": {"rinse": 10, "full": 20, "hygiene": 15, "every": 60, "skill": "churn"},
    "precool": {"minutes": 15, "keeps": 60},
}


def _kitchen(night: int = 30) -> Kitchen:
    kitchen, told = REQUEST.kitchen, {**CHURN, "day_end": {"minutes": night, "skill": "churn"}}
    machines = [{**m.model_dump(), **(told if m.id == "churn" else {})} for m in kitchen.equipment]
    return kitchen.model_validate({**kitchen.model_dump(), "equipment": machines})


KEPT = REQUEST.model_copy(update={"kitchen": _kitchen()})


def _task(name: str, upkeep: Upkeep, start: str, end: str, *who: str, after: str = "") -> PlannedTask:
    minutes = round((at(end) - at(start)).total_seconds() / 60)
    told = {
        "id": name,
        "kind": "clean",
        "upkeep": upkeep,
        "process": "clean" if who else "pre-cool",
        "title": name,
        "station": "stove",
        "equipment_kind": "churn",
        "equipment": "churn",
        "duration": {"shortest": minutes, "usual": minutes, "longest": minutes},
        "attended": [{"when": "throughout"}] if who else [],
        "skill": "churn" if who else None,
        "links": [{"after": after}] if after else [],
        "start": at(start),
        "end": at(end),
        "spans": [{"start": at(start), "end": at(end), "crew": who}] if who else [],
    }
    return PlannedTask.model_validate(told)


# The churn runs on Thursday from 9:00 to 9:30 and from 10:00 to 10:30, with a full clean of 20 minutes between.
COOL = _task("churn.pre-cool.B1", Upkeep.PRECOOL, "Thu 08:45", "Thu 09:00")
NIGHT = _task("churn.day-end", Upkeep.DAY_END, "Thu 10:30", "Thu 11:00", "early-cook", after="S1.churn")
CLEAN = linked(changed(PLAN, "churn.clean.S1", upkeep=Upkeep.FULL), "churn.clean.S1", "B1.churn")
WHOLE = linked(linked(CLEAN, "S1.churn", "churn.clean.S1"), "B1.churn", COOL.id)
WHOLE = WHOLE.model_copy(update={"tasks": (*WHOLE.tasks, COOL, NIGHT)})


def test_check_machine_kept_by_every_rule_passes() -> None:
    assert rules(WHOLE, KEPT) == set()


BROKEN: dict[str, tuple[str, Change]] = {
    "run that does not wait for its pre-cool": ("upkeep", lambda p: unlinked(p, "B1.churn", COOL.id)),
    "run that does not wait for its clean-down": ("upkeep", lambda p: unlinked(p, "S1.churn", "churn.clean.S1")),
    "clean that does not wait for its run": ("upkeep", lambda p: unlinked(p, NIGHT.id, "S1.churn")),
    "run on a warm machine": ("pre-cool", lambda p: without(p, COOL.id)),
    "pre-cooled more than an hour before": ("pre-cool", lambda p: moved(p, COOL.id, -61)),
    "pre-cooled for too short": ("clean-down", lambda p: stretched(p, COOL.id, -5)),
    "pre-cooled while the run before is in it": ("double booked", lambda p: moved(p, COOL.id, 20)),
    "left dirty for the night": ("day-end clean", lambda p: without(p, NIGHT.id)),
    "cleaned for the night before the last run": ("day-end clean", lambda p: moved(p, NIGHT.id, -31)),
    "cleaned after the last have gone home": (
        "day-end clean",
        lambda p: crew(moved(p, NIGHT.id, 10 * 60 + 15), NIGHT.id, "late-cook"),
    ),
    "cleaned for the night too quickly": ("clean-down", lambda p: stretched(p, NIGHT.id, -10)),
    "cleaned for the night by nobody": ("clean-down", lambda p: changed(p, NIGHT.id, attended=(), spans=())),
    "in use for 90 minutes with a rinse between": (
        "hygiene clean",
        lambda p: changed(p, "churn.clean.S1", upkeep=Upkeep.RINSE),
    ),
    "a hygiene clean where an allergen drops": (
        "clean-down",
        lambda p: changed(p, "churn.clean.S1", upkeep=Upkeep.HYGIENE),
    ),
}


@pytest.mark.parametrize("name", BROKEN)
def test_check_upkeep_broken_by_hand_names_the_rule(name: str) -> None:
    rule, change = BROKEN[name]
    assert rule in rules(change(WHOLE), KEPT)


@pytest.mark.parametrize(("minutes", "faults"), [(-60, set[str]()), (-61, {"pre-cool"})])
def test_check_pre_cool_keeps_for_an_hour(minutes: int, faults: set[str]) -> None:
    assert rules(moved(WHOLE, COOL.id, minutes), KEPT) == faults


def test_check_machine_is_cleaned_but_not_cooled_while_it_is_stopped() -> None:
    def stopped(start: str, end: str) -> PlanRequest:
        stop = Stop(equipment=EquipmentId("churn"), start=at(start), end=at(end))
        return KEPT.model_copy(update={"stops": (stop,)})

    assert rules(WHOLE, stopped("Thu 10:30", "Thu 11:00")) == set()
    assert rules(WHOLE, stopped("Thu 08:30", "Thu 09:00")) == {"stopped"}


def test_check_after_a_day_end_clean_the_machine_is_clean_for_anything() -> None:
    request = KEPT.model_copy(update={"kitchen": _kitchen(night=20)})
    twenty = NIGHT.duration.model_validate({"shortest": 20, "usual": 20, "longest": 20})
    plan = changed(stretched(WHOLE, NIGHT.id, -10), NIGHT.id, duration=twenty)
    assert rules(plan, request) == set()
    uncleaned = unlinked(without(plan, "churn.clean.S1"), "S1.churn", "churn.clean.S1")
    assert rules(uncleaned, request) == {"clean-down", "hygiene clean"}
    assert rules(changed(plan, "churn.clean.S1", upkeep=Upkeep.DAY_END), request) == set()


def _happened(plan: Plan, now: str) -> PlanRequest:
    """All that was to have begun by now is done as planned."""
    begun = [task for task in plan.tasks if task.start < at(now) and task.id not in (NIGHT.id,)]
    facts = tuple(
        Actual(
            task=task.id,
            status="done" if task.end <= at(now) else "in hand",
            start=task.start,
            end=task.end,
            equipment=task.equipment,
        )
        for task in begun
    )
    return KEPT.model_copy(update={"now": at(now), "actuals": facts})


@pytest.mark.parametrize(
    ("now", "faults"),
    [
        pytest.param("Thu 10:45", {"day-end clean"}, id="somebody is there until 21:00"),
        pytest.param("Thu 20:45", set[str](), id="fifteen minutes are too few for a clean of thirty"),
    ],
)
def test_check_clean_for_the_night_is_asked_for_as_long_as_somebody_can_do_it(now: str, faults: set[str]) -> None:
    assert rules(without(WHOLE, NIGHT.id), _happened(WHOLE, now)) & {"day-end clean"} == faults


def test_check_rinse_is_not_enough_after_a_batch_with_more_than_its_recipe_names() -> None:
    """Both recipes have egg and milk; a lot with almond went into the first run, and the second has none."""
    same = ("egg", "milk")
    recipes = [r.model_dump() | ({"allergens": same} if r.id == "damson-sorbet" else {}) for r in KITCHEN.recipes]
    kitchen = KITCHEN.model_validate({**KITCHEN.model_dump(), "recipes": recipes})
    request = PlanRequest(kitchen=kitchen, now=kitchen.planning_start)
    rinsed = batch(stretched(PLAN, "churn.clean.S1", -10), "S1", allergens=same)
    short = PLAN.task(TaskId("C1.cook")).duration.model_validate({"shortest": 10, "usual": 10, "longest": 10})
    rinsed = changed(rinsed, "churn.clean.S1", duration=short)
    assert rules(rinsed, request) == set()
    almond = (*same, "almond")
    assert rules(batch(batch(rinsed, "C1", allergens=almond), "B1", allergens=almond), request) == {"clean-down"}
