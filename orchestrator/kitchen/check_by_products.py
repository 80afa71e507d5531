"""By-products: amounts that can be, in the units of those who want them, kept in places there are, and no circle."""

from collections.abc import Iterator, Mapping
from typing import Final

from orchestrator.core.left_over import kg_of
from orchestrator.core.models import Equipment, Step
from orchestrator.core.models.recipe import Leave
from orchestrator.core.quantities import Unit
from orchestrator.kitchen.check_cycles import circles
from orchestrator.kitchen.documents import Path_
from orchestrator.kitchen.draft import Draft, RecipeDraft
from orchestrator.kitchen.faults import one_of

_WEIGHED: Final = (Unit.KILOGRAM, Unit.LITRE)


def check_by_products(draft: Draft) -> None:
    """What steps leave over."""
    units = _units_taken(draft)
    stores = {entry.value.kind: entry.value for entry in draft.equipment if entry.value is not None}
    complete = "equipment" in draft.listed and all(entry.value is not None for entry in draft.equipment)
    left_in: dict[str, tuple[Unit, str]] = {}
    for recipe, index, number, step, leave in _left(draft):
        where = ("steps", index, "leaves", number)
        _work(recipe, where, step)
        _amount(recipe, where, step, leave)
        unit, file = units.get(leave.ingredient) or left_in.setdefault(
            leave.ingredient, (leave.amount.unit, recipe.document.file)
        )
        if leave.amount.unit is not unit:
            what = f"{leave.ingredient!r} is left in {leave.amount.unit}, and in {unit} in {file}"
            recipe.add((*where, "amount"), what, f"write it in {unit}, or it cannot be counted on")
        _place(recipe, where, leave, stores, complete=complete)
    _circles(draft)


def _left(draft: Draft) -> Iterator[tuple[RecipeDraft, int, int, Step, Leave]]:
    for recipe in draft.recipes:
        for index, step in recipe.steps.items():
            for number, leave in enumerate(step.leaves):
                yield recipe, index, number, step, leave


def _place(recipe: RecipeDraft, where: Path_, leave: Leave, stores: Mapping[str, Equipment], *, complete: bool) -> None:
    """A store that there is, and room in its unit."""
    place = stores.get(leave.kept_in) if leave.kept_in is not None else None
    if leave.kept_in is not None and place is None and complete:
        kinds = {kind for kind, machine in stores.items() if machine.store}
        what = f"there is no equipment of the kind {leave.kept_in!r}"
        recipe.add((*where, "kept_in"), what, one_of(kinds, leave.kept_in))
    if place is None:
        return
    if not place.store:
        recipe.add((*where, "kept_in"), f"{leave.kept_in!r} is no store", "a kind of equipment with `store: true`")
    elif leave.room is not None and place.capacity is not None and leave.room.unit is not place.capacity.unit:
        unit = place.capacity.unit
        what = f"the room is in {leave.room.unit}, {leave.kept_in!r} is counted in {unit}"
        recipe.add((*where, "room"), what, f"write it in {unit}")


def _units_taken(draft: Draft) -> dict[str, tuple[Unit, str]]:
    """By ingredient: in which unit steps take it, and where that is written first."""
    found: dict[str, tuple[Unit, str]] = {}
    for recipe in draft.recipes:
        for take in (take for step in recipe.steps.values() for take in step.takes):
            if take.ingredient is not None:
                found.setdefault(take.ingredient, (take.amount.unit, recipe.document.file))
    return found


def _work(recipe: RecipeDraft, where: Path_, step: Step) -> None:
    if step.per == "order":
        recipe.add(
            where, f"{step.id!r} is done for each order, and leaves something", "let a step of the batch leave it"
        )
    elif step.stay is not None:
        recipe.add(where, f"the stay {step.id!r} leaves something", "let the step of work before or after it leave it")


def _amount(recipe: RecipeDraft, where: Path_, step: Step, leave: Leave) -> None:
    """More than nothing, and no more than there was."""
    if leave.amount.value <= 0:
        recipe.add((*where, "amount"), "the amount is nothing", "write more than 0, or take the line out")
    if leave.room is not None and leave.room.value <= 0:
        recipe.add((*where, "room"), "the room is nothing", "write more than 0, or leave it out")
    taken = {take.ingredient: take for take in step.takes if take.ingredient is not None}
    if leave.of is not None and leave.of not in taken:
        what = f"{leave.ingredient!r} is said to be a part of {leave.of!r}, which this step does not take"
        recipe.add((*where, "of"), what, one_of(set(taken), leave.of))
        return
    if leave.of is not None:
        there, what = kg_of([taken[leave.of].amount]), leave.of
        weighed = taken[leave.of].amount.unit in _WEIGHED
    else:
        steps = [s for s in recipe.steps.values() if s.per == "batch"]
        takes = [take for s in steps[: steps.index(step) + 1] for take in s.takes] if step in steps else []
        there, what = kg_of(take.amount for take in takes), "all that went in"
        weighed = all(take.amount.unit in _WEIGHED for take in takes)
    more = kg_of([leave.amount]) > there + 1e-9
    if weighed and leave.amount.unit in _WEIGHED and more:
        says = f"{leave.amount.value:g} {leave.amount.unit} of {leave.ingredient!r} is more than {what}, {there:g} kg"
        recipe.add((*where, "amount"), says, "a step leaves no more than it takes in: correct one of the two")


def _circles(draft: Draft) -> None:
    """No recipe waits for what it leaves itself, by way of any others."""
    left: dict[str, list[str]] = {}
    for recipe, _, _, _, leave in _left(draft):
        left.setdefault(leave.ingredient, []).append(recipe.id)
    if not left:
        return
    graph = {recipe.id: _before(recipe, left) for recipe in draft.recipes}
    recipes = {recipe.id: recipe for recipe in draft.recipes}
    for circle in circles(graph):
        for place, name in enumerate(circle):
            found = _taken_back(recipes[name], left, circle[(place + 1) % len(circle)])
            if found is not None:
                index, number, ingredient = found
                path = " → ".join([*circle, circle[0]])
                what = f"{ingredient!r} goes round in a circle: {path}"
                remedy = "leave it under another name, or take one of the two out"
                recipes[name].add(("steps", index, "takes", number, "ingredient"), what, remedy)
                break


def _before(recipe: RecipeDraft, left: Mapping[str, list[str]]) -> list[str]:
    """Recipes that come before one: its components, and those that leave what it takes."""
    takes = [take for step in recipe.steps.values() for take in step.takes]
    names = [str(take.component) for take in takes if take.component is not None]
    names += [leaver for take in takes if take.ingredient is not None for leaver in left.get(take.ingredient, ())]
    return list(dict.fromkeys(names))


def _taken_back(recipe: RecipeDraft, left: Mapping[str, list[str]], leaver: str) -> tuple[int, int, str] | None:
    for index, step in recipe.steps.items():
        for number, take in enumerate(step.takes):
            if take.ingredient is not None and leaver in left.get(take.ingredient, ()):
                return index, number, take.ingredient
    return None
