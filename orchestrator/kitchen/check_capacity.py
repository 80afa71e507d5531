"""Batches that fit their machines: never more than they hold, never less than they can run."""

import math

from orchestrator.core.models import Equipment, Step
from orchestrator.core.quantities import Unit
from orchestrator.kitchen.draft import Draft, RecipeDraft

_WHOLE = (Unit.EACH, Unit.TRAY)
_SLACK = 1e-9
"""Rounding of floats, far below a drop."""


def check_batches(draft: Draft) -> None:
    """The loads of the least and of the most of a batch lie within what a machine takes."""
    for recipe in draft.recipes:
        scales = _scales(recipe)
        if scales is None:
            continue
        for step in recipe.steps.values():
            machines = _machines(draft, step)
            if step.per == "batch" and step.load is not None and machines:
                _too_much(recipe, step, machines, scales)
                _too_little(recipe, step, machines, scales)


def losses(recipe: RecipeDraft) -> float:
    """What stays in the machines per batch, in the unit of the yield."""
    return sum(step.loss.value for step in recipe.steps.values() if step.loss is not None)


def _scales(recipe: RecipeDraft) -> tuple[float, float] | None:
    """By how much the written amounts are multiplied for the least and the most of a batch."""
    if recipe.yields is None or recipe.batch is None or recipe.yields.value <= 0:
        return None
    amounts = [recipe.batch.least, recipe.batch.most, *(s.loss for s in recipe.steps.values() if s.loss is not None)]
    if any(amount.unit != recipe.yields.unit for amount in amounts):
        return None
    lost = losses(recipe)
    return (recipe.batch.least.value + lost) / recipe.yields.value, (
        recipe.batch.most.value + lost
    ) / recipe.yields.value


def _machines(draft: Draft, step: Step) -> list[Equipment]:
    """Machines of the step's kind that have a capacity in the unit of its load."""
    found = [entry.value for entry in draft.equipment if entry.value and entry.value.kind == step.equipment]
    return [m for m in found if m.capacity is not None and step.load is not None and m.capacity.unit == step.load.unit]


def _loaded(step: Step, scale: float) -> float:
    assert step.load is not None  # the callers see to it
    amount = step.load.value * scale
    return math.ceil(amount - _SLACK) if step.load.unit in _WHOLE else amount


def _too_much(recipe: RecipeDraft, step: Step, machines: list[Equipment], scales: tuple[float, float]) -> None:
    assert recipe.batch is not None
    assert recipe.yields is not None
    assert step.load is not None
    capacity = max(machine.capacity.value for machine in machines if machine.capacity is not None)
    load = _loaded(step, scales[1])
    if load <= capacity + _SLACK or step.load.value <= 0:
        return
    unit, most = step.load.unit, recipe.batch.most
    what = (
        f"a batch of {most.value:g} {most.unit} loads {load:.4g} {unit} at {step.id!r}, "
        f"more than the {capacity:g} {unit} of the {step.equipment}"
    )
    fits = capacity / step.load.value * recipe.yields.value - losses(recipe)
    fits = math.floor(fits * 100 + _SLACK) / 100
    remedy = f"lower most to {fits:g} {most.unit}" if fits > 0 else "lower the load, or use a larger machine"
    recipe.add(("batch", "most"), what, remedy)


def _too_little(recipe: RecipeDraft, step: Step, machines: list[Equipment], scales: tuple[float, float]) -> None:
    assert recipe.batch is not None
    assert recipe.yields is not None
    assert step.load is not None
    needed = min(_least(machine) for machine in machines)
    low, high = (_loaded(step, scale) for scale in scales)
    if low >= needed - _SLACK or step.load.value <= 0:
        return
    unit = step.load.unit
    if high < needed - _SLACK:
        what = f"no batch ever loads the {needed:g} {unit} that the {step.equipment} needs at {step.id!r}"
        remedy = f"the most of a batch loads {high:.4g} {unit}: make batches larger, or use a smaller machine"
        recipe.add(("batch", "most"), what, remedy)
        return
    least = recipe.batch.least
    what = (
        f"a batch of {least.value:g} {least.unit} loads {low:.4g} {unit} at {step.id!r}, "
        f"less than the {needed:g} {unit} that the {step.equipment} needs"
    )
    fits = math.ceil((needed / step.load.value * recipe.yields.value - losses(recipe)) * 100 - _SLACK) / 100
    recipe.add(("batch", "least"), what, f"raise least to {fits:g} {least.unit}")


def _least(machine: Equipment) -> float:
    """The least of a run, 0 if there is none or it is a fault of its own."""
    least, capacity = machine.least, machine.capacity
    if least is None or capacity is None or least.unit != capacity.unit or least.value > capacity.value:
        return 0.0
    return least.value


def check_runs(draft: Draft) -> None:
    """What is done per order fits its machine."""
    recipes = {recipe.id: recipe for recipe in draft.recipes}
    for order in draft.orders:
        for index, line in enumerate(order.value.lines if order.value else ()):
            recipe = recipes.get(line.product)
            if recipe is None or recipe.yields is None or recipe.yields.unit != line.quantity.unit:
                continue
            for step in recipe.steps.values():
                machines = _machines(draft, step)
                if step.per != "order" or step.load is None or not machines or recipe.yields.value <= 0:
                    continue
                load = _loaded(step, line.quantity.value / recipe.yields.value)
                capacity = max(machine.capacity.value for machine in machines if machine.capacity is not None)
                if load > capacity + _SLACK:
                    unit = step.load.unit
                    holds = f"the {capacity:g} {unit} of the {step.equipment}"
                    what = f"{step.id!r} loads {load:.4g} {unit}, more than {holds}"
                    order.add(("lines", index, "quantity"), what, "split the line between two orders")
