"""Deviations: opened by what happens, followed through the food that was made, closed when every lot is decided."""

from orchestrator.core.deviations.follow import followed
from orchestrator.core.deviations.standing import asked_about, of_lot, open_deviations, undecided

__all__ = ["asked_about", "followed", "of_lot", "open_deviations", "undecided"]
