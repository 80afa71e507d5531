"""Food as lumps of heat: enthalpy decides the temperature, so that freezing and boiling take their time."""

from bisect import bisect_right
from dataclasses import dataclass, field
from typing import Final

EVAPORATION_KJ_PER_KG: Final = 2257.0
"""Heat that boils a kilogram of water away. Source: steam tables, water at 100 °C (from memory)."""


@dataclass(frozen=True, slots=True)
class Material:
    """How the temperature of something follows its enthalpy.

    ``points`` are (temperature °C, enthalpy kJ/kg) in rising order; between them it is a straight line,
    so a freezing plateau is a nearly level piece.
    """

    name: str
    points: tuple[tuple[float, float], ...]
    boils_c: float = 100.0
    """Boiling point at the kitchen's height; heat beyond it carries water off instead."""

    def celsius(self, enthalpy_kj_per_kg: float) -> float:
        """Temperature at that enthalpy, °C."""
        return _along(tuple((h, t) for t, h in self.points), enthalpy_kj_per_kg)

    def enthalpy(self, celsius: float) -> float:
        """Enthalpy at that temperature, kJ/kg, measured from the first point of the table."""
        return _along(self.points, celsius)


def _along(points: tuple[tuple[float, float], ...], x: float) -> float:
    """Straight lines through the points, continued beyond the first and the last."""
    place = min(max(bisect_right(points, x, key=lambda p: p[0]), 1), len(points) - 1)
    (x0, y0), (x1, y1) = points[place - 1], points[place]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


def _from_steps(name: str, *steps: tuple[float, float], start_c: float = -45.0) -> Material:
    """A table from (up to °C, kJ/kg for each degree on the way there)."""
    at, enthalpy = start_c, 0.0
    points = [(at, enthalpy)]
    for until_c, heat in steps:
        enthalpy += heat * (until_c - at)
        at = until_c
        points.append((at, enthalpy))
    return Material(name, tuple(points))


# Heats are our own round figures for the simulation: water 4.19 above and 2.1 kJ/(kg K) below freezing with 334
# kJ/kg between (textbook values, from memory); a mix melts over some twenty degrees and takes most heat near -3.
WATER: Final = _from_steps("water", (-0.02, 2.1), (0.0, 334.0 / 0.02), (100.0, 4.19))
MIX: Final = _from_steps(
    "mix", (-25.0, 2.3), (-15.0, 4.5), (-10.0, 7.0), (-6.0, 12.0), (-4.0, 24.0), (-2.6, 60.0), (100.0, 3.4)
)
DRY: Final = _from_steps("dry", (300.0, 1.8))
MATERIALS: Final = {m.name: m for m in (WATER, MIX, DRY)}


@dataclass(slots=True)
class Body:
    """A lump of food: one batch, wherever it is."""

    material: Material
    mass_kg: float
    enthalpy_kj_per_kg: float = field(default=0.0)

    @classmethod
    def at(cls, material: Material, mass_kg: float, celsius: float) -> "Body":
        """A lump of that mass at that temperature."""
        return cls(material, mass_kg, material.enthalpy(celsius))

    @property
    def celsius(self) -> float:
        """Its temperature, °C; never above boiling while there is water to lose."""
        return self.material.celsius(self.enthalpy_kj_per_kg)

    def heat(self, kj: float) -> None:
        """Take in (or, negative, give off) heat; past boiling it loses water instead of getting hotter."""
        self.enthalpy_kj_per_kg += kj / self.mass_kg
        if self.material is DRY:
            return
        excess = self.enthalpy_kj_per_kg - self.material.enthalpy(self.material.boils_c)
        if excess > 0:
            boiled_kg = excess * self.mass_kg / EVAPORATION_KJ_PER_KG
            self.enthalpy_kj_per_kg -= excess
            self.mass_kg = max(self.mass_kg - boiled_kg, 0.05)
