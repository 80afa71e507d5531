"""Between which figures mixes of a kind usually lie: to see at a glance what is unusual, no rule."""

from dataclasses import dataclass
from typing import Final

from orchestrator.core.mix.composition import Composition
from orchestrator.thermal.mix import FIGURES, Range

GUELPH: Final = "University of Guelph, ice cream mix, general composition"
PRACTICE: Final = "common practice"
SCOOP_C: Final = -13.0
"""Where ice cream is scooped: common practice."""
SCOOP_ICE: Final = (0.65, 0.70)
"""Share of the water frozen where it is served. A guideline of Mullan, dairyscience.info, freezing point curves."""


@dataclass(frozen=True, slots=True)
class Usual:
    """A range, and who says so."""

    least: float
    most: float
    source: str

    def mark(self, found: Range) -> str:
        """``below``, ``above``, ``within``, or ``open`` where an unknown ingredient decides."""
        if found.high < self.least:
            return "below"
        if found.low > self.most:
            return "above"
        return "within" if self.least <= found.low and found.high <= self.most else "open"


ICE_CREAM: Final = {
    "milk_fat": Usual(10.0, 16.0, GUELPH),
    "milk_solids_not_fat": Usual(9.0, 12.0, GUELPH),
    "total_solids": Usual(36.0, 45.0, GUELPH),
    "water": Usual(55.0, 64.0, GUELPH),
    "sweetness": Usual(13.0, 18.0, PRACTICE),
}
"""Total solids: what the water there leaves."""
SORBET: Final = {
    "sugars": Usual(24.0, 31.0, PRACTICE),
    "total_solids": Usual(26.0, 36.0, PRACTICE),
    "sweetness": Usual(20.0, 30.0, PRACTICE),
}


def usual(made: Composition) -> dict[str, Usual]:
    """Ranges for a frozen mix: as ice cream with milk fat from 2 % on, else as sorbet."""
    return ICE_CREAM if FIGURES["milk_fat"].of(made.mixed).high >= 2.0 else SORBET
