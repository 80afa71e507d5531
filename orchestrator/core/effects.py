"""What the engine is asked to do after events are on disk. Timers are not among them: they are derived."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class AskForPlan:
    """Ask the planner for a new revision; several at once are one question."""

    reason: str


Effect = AskForPlan
