"""Time to a target, with an interval: one estimator for each kind of process."""

from orchestrator.thermal.estimates.by_weights import ByWeights, UsualWay, takes_longer, usual_way
from orchestrator.thermal.estimates.choose import choose, choose_weight, learns_pace, recall
from orchestrator.thermal.estimates.clock import TOO_FEW, Estimator, Prior
from orchestrator.thermal.estimates.pace import Bands, PaceRecorder, Usual, usual
from orchestrator.thermal.estimates.recalled import Recalled

__all__ = [
    "TOO_FEW",
    "Bands",
    "ByWeights",
    "Estimator",
    "PaceRecorder",
    "Prior",
    "Recalled",
    "Usual",
    "UsualWay",
    "choose",
    "choose_weight",
    "learns_pace",
    "recall",
    "takes_longer",
    "usual",
    "usual_way",
]
