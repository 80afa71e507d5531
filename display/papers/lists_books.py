"""Further lists as CSV: what came in, who is there when, par levels, recipes with all that they take."""

from display.panels import Showing
from display.papers.csv_cells import cell_of
from display.papers.listed import Listed
from orchestrator.core.quantities import Quantity


def _both(quantity: Quantity | None) -> tuple[float | None, str | None]:
    return (None, None) if quantity is None else (quantity.value, str(quantity.unit))


def deliveries(showing: Showing, _: str) -> Listed:
    """A row for each delivery, taken in or not."""
    columns = (
        "delivery", "at", "ingredient", "outcome", "quantity", "unit", "expected", "expected_unit", "celsius",
        "supplier", "supplier_lot", "use_by", "place", "person", "reason", "rest_at",
    )  # fmt: skip
    rows = [
        (
            one.delivery, one.at, one.ingredient, one.outcome, *_both(one.quantity), *_both(one.expected), one.celsius,
            one.supplier, one.supplier_lot, one.use_by, one.place, one.person, one.reason, one.rest_at,
        )
        for one in showing.snapshot.state.pantry.deliveries
    ]  # fmt: skip
    return Listed(columns, rows)


def crew(showing: Showing, _: str) -> Listed:
    """A row for each shift, and one for each of the crew who has none; since when they are here, as they said."""
    book, now = showing.snapshot.state.attendance, showing.now
    columns = ("person", "name", "manager", "skills", "shift_start", "shift_end", "breaks", "here_since")
    rows: list[tuple[object, ...]] = []
    for member in showing.kitchen.crew:
        who = (member.id, member.name, member.manager, sorted(member.skills))
        for shift in member.shifts:
            pauses = [f"{cell_of(pause.start)}/{cell_of(pause.end)}" for pause in shift.breaks]
            since = book.since(member.id, now) if shift.start <= now < shift.end else None
            rows.append((*who, shift.start, shift.end, pauses, since))
        if not member.shifts:
            rows.append((*who, None, None, [], book.since(member.id, now)))
    return Listed(columns, rows)


def par_levels(showing: Showing, _: str) -> Listed:
    """A row for each product that a counter is to have, with its last count."""
    counts = showing.snapshot.state.by_hand.counts
    columns = ("station", "product", "quantity", "unit", "by", "last_count", "counted_at", "counted_by")
    rows = []
    for par in showing.kitchen.par_levels:
        last = counts.get((par.station, par.product))
        told = (last.quantity.value, last.at, last.by) if last is not None else (None, None, None)
        rows.append((par.station, par.product, *_both(par.quantity), par.by, *told))
    return Listed(columns, rows)


def recipes(showing: Showing, _: str) -> Listed:
    """A row for each thing that each step of each recipe in use takes; one for a step that takes nothing."""
    columns = (
        "recipe", "name", "revision", "makes", "yield", "yield_unit", "step", "title", "ingredient", "component",
        "quantity", "unit", "allergens",
    )  # fmt: skip
    rows: list[tuple[object, ...]] = []
    for recipe in showing.kitchen.recipes:
        head = (recipe.id, recipe.name, recipe.revision, recipe.makes, *_both(recipe.yields))
        for step in recipe.steps:
            rows += [
                (*head, step.id, step.title, take.ingredient, take.component, *_both(take.amount), take.allergens)
                for take in step.takes
            ] or [(*head, step.id, step.title, None, None, None, None, ())]
    return Listed(columns, rows)
