"""What people read off scales, jugs and refractometers: about what was expected, never quite."""

from typing import Final

from orchestrator.core.models import Measure, PlannedTask, Step
from orchestrator.core.quantities import Unit
from orchestrator.core.state import TaskRecord
from orchestrator.simulator.people import People

_KG_PER_L: Final = 1.09
"""Of a dessert mix. Source: University of Guelph, ice cream pages: 1090 g/L."""
_SPREAD: Final = 0.015


def measured(crew: People, task: PlannedTask, record: TaskRecord, step: Step | None) -> dict[Measure, float]:
    """The value that the step asks for; empty when it asks for none."""
    if step is None or step.measure is None:
        return {}
    about = crew.draw(f"measure {task.id}")
    factor = 1.0 + crew.variation * min(max(about.gauss(-0.01, _SPREAD), -0.06), 0.06)
    amount = task.quantity.value if task.quantity is not None else task.load
    unit = task.quantity.unit if task.quantity is not None else Unit.LITRE
    match step.measure:
        case Measure.COUNT:
            return {Measure.COUNT: float(record.pieces or round(amount))}
        case Measure.WEIGHT_KG:
            kg = amount * _KG_PER_L if unit is Unit.LITRE else amount
            return {Measure.WEIGHT_KG: round(kg * factor, 3)}
        case Measure.VOLUME_L:
            litres = amount / _KG_PER_L if unit is Unit.KILOGRAM else amount
            return {Measure.VOLUME_L: round(litres * factor, 2)}
        case Measure.BRIX:
            return {Measure.BRIX: round(28.0 * factor, 1)}
        case Measure.TEMPERATURE_C:
            return {Measure.TEMPERATURE_C: round(_temperature_c(crew, task, step), 1)}


def _temperature_c(crew: People, task: PlannedTask, step: Step) -> float:
    by_hand = crew.measure_c(str(task.lot or task.order or ""))
    if by_hand is not None:
        return by_hand
    return 20.0 if step.target is None else step.target.celsius
