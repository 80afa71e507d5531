"""One way to help an order."""

from dataclasses import dataclass

from orchestrator.core.models.change import Change
from orchestrator.core.models.remedy import RemedyKind


@dataclass(frozen=True, slots=True)
class Offer:
    """A ladder from little to much: if a rung helps, so most likely do those above it."""

    kind: RemedyKind
    rungs: tuple[tuple[Change, ...], ...]
