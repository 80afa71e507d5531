"""The checker: a valid plan passes, and each rule is broken once by hand."""

from datetime import timedelta

import pytest

from orchestrator.core.check import RULES, check
from orchestrator.core.check.book import Book
from orchestrator.core.ids import EquipmentId, LotCode, TaskId
from orchestrator.core.models import Plan, PlannedTask, WindowBreak
from orchestrator.core.quantities import Quantity
from tests.core.plan_changes import (
    BROKEN,
    PLAN,
    REQUEST,
    Change,
    batch,
    changed,
    crew,
    moved,
    rules,
    stretched,
    without,
)
from tests.fakes.kitchens import at, small_kitchen


def test_check_plan_made_by_hand_has_no_violations() -> None:
    assert check(PLAN, REQUEST) == ()


@pytest.mark.parametrize("name", BROKEN)
def test_check_plan_broken_by_hand_names_the_rule(name: str) -> None:
    rule, change = BROKEN[name]
    assert rule in rules(change(PLAN))


def test_check_every_rule_catches_something_in_the_table() -> None:
    books = [Book(change(PLAN), REQUEST) for _, change in BROKEN.values()]
    idle = {rule.__name__ for rule in RULES if not any(list(rule(book)) for book in books)}
    # These need facts, stops, holds, stock or supplies in the request, and have tests of their own.
    alone = {"begun_batches", "present", "facts", "held_in_place", "stopped", "use_by"}
    assert idle == alone | {"supplies", "lives", "crowded", "precools", "day_ends", "hygiene", "linked"}


def test_check_surplus_without_room_passes_but_not_what_somebody_takes() -> None:
    stay = PLAN.task(TaskId("S1.harden.SUN-CAFE"))
    rest = stay.model_copy(update={"id": TaskId("S1.harden.rest"), "end": PLAN.end, "equipment": None})
    assert rules(PLAN.model_copy(update={"tasks": (*PLAN.tasks, rest)})) == set()
    assert rules(changed(PLAN, "S1.harden.SUN-CAFE", equipment=None)) == {"equipment kind"}


def aged(plan: Plan, start: str) -> Plan:
    """Sorbet churned at another time, its stays with it."""
    shift = int((at(start) - plan.task(TaskId("S1.churn")).start).total_seconds() // 60)
    plan = moved(moved(plan, "S1.churn", shift), "churn.clean.S1", shift)
    plan = changed(plan, "S1.age", end=at(start))
    return changed(plan, "S1.harden.SUN-CAFE", start=plan.task(TaskId("S1.churn")).end)


def named_break(minutes: int, side: str = "too late") -> WindowBreak:
    return WindowBreak.model_validate(
        {
            "task": "S1.churn",
            "after": "S1.age",
            "window": "quality",
            "minutes": minutes,
            "side": side,
            "reason": "the churn was stopped",
        }
    )


def test_check_quality_break_named_with_its_minutes_passes() -> None:
    late = aged(PLAN, "Fri 12:40")
    late = crew(crew(late, "S1.churn", "late-cook"), "churn.clean.S1", "late-cook")
    late = aged(late, "Fri 13:30")
    named = late.model_copy(update={"breaks": (named_break(90),)})
    assert check(named, REQUEST) == ()
    assert rules(late) == {"quality window"}
    assert rules(late.model_copy(update={"breaks": (named_break(20),)})) == {"quality window", "breaks"}


def test_check_safety_break_even_when_named_is_a_violation() -> None:
    late = moved(PLAN, "C1.chill", 11)
    late = changed(late, "C1.age.B1", start=late.task(TaskId("C1.chill")).end)
    named = WindowBreak.model_validate(
        {
            "task": "C1.chill",
            "after": "C1.cook",
            "window": "safety",
            "minutes": 1,
            "side": "too late",
            "reason": "no hands",
        }
    )
    assert rules(late) == {"safety window"}
    assert rules(late.model_copy(update={"breaks": (named,)})) == {"safety window", "breaks"}


def test_check_violation_says_times_on_the_kitchens_clock() -> None:
    says = [v.says for v in check(moved(PLAN, "S1.chill", -5), REQUEST) if v.rule == "order"]
    assert says == [
        "S1.simmer ends Wed 25 Nov 11:00, S1.chill starts Wed 25 Nov 10:55: it may not start before the other has ended"
    ]


def _mutations(task: PlannedTask) -> dict[str, Change]:
    """Small changes of one task, every one of which breaks some rule of this tight plan."""
    name = task.id
    found: dict[str, Change] = {"dropped": lambda p: without(p, name)}
    if task.kind != "stay":
        found["moved a day earlier"] = lambda p: moved(p, name, -1440)
        found["moved into the night"] = lambda p: moved(p, name, 840)
        found["shortened"] = lambda p: changed(p, name, end=task.start + timedelta(minutes=1))
        found["hands taken away"] = lambda p: changed(p, name, spans=())
        found["done by the manager"] = lambda p: crew(p, name, "manager")
    else:
        found["begun later"] = lambda p: changed(p, name, start=task.start + timedelta(minutes=1))
        found["ended earlier"] = lambda p: changed(p, name, end=task.end - timedelta(minutes=1))
    if task.equipment is not None:
        other = "freezer" if task.equipment == "fridge" else "fridge"
        if task.kind != "clean":
            found["on another machine"] = lambda p: changed(p, name, equipment=EquipmentId(other))
    return found


@pytest.mark.parametrize(("task", "mutation"), [(task.id, name) for task in PLAN.tasks for name in _mutations(task)])
def test_check_valid_plan_with_one_mutation_is_caught(task: TaskId, mutation: str) -> None:
    found = check(_mutations(PLAN.task(task))[mutation](PLAN), REQUEST)
    assert found
    assert all(violation.says for violation in found)


@pytest.mark.parametrize(
    ("before", "after", "faults"),
    [
        pytest.param("deep", "pale", {"clean-down"}, id="a deep run, then a pale one"),
        pytest.param("pale", "deep", set(), id="deeper"),
        pytest.param("deep", None, set(), id="the second has no colour of its own"),
    ],
)
def test_check_rinse_after_a_deeper_colour_is_not_enough(before: str, after: str | None, faults: set[str]) -> None:
    same = ("egg", "milk")
    told = {"basil-custard": {"colour": before}, "damson-sorbet": {"colour": after, "allergens": same}}
    recipes = [{**recipe.model_dump(), **told.get(recipe.id, {})} for recipe in REQUEST.kitchen.recipes]
    kitchen = REQUEST.kitchen.model_validate({**REQUEST.kitchen.model_dump(), "recipes": recipes})
    rinsed = batch(stretched(PLAN, "churn.clean.S1", -10), "S1", allergens=same)
    short = rinsed.task(TaskId("C1.cook")).duration.model_validate({"shortest": 10, "usual": 10, "longest": 10})
    rinsed = changed(rinsed, "churn.clean.S1", duration=short)
    assert rules(rinsed, REQUEST.model_copy(update={"kitchen": kitchen})) == faults


def litres(amount: float) -> Quantity:
    return Quantity.model_validate(f"{amount} L")


def pegged(plan: Plan, index: int, amount: float) -> Plan:
    """One of the promises with another amount."""
    pegs = tuple(
        peg.model_copy(update={"quantity": litres(amount)}) if i == index else peg for i, peg in enumerate(plan.pegs)
    )
    return plan.model_copy(update={"pegs": pegs})


def simmered(minutes: int) -> Change:
    return lambda p: moved(p, "S1.simmer", minutes)


def simmered_late(minutes: int) -> Change:
    return lambda p: crew(moved(p, "S1.simmer", minutes), "S1.simmer", "late-cook")


def sized(lot: str, scale: float) -> Change:
    return lambda p: batch(p, lot, size=litres(round(5 * scale, 4)), scale=scale)


AT_ITS_LIMIT: dict[str, tuple[str, Change, Change]] = {
    "shortest": ("duration", lambda p: stretched(p, "S1.simmer", -10), lambda p: stretched(p, "S1.simmer", -11)),
    "longest": (
        "duration",
        lambda p: stretched(p, "SUN-CAFE.S.hand-over", 10),
        lambda p: stretched(p, "SUN-CAFE.S.hand-over", 11),
    ),
    "no length": (
        "duration",
        lambda p: changed(p, "S1.age", end=at("Wed 12:00")),
        lambda p: changed(p, "S1.age", end=at("Wed 11:59")),
    ),
    "order": ("order", lambda p: p, lambda p: moved(p, "S1.chill", -1)),
    "safety link": ("safety window", lambda p: moved(p, "C1.chill", 10), lambda p: moved(p, "C1.chill", 11)),
    "quality link": (
        "quality window",
        lambda p: moved(p, "SAT-STALL.B.hand-over", 30),
        lambda p: moved(p, "SAT-STALL.B.hand-over", 31),
    ),
    "least stay": (
        "safety window",
        lambda p: changed(p, "C1.age.B1", end=at("Wed 22:15")),
        lambda p: changed(p, "C1.age.B1", end=at("Wed 22:14")),
    ),
    "longest stay": (
        "safety window",
        lambda p: changed(p, "C1.age.B1", end=at("Sat 10:15")),
        lambda p: changed(p, "C1.age.B1", end=at("Sat 10:16")),
    ),
    "full machine": ("load", lambda p: changed(p, "B1.churn", load=6.01), lambda p: changed(p, "B1.churn", load=6.02)),
    "least load": ("load", lambda p: changed(p, "B1.churn", load=1.99), lambda p: changed(p, "B1.churn", load=1.98)),
    "full store": (
        "capacity",
        lambda p: changed(changed(p, "C1.age.B1", load=12.0), "S1.age", load=12.01),
        lambda p: changed(changed(p, "C1.age.B1", load=12.0), "S1.age", load=12.02),
    ),
    "next on the machine": (
        "double booked",
        simmered(-110),
        simmered(-111),
    ),
    "clean as long as asked": (
        "clean-down",
        lambda p: moved(p, "churn.clean.S1", 5),
        lambda p: stretched(p, "churn.clean.S1", -1),
    ),
    "clean after the run": (
        "clean-down",
        lambda p: moved(p, "churn.clean.S1", -5),
        lambda p: moved(p, "churn.clean.S1", -6),
    ),
    "clean before the run": (
        "clean-down",
        lambda p: moved(p, "churn.clean.S1", 5),
        lambda p: moved(p, "churn.clean.S1", 6),
    ),
    "shift begins": ("shift", simmered_late(150), simmered_late(149)),
    "shift ends": ("shift", simmered_late(600), simmered_late(601)),
    "break begins": ("break", simmered(90), simmered(91)),
    "break ends": ("break", simmered(150), simmered(149)),
    "hands free again": (
        "two things at once",
        simmered(-100),
        simmered(-101),
    ),
    "biggest batch": ("batch size", sized("C1", 2.002), sized("C1", 2.004)),
    "smallest batch": ("batch size", sized("C1", 0.398), sized("C1", 0.396)),
    "all that a lot holds": ("pegs", lambda p: pegged(p, 1, 4.81), lambda p: pegged(p, 1, 4.82)),
    "all that is taken": ("components", lambda p: pegged(p, 0, 4.99), lambda p: pegged(p, 0, 4.98)),
    "all that is ordered": ("orders", lambda p: pegged(p, 2, 4.79), lambda p: pegged(p, 2, 4.78)),
    "named to the minute": (
        "breaks",
        lambda p: churned_late(p, named_break(89)),
        lambda p: churned_late(p, named_break(88)),
    ),
    "named as it is": (
        "quality window",
        lambda p: churned_late(p, named_break(90)),
        lambda p: churned_late(p, named_break(89)),
    ),
    "named on its side": (
        "quality window",
        lambda p: churned_late(p, named_break(90)),
        lambda p: churned_late(p, named_break(90, "too early")),
    ),
}
"""The rule, what it still allows, and the least that it does not: a minute, or two hundredths, which is over the
hundredth that the planner counts."""


def churned_late(plan: Plan, named: WindowBreak) -> Plan:
    return aged(plan, "Fri 13:30").model_copy(update={"breaks": (named,)})


@pytest.mark.parametrize("name", AT_ITS_LIMIT)
def test_check_rule_allows_its_limit_and_not_one_step_beyond(name: str) -> None:
    rule, allowed, beyond = AT_ITS_LIMIT[name]
    assert rule not in rules(allowed(PLAN))
    assert rule in rules(beyond(PLAN))


def test_check_batch_declares_what_the_very_lots_in_it_have() -> None:
    with_almond = ("almond", "egg", "milk")
    more = batch(PLAN, "C1", allergens=with_almond)
    assert rules(more) == {"allergens"}
    assert rules(batch(more, "B1", allergens=with_almond)) == set()


@pytest.mark.parametrize("had", [{"allergens": ("almond",)}, {"of_recipe": ("almond",)}], ids=["besides", "as made"])
def test_check_batch_declares_what_the_stock_in_it_has(had: dict[str, tuple[str, ...]]) -> None:
    lot = {"lot": "C0", "recipe": "custard-base", "quantity": "1 L", "made": at("Wed 00:00"), "place": "fridge"}
    request = REQUEST.model_copy(update={"kitchen": small_kitchen(stock=[{**lot, **had}])})
    peg = PLAN.pegs[0].model_copy(update={"lot": LotCode("C0"), "quantity": litres(1)})
    plan = PLAN.model_copy(update={"pegs": (*PLAN.pegs, peg)})
    assert "allergens" in rules(plan, request)
    assert "allergens" not in rules(batch(plan, "B1", allergens=("almond", "egg", "milk")), request)
