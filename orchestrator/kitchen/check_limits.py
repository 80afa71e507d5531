"""A kitchen's own limits, and what its steps make of limits: chosen by id, fit for the step, never undercut."""

from typing import Final

from orchestrator.core.allergens import allergens_of
from orchestrator.core.deviations.places import FROZEN_C
from orchestrator.core.limits import aim
from orchestrator.core.models import Process, Step, Target
from orchestrator.core.models.limit import OF_FOOD, Limit, LimitKind, LimitRow
from orchestrator.kitchen.draft import Draft, Entry, RecipeDraft
from orchestrator.kitchen.faults import one_of
from orchestrator.kitchen.shipped import shipped_limits

_FITS: Final[dict[LimitKind, frozenset[Process]]] = {
    LimitKind.HEAT: frozenset({Process.COOK, Process.SIMMER, Process.REDUCE, Process.BLANCH}),
    LimitKind.COOL: frozenset({Process.CHILL, Process.SHOCK, Process.MIX, Process.BLEND}),
    LimitKind.KEEP: frozenset({Process.AGE, Process.STORE, Process.TEMPER}),
    LimitKind.REACH: frozenset({Process.HARDEN, Process.CHILL, Process.SHOCK}),
    LimitKind.DRAW: frozenset({Process.CHURN}),
    LimitKind.DAYS: frozenset(),
    LimitKind.ELAPSED: frozenset(),
}
"""What is done to the food where a limit of a kind can be judged; days and cleaning are judged of lots and machines."""


def check_limits(draft: Draft) -> None:
    """The kitchen's own limits say whose they are; steps choose limits that there are, and that fit them."""
    for entry in draft.limits:
        if entry.value is not None:
            _own(entry, entry.value)
    known = draft.known_limits()
    for recipe in draft.recipes:
        for index, step in recipe.steps.items():
            if step.limit is not None:
                _use(draft, known, recipe, index, step)
        _days(known, recipe)


def _days(known: dict[str, Limit], recipe: RecipeDraft) -> None:
    """A shelf life longer than the date mark would plan food that goes on hold before it is used.

    Source: FDA Food Code 2022, 3-501.17, unless the kitchen's own code replaces it. What is frozen waits.
    """
    made, limit = recipe.recipe, known.get("date-marking")
    if made is None or limit is None or made.shelf_life is None or any(step.freezes for step in made.steps):
        return
    days = limit.rows[0].days or 0
    kept_cold = any(_is_cold(known, step) for step in made.steps)
    if kept_cold and made.shelf_life > days * 1440:
        what = f"it keeps for longer than its date mark allows: {days} days, the day it is made being day 1"
        recipe.add(
            ("shelf_life",), what, f"write {days - 1} d or less, freeze it, or name the local code that allows more"
        )


def _is_cold(known: dict[str, Limit], step: Step) -> bool:
    limit = known.get(step.limit.id) if step.limit is not None else None
    most = limit.rows[0].at_most if limit is not None and limit.kind is LimitKind.KEEP else None
    return most is not None and most.celsius > FROZEN_C


def _own(entry: Entry[Limit], own: Limit) -> None:
    """What differs from what is shipped names the code that it comes from; what is refused stays so."""
    refused = shipped_limits().why_refused(own.id)
    if refused is not None:
        entry.add(("id",), f"{own.id!r} cannot be a limit: {refused[0]}", refused[1])
        return
    shipped = shipped_limits().limit(own.id)
    if shipped is not None and own.kind is not shipped.kind:
        what = f"{own.id!r} is of the kind {shipped.kind.value}, not {own.kind.value}"
        entry.add(("kind",), what, "keep the kind, or give the limit an id of its own")
    if own != shipped and not own.local_code.strip():
        what = f"{own.id!r} differs from what is shipped and does not say by which local code"
        entry.add(("id",), what, "add `local_code: ...`, naming the code and edition, or who decided")


def _use(draft: Draft, known: dict[str, Limit], recipe: RecipeDraft, index: int, step: Step) -> None:
    assert step.limit is not None
    where = ("steps", index, "limit")
    limit = known.get(step.limit.id)
    if limit is None:
        refused = shipped_limits().why_refused(step.limit.id)
        if refused is not None:
            recipe.add(where, f"{step.limit.id!r} cannot be chosen: {refused[0]}", refused[1])
        elif "limits" in draft.listed:
            recipe.add(where, f"there is no limit {step.limit.id!r}", one_of(known, step.limit.id))
        return
    if step.process not in _FITS[limit.kind]:
        fitting = [name for name, one in known.items() if step.process in _FITS[one.kind]]
        what = f"{limit.id!r} cannot be judged on the step {step.id!r}, which is to {step.process.value}"
        recipe.add(where, what, one_of(fitting) if fitting else "take the limit out")
        return
    if step.limit.row is not None and step.limit.row not in [row.id for row in limit.rows]:
        recipe.add((*where, "row"), f"{limit.id!r} has no row {step.limit.row!r}", one_of(row.id for row in limit.rows))
        return
    _food(draft, recipe, index, limit)
    _aim(draft, recipe, index, step, limit)


def _food(draft: Draft, recipe: RecipeDraft, index: int, limit: Limit) -> None:
    if recipe.recipe is None:
        return
    recipes = {other.recipe.id: other.recipe for other in draft.recipes if other.recipe is not None}
    wrong = sorted(set(limit.never_with) & allergens_of(recipes, recipe.recipe))
    if wrong:
        others = [one.id for one in draft.known_limits().values() if one.kind is limit.kind and one.id != limit.id]
        what = f"{limit.id!r} is not for food with {', '.join(wrong)}: {limit.scope}"
        recipe.add(("steps", index, "limit"), what, one_of(others))


def _aim(draft: Draft, recipe: RecipeDraft, index: int, step: Step, limit: Limit) -> None:
    """What is aimed at keeps the limit, and lies below the ceiling."""
    use, unit = step.limit, draft.header.temperature_unit if draft.header is not None else "C"
    assert use is not None
    where = ("steps", index, "limit")
    rows = tuple(row for row in limit.rows if use.row in (None, row.id))
    if use.ceiling is not None and limit.kind is not LimitKind.HEAT:
        recipe.add((*where, "ceiling"), f"a ceiling has no place on {limit.id!r}, which cools", "take it out")
        return
    if use.ceiling is not None and all(use.ceiling < row.asked.as_celsius(unit) for row in rows):
        least = min(row.asked.as_celsius(unit) for row in rows)
        what = f"the ceiling, {use.ceiling:g} °C, lies below the limit, {least:g} °C"
        recipe.add((*where, "ceiling"), what, "raise the ceiling, or choose a milder row")
        return
    if limit.kind not in OF_FOOD or limit.kind is LimitKind.DRAW:
        return
    enough = any if limit.kind is LimitKind.HEAT else all
    if step.target is None and aim(limit, use, unit) is None:
        what = f"{limit.id!r} has {len(rows)} rows, and nothing says which of them is aimed at"
        recipe.add(where, what, f"write {{ id: {limit.id}, row: {rows[0].id} }}, or give the step a target")
    elif step.target is not None and not enough(_keeps(step.target, row, limit.kind, unit) for row in rows):
        what = f"the target is milder than {limit.id!r}"
        recipe.add(("steps", index, "target"), what, f"aim at {_shown(rows)}, or take the target out")


def _keeps(target: Target, row: LimitRow, kind: LimitKind, unit: str) -> bool:
    column = row.asked.as_celsius("F" if unit == "F" else "C")
    if kind is not LimitKind.HEAT:
        return target.at_most is not None and target.at_most <= column + 1e-9
    held_s = target.hold * 60.0
    return target.at_least is not None and target.at_least >= column - 1e-9 and held_s >= (row.hold or 0.0)


def _shown(rows: tuple[LimitRow, ...]) -> str:
    return " or ".join(f"{row.asked.celsius:g} °C ({row.asked.fahrenheit:g} °F)" for row in rows)
