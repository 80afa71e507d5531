"""Which estimator follows which process. The figures are our own, tuned on simulated curves of other seeds."""

from collections.abc import Iterable
from typing import Literal

from orchestrator.thermal.estimates.bank import Bank, Hypothesis, bank
from orchestrator.thermal.estimates.by_runs import ByRuns
from orchestrator.thermal.estimates.clock import Estimator, Prior, Tuning
from orchestrator.thermal.estimates.heating import heating_bank
from orchestrator.thermal.estimates.pace import Usual
from orchestrator.thermal.estimates.recalled import Recalled

Way = Literal["hob", "ice bath", "fridge", "age", "freeze", "harden", "temper"]


def _even(ends: Iterable[float], freezes: tuple[float | None, ...] = (None,)) -> tuple[Hypothesis, ...]:
    return tuple(Hypothesis(end, 1.0, at) for end in ends for at in freezes)


# What a hob's pan may lose; where a curve may come to rest: water with ice, a fridge, a freezer, a cabinet.
_WAYS: dict[Way, tuple[Bank, Tuning]] = {
    "hob": (
        heating_bank((0.1, 0.3, 0.5, 0.7, 0.85)),
        # Not the thermometer's noise: by so much a hand at the ring, a lid and a spoon make a pan leave any such curve.
        Tuning(1.6, (12.0, 3.0), 0.13, "hob", 0.3, 1.0, begins=20.0),
    ),
    "ice bath": (
        bank(_even((0.0, 0.8, 1.6, 2.5, 3.5)), "falls", -1.0, 110.0, 0.1),
        Tuning(0.4, (30.0, 10.0), 0.12, "ice bath", 0.3, 4.0),
    ),
    "fridge": (
        bank(_even((-1.0, 0.0, 1.0, 2.0, 3.0, 3.8)), "falls", -3.0, 110.0, 0.1),
        Tuning(0.3, (120.0, 30.0), 0.12, "fridge", 0.3, 15.0),
    ),
    "age": (
        bank(_even((-1.0, 0.0, 1.0, 2.0, 2.6, 3.2)), "falls", -3.0, 60.0, 0.05),
        Tuning(0.2, (120.0, 40.0), 0.12, "age", 0.3, 15.0),
    ),
    "freeze": (
        bank(_even((-38, -32, -27, -23, -19), (-0.8, -1.8, -2.8)), "falls", -45.0, 60.0, 0.1),
        Tuning(0.3, (240.0, 60.0), 0.15, "freeze", 0.9, 10.0),
    ),
    "harden": (
        bank(_even((-38, -33, -28, -24, -21, -18.5), (-1.8, -2.8)), "falls", -45.0, 30.0, 0.1),
        Tuning(0.25, (240.0, 60.0), 0.15, "harden", 0.9, 15.0),
    ),
    "temper": (
        bank(_even((-8, -5, -3, 0, 3, 6, 15), (-2.6,)), "rises", -45.0, 25.0, 0.1),
        Tuning(0.25, (40.0, 10.0), 0.12, "temper", 0.6, 3.0),
    ),
}
_BOILING = (
    # Boiling away takes no notice of how much is left.
    bank(_even((-20.0, -1.0)), "falls", 0.0, 1.3, 0.001),
    Tuning(0.004, (60.0, 15.0), 0.1, "simmer", 0.4, 0.0, 2),
)
_DRYING = Tuning(0.005, (900.0, 250.0), 0.1, "dehydrate", 0.5, 0.0, 2)
_DRY_ENDS = (-1.0, 0.0, 0.4, 0.6, 0.8, 0.92)
"""Where drying comes to rest, as shares of the target: the nearer, the slower its end."""


def learns_pace(process: str, *, falls: bool, target: float) -> bool:
    """Whether earlier runs tell of the next: of heating on a ring, where pan, power and losses are the same."""
    return _way(process, falls, target, "") == "hob"


def recall(plain: Estimator, known: Usual, *, scale: float, target: float) -> Recalled:
    """The estimator of a step that was done before in the same place.

    Args:
        plain: Without that.
        known: What earlier runs showed.
        scale: Of this batch.
        target: °C.
    """
    return Recalled(plain, ByRuns(known, scale, target), known.runs)


def choose(process: str, *, falls: bool, target: float, place: str = "", prior: Prior | None = None) -> Estimator:
    """The estimator of a step that is followed by temperature.

    Args:
        process: the step's process, in the words of recipes.
        falls: whether the target lies below the start.
        target: °C.
        place: kind of equipment; an ice bath is told from a fridge by it.
        prior: the recipe's minutes.
    """
    tables, tuning = _WAYS[_way(process, falls, target, place)]
    return Estimator(tables, tuning, prior, target)


def choose_weight(process: str, *, target: float, prior: Prior | None = None) -> Estimator:
    """The estimator of a step that is followed by weight, as shares of the first one; ``target`` is a share too."""
    if process != "dehydrate":
        return Estimator(*_BOILING, prior, target)
    rounded = round(target, 2)
    return Estimator(bank(_even(e * rounded for e in _DRY_ENDS), "falls", 0.0, 1.2, 0.001), _DRYING, prior, target)


def _way(process: str, falls: bool, target: float, place: str) -> Way:
    if not falls:
        return "temper" if process == "temper" or target < 0.0 else "hob"
    if process == "harden":
        return "harden"
    if target < -3.0:
        return "freeze"
    if process == "age":
        return "age"
    return "fridge" if "fridge" in place or process == "store" else "ice bath"
