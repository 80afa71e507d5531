"""Figures of mixes and ranges for them, for those who may not ask for numbers themselves."""

from typing import Final

from orchestrator.thermal.mix import FIGURES, Range
from orchestrator.thermal.mix_balance import Wanted

FIGURE_NAMES: Final = tuple(FIGURES)
"""In the order in which they are shown."""

__all__ = ["FIGURES", "FIGURE_NAMES", "Range", "Wanted"]
