"""The picture of a mix: how much of its water is ice at which temperature, warm left, cold right."""

from dataclasses import dataclass
from typing import Final

from orchestrator.core.views.mix import COLDEST_C, SCOOP_ICE, IceMark, MixView

GRID_C: Final = (0, -5, -10, -15, -20, -25)
GRID_ICE: Final = (0, 25, 50, 75, 100)
_ROWS: Final = (62.0, 83.0, 94.0)
"""Heights of the names below the curve, taken in turn so that near ones do not meet; none at a level's figure."""


@dataclass(frozen=True, slots=True)
class Marked:
    """A place on the curve; x and y 0..100, y downward."""

    mark: IceMark
    x: float
    y: float
    name_y: float
    """Of its name, below the curve."""


@dataclass(frozen=True, slots=True)
class IcePicture:
    """All that is drawn."""

    low: tuple[tuple[float, float], ...]
    high: tuple[tuple[float, float], ...]
    exact: bool
    """Whether both lines are one."""
    marks: tuple[Marked, ...]
    served: tuple[float, float, float] | None
    """x, and the upper and lower y, of the ice that is guided where it is scooped."""


def ice_picture(view: MixView) -> IcePicture | None:
    """The drawing of a mix; none where nothing freezes."""
    if not view.curve:
        return None
    low = tuple((_x(celsius), _y(least)) for celsius, least, _ in view.curve)
    high = tuple((_x(celsius), _y(most)) for celsius, _, most in view.curve)
    marks = tuple(
        Marked(mark, _x(mark.celsius), _y((mark.ice.low + mark.ice.high) / 2.0), _ROWS[number % len(_ROWS)])
        for number, mark in enumerate(view.marks)
    )
    scoop = next((mark for mark in view.marks if mark.name == "scoop"), None)
    served = (_x(scoop.celsius), _y(SCOOP_ICE[1]), _y(SCOOP_ICE[0])) if scoop is not None else None
    return IcePicture(low, high, all(abs(a[1] - b[1]) < 0.3 for a, b in zip(low, high, strict=True)), marks, served)


def grid_x(celsius: float) -> float:
    """Where a temperature stands."""
    return _x(celsius)


def _x(celsius: float) -> float:
    return round(100.0 * celsius / COLDEST_C, 2)


def _y(share: float) -> float:
    return round(100.0 * (1.0 - share), 2)
