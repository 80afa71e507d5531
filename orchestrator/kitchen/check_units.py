"""Units that must agree, and amounts that can be."""

from orchestrator.core.models import Measure, Step
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.kitchen.draft import Draft, RecipeDraft


def _differs(given: Quantity, wanted: Unit, of_what: str) -> tuple[str, str]:
    return f"{_shown(given)} cannot be compared with {of_what}, in {wanted}", f"write it in {wanted}"


def _shown(amount: Quantity) -> str:
    return f"{amount.value:g} {amount.unit}"


def check_equipment_units(draft: Draft) -> None:
    """Least and capacity have one unit, in the right order; machines of one kind count alike."""
    units: dict[str, tuple[Unit, str]] = {}
    for entry in draft.equipment:
        machine = entry.value
        if machine is None:
            continue
        if machine.capacity is None:
            if machine.least is not None:
                entry.add(("least",), "there is a least but no capacity", "add `capacity: ...`")
            if machine.shared:
                entry.add(("shared",), "shared needs a capacity that can be filled", "add `capacity: ...`")
            continue
        if machine.capacity.value <= 0:
            entry.add(("capacity",), "the capacity is nothing", "write more than 0")
        if machine.least is not None and machine.least.unit != machine.capacity.unit:
            entry.add(("least",), *_differs(machine.least, machine.capacity.unit, "the capacity"))
        elif machine.least is not None and machine.least.value > machine.capacity.value:
            what = f"the least, {_shown(machine.least)}, is more than the capacity, {_shown(machine.capacity)}"
            entry.add(("least",), what, "swap the two, or correct one")
        unit, other = units.setdefault(machine.kind, (machine.capacity.unit, str(machine.id)))
        if unit != machine.capacity.unit:
            what = f"{machine.kind!r} is counted in {machine.capacity.unit} here and in {unit} for {other}"
            entry.add(("capacity",), what, "count all machines of a kind in one unit")
    for entry in draft.equipment:
        band = entry.value.holds if entry.value else None
        if band is not None and band.low is not None and band.low >= band.high:
            entry.add(("holds",), f"low, {band.low:g} °C, is not below high, {band.high:g} °C", "swap the two")


def check_recipe_units(draft: Draft) -> None:
    """Amounts of a recipe are in units that fit what they are compared with, and above nothing."""
    yields = {recipe.id: recipe.yields for recipe in draft.recipes}
    capacity_units = {
        entry.value.kind: entry.value.capacity.unit
        for entry in reversed(draft.equipment)
        if entry.value is not None and entry.value.capacity is not None
    }
    for recipe in draft.recipes:
        _batch_units(recipe)
        for index, step in recipe.steps.items():
            _load(recipe, index, step, capacity_units)
            _step_units(recipe, index, step)
            for number, take in enumerate(step.takes):
                where = ("steps", index, "takes", number, "amount")
                made = yields.get(take.component) if take.component else None
                if take.amount.value <= 0:
                    recipe.add(where, "the amount is nothing", "write more than 0, or take the line out")
                elif made is not None and take.amount.unit != made.unit:
                    recipe.add(where, *_differs(take.amount, made.unit, f"the yield of {take.component}"))


def _batch_units(recipe: RecipeDraft) -> None:
    if recipe.yields is None:
        return
    if recipe.yields.value <= 0:
        recipe.add(("yields",), "the yield is nothing", "write more than 0")
    if recipe.batch is None:
        return
    least, most = recipe.batch.least, recipe.batch.most
    for key, amount in (("least", least), ("most", most)):
        if amount.unit != recipe.yields.unit:
            recipe.add(("batch", key), *_differs(amount, recipe.yields.unit, "the yield"))
        elif amount.value <= 0:
            recipe.add(("batch", key), f"the {key} of a batch is nothing", "write more than 0")
    if least.unit == most.unit and least.value > most.value:
        what = f"the least of a batch, {_shown(least)}, is more than its most, {_shown(most)}"
        recipe.add(("batch", "least"), what, "swap the two, or correct one")


def _load(recipe: RecipeDraft, index: int, step: Step, capacity_units: dict[str, Unit]) -> None:
    unit = capacity_units.get(step.equipment) if step.equipment else None
    if unit is None:
        return
    if step.load is None:
        what = f"{step.id!r} says nothing of how much of the {step.equipment} it takes"
        recipe.add(("steps", index), what, f"add `load: ... {unit}`")
    elif step.load.unit != unit:
        where = ("steps", index, "load")
        recipe.add(where, *_differs(step.load, unit, f"the capacity of the {step.equipment}"))
    elif step.load.value <= 0:
        recipe.add(("steps", index, "load"), "the load is nothing", "write more than 0")


def _step_units(recipe: RecipeDraft, index: int, step: Step) -> None:
    if recipe.yields is None:
        return
    if step.loss is not None and step.loss.unit != recipe.yields.unit:
        recipe.add(("steps", index, "loss"), *_differs(step.loss, recipe.yields.unit, "the yield"))
    if step.cycle is not None and recipe.yields.unit is not Unit.EACH:
        what = f"trays of pieces need a recipe that yields pieces, not {recipe.yields.unit}"
        recipe.add(("steps", index, "cycle"), what, "write the yield in each, or give a duration")
    if step.measure is Measure.COUNT and recipe.yields.unit is not Unit.EACH:
        what = f"a count needs a recipe that yields pieces, not {recipe.yields.unit}"
        recipe.add(("steps", index, "measure"), what, "write weight_kg or volume_l")


def check_order_units(draft: Draft) -> None:
    """Orders and stock are in the unit in which the product is made."""
    yields = {recipe.id: recipe.yields for recipe in draft.recipes}
    for order in draft.orders:
        for index, line in enumerate(order.value.lines if order.value else ()):
            made, where = yields.get(line.product), ("lines", index, "quantity")
            if made is not None and line.quantity.unit != made.unit:
                order.add(where, *_differs(line.quantity, made.unit, f"the yield of {line.product}"))
            elif line.quantity.value <= 0:
                order.add(where, "the quantity is nothing", "write more than 0, or take the line out")
    for lot in draft.stock:
        made = yields.get(lot.value.recipe) if lot.value else None
        if lot.value is not None and made is not None and lot.value.quantity.unit != made.unit:
            lot.add(("quantity",), *_differs(lot.value.quantity, made.unit, f"the yield of {lot.value.recipe}"))
        elif lot.value is not None and lot.value.quantity.value <= 0:
            lot.add(("quantity",), "the quantity is nothing", "write more than 0, or take the lot out")
