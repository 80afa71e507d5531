"""What stands where at this moment: read from a state as a visitor would see it through the window."""

from dataclasses import dataclass

from orchestrator.core.deviations.places import on_hand
from orchestrator.core.ids import EquipmentId
from orchestrator.core.models import PlannedTask, Process, Recipe, Target
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.plan_index import kitchen_index
from orchestrator.core.quantities import Unit
from orchestrator.core.state import State, TaskStatus
from orchestrator.simulator.places import driven_to

_WEIGHED = (Unit.LITRE, Unit.KILOGRAM)
"""A litre counts as a kilogram."""
_LEAST_KG = 0.2
_DRY = {Process.BAKE, Process.ROAST, Process.DEHYDRATE, Process.GRIND}


@dataclass(frozen=True, slots=True)
class Occupant:
    """Food in a place."""

    key: str
    """Lot code, or order id where there is no lot."""
    place: EquipmentId
    material: str
    mass_kg: float
    drive_c: float | None
    """What it is brought to."""


@dataclass(frozen=True, slots=True)
class Scene:
    """All food in all places, and whether people are at work."""

    occupants: tuple[Occupant, ...] = ()
    busy: bool = False


def scene_of(state: State) -> Scene:
    """The food that tasks in hand keep in their equipment, one entry a lot and place, and ingredients on hand there."""
    if state.plan is None or state.kitchen is None:
        return Scene()
    known = kitchen_index(state.kitchen)
    found: dict[tuple[str, EquipmentId], Occupant] = {}
    busy = False
    for task in state.plan.tasks:
        record = state.record(task.id)
        if record.status is not TaskStatus.IN_HAND:
            continue
        busy = busy or bool(task.attended)
        place = record.equipment or task.equipment
        if place is None:
            continue
        occupant = _occupant(task, place, known.made_by(task))
        earlier = found.get((occupant.key, place))
        mass = occupant.mass_kg + (earlier.mass_kg if earlier else 0.0)
        found[occupant.key, place] = Occupant(occupant.key, place, occupant.material, mass, occupant.drive_c)
    stands = (lot for place in state.kitchen.equipment if place.store for lot in on_hand(state, place.id))
    return Scene((*found.values(), *(_on_hand(state, lot) for lot in stands)), busy)


def _on_hand(state: State, lot: IngredientLot) -> Occupant:
    assert lot.place is not None  # it stands there
    left = state.pantry.left(lot.id) if lot.quantity.unit in _WEIGHED else 1.0
    return Occupant(str(lot.id), lot.place, "mix", max(left, _LEAST_KG), None)


def _occupant(task: PlannedTask, place: EquipmentId, recipe: Recipe | None) -> Occupant:
    dry = task.process in _DRY or (recipe is not None and any(step.process in _DRY for step in recipe.steps))
    target = None
    if recipe is not None and task.step is not None:
        target = next((step.target for step in recipe.steps if step.id == task.step), None)
    material = "dry" if dry and task.process is not Process.BLEND else "mix"
    return Occupant(
        str(task.lot or task.order or task.id), place, material, _mass_kg(task), _drive_c(task, target, dry)
    )


def _mass_kg(task: PlannedTask) -> float:
    quantity = task.quantity
    if quantity is not None and quantity.unit in _WEIGHED and quantity.value > 0:
        return max(quantity.value, _LEAST_KG)
    return max(min(task.load, 12.0), 1.0)


def _drive_c(task: PlannedTask, target: Target | None, dry: bool) -> float | None:
    usual = driven_to(dry, task.process.value)
    if target is None or target.at_least is None:
        return usual
    drive = target.at_least + 1.5
    return drive if target.ceiling is None else min(drive, (target.at_least + target.ceiling) / 2)
