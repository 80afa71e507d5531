"""Whether a temperature that somebody typed can be meant as it stands: a unit mistaken is asked about, not guessed."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final, Literal

from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.models import Band, Equipment, Kitchen, PlannedTask, Step, TaskKind
from orchestrator.core.plan_index import kitchen_index
from orchestrator.core.state import Facts, State, TaskStatus

_FAR_C: Final = 8.0
"""So far outside the usual a reading is asked about, if another unit explains it; as for probes, ours."""
_FIT_C: Final = 3.0
"""So near the usual the other unit must come; codes round, hands are quick. Ours."""
_BESIDE_C: Final = 5.0
"""Between a probe and a hand-held thermometer in the same food; ours."""
_OVER_BOILING_C: Final = 115.0
"""No mix or puree with water in it gets hotter; sugar work may. Ours, on the safe side."""
_HEATING_ABOVE_C: Final = 10.0
_FROZEN_BELOW_C: Final = 30.0
_SINCE_C: Final = 20.0
"""Between two readings by hand in one step; ours."""
_COMES: Final = {"cold": (-1.0, 20.0), "frozen": (-40.0, -10.0)}
"""Between which a van that cools, and one that does not, brings food; °C, ours."""
_NEVER: Final = datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Doubt:
    """A typed value that does not fit."""

    typed: float
    """In the kitchen's unit."""
    unit: Literal["C", "F"]
    meant: float | None
    """In the kitchen's unit, were it typed in the other one; none where that would not fit either."""


def doubt_of(state: State, facts: Facts, task: PlannedTask, celsius: float) -> Doubt | None:
    """What must be asked about a reading by hand; none where it fits.

    Args:
        state: What is known.
        facts: The latest fact of every probe: a fresh one in the food says best what to expect.
        task: Where it is entered.
        celsius: As typed, taken for the kitchen's unit.
    """
    kitchen = state.kitchen
    if kitchen is None:
        return None
    return _doubt(kitchen, list(_usual(state, facts, task, kitchen)), celsius)


def doubt_in_place(kitchen: Kitchen, place: Equipment, celsius: float) -> Doubt | None:
    """What must be asked about a reading by hand in what stands in a store; none where it fits."""
    return _doubt(kitchen, [_held_at(place.holds)] if place.holds is not None else [], celsius)


def doubt_on_arrival(kitchen: Kitchen, keep: str, celsius: float) -> Doubt | None:
    """What must be asked about the temperature of a delivery; none where it fits, or nothing is kept cold.

    What comes too warm is judged, not asked about: in doubt is what the other unit alone explains, such as 9 typed for
    milk at 9 °C where the field counts in Fahrenheit, which would pass as colder than its limit.
    """
    return _doubt(kitchen, [_COMES[keep]], celsius) if keep in _COMES else None


def _held_at(holds: Band) -> tuple[float, float]:
    return (holds.high - _FROZEN_BELOW_C if holds.low is None else holds.low), holds.high


def _doubt(kitchen: Kitchen, usual: list[tuple[float, float]], celsius: float) -> Doubt | None:
    if not usual or any(low <= celsius <= high for low, high in usual):
        return None
    unit = kitchen.temperature_unit
    meant_c = (celsius - 32.0) / 1.8 if unit == "C" else celsius * 1.8 + 32.0
    fits = any(low - _FIT_C <= meant_c <= high + _FIT_C for low, high in usual)
    far = all(celsius < low - _FAR_C or celsius > high + _FAR_C for low, high in usual)
    typed = celsius if unit == "C" else celsius * 1.8 + 32.0
    meant = meant_c if unit == "C" else meant_c * 1.8 + 32.0
    if fits and far:
        return Doubt(round(typed, 1), unit, round(meant, 1))
    return Doubt(round(typed, 1), unit, None) if celsius > _OVER_BOILING_C else None


def _usual(state: State, facts: Facts, task: PlannedTask, kitchen: Kitchen) -> Iterator[tuple[float, float]]:
    """Where the food is when all is well: by a probe in it, else by what is asked of it, °C; several may be."""
    known, record = kitchen_index(kitchen), state.record(task.id)
    place = record.equipment or task.equipment
    here = known.equipment.get(place) if place is not None else None
    in_hand = record.status is TaskStatus.IN_HAND
    for fact in facts.values() if in_hand else ():
        fresh = fact.measured_at is not None and fact.celsius is not None and fact.silent_since is None
        if fact.task == task.id and fresh and fact.believable and fact.celsius is not None:
            yield fact.celsius - _BESIDE_C, fact.celsius + _BESIDE_C
            return
    if in_hand and record.hand_readings and record.hand_readings[-1][0] >= (record.started_at or _NEVER):
        before = record.hand_readings[-1][1]
        yield before - _SINCE_C, before + _SINCE_C
    step = known.step(task)
    if not in_hand:
        yield from _asked_before(step)
    elif task.kind is TaskKind.STAY:
        holds = here.holds if here is not None else None
        if holds is not None:
            yield _held_at(holds)
    elif step is not None and step.target is not None:
        target = step.target
        if target.at_least is not None:
            yield target.at_least - _FIT_C, max(target.ceiling or 0.0, target.at_least + _HEATING_ABOVE_C)
        elif target.at_most is not None:
            # What is not to be frozen is seldom measured below 2 °C.
            low = 2.0 if target.at_most > 0.0 else target.at_most - _FROZEN_BELOW_C
            yield min(low, target.at_most), target.at_most


def _asked_before(step: Step | None) -> Iterator[tuple[float, float]]:
    """What the start gates ask of the food."""
    for gate in step.gates if step is not None else ():
        if gate.of == "before" and gate.at_most is not None:
            yield gate.at_most - _HEATING_ABOVE_C, gate.at_most
        elif gate.of == "before" and gate.at_least is not None:
            yield gate.at_least, gate.at_least + _FROZEN_BELOW_C


def asked_about(doubt: Doubt, thing: str) -> Refusal:
    """The question, as a refusal that the same reading passes once somebody says that it is so."""
    other = "F" if doubt.unit == "C" else "C"
    if doubt.meant is None:
        status = f"{doubt.typed:g} °{doubt.unit} is hotter than this food can be"
        remedy = "look at the thermometer again; if it is so, say that it is"
    else:
        status = (
            f"{doubt.typed:g} °{doubt.unit} does not fit; read in °{other} it would be {doubt.meant:g} °{doubt.unit}"
        )
        remedy = "say which unit the thermometer shows"
    return Refusal(code=RefusalCode.DOUBTFUL, thing=thing, status=status, remedy=remedy, meant=doubt.meant)
