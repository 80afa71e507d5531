"""The search of one question in numbers: first with what people are about to begin in its place."""

import logging
from collections.abc import Callable
from dataclasses import dataclass, replace

from orchestrator.planner.imminent import hold_imminent
from orchestrator.planner.posing import Posed
from orchestrator.planner.problem import Schedule
from orchestrator.planner.repair import clearly_better
from orchestrator.planner.score import savable, score

LOG = logging.getLogger(__name__)
_HELD_SHARE = 0.6
"""Of the time, for a search that moves nothing people are about to begin; the rest, if that cannot save an order."""


@dataclass(frozen=True, slots=True)
class How:
    """How to search: the keywords of `solve`."""

    seconds: float
    seed: int
    deterministic: bool
    stop: Callable[[], bool] | None = None
    on_better: Callable[[Schedule], None] | None = None

    @property
    def stopped(self) -> bool:
        """Whether somebody has told it to end."""
        return self.stop is not None and self.stop()

    def share(self, part: float) -> "How":
        """The same with part of its seconds."""
        return replace(self, seconds=self.seconds * part)


def search(posed: Posed, how: How) -> list[Schedule]:
    """Improve the guess with what people are about to begin in its place; if orders or windows suffer, without.

    Returns:
        What was found, nothing if the solver fails.
    """
    held = hold_imminent(posed.problem, posed.guess)
    if held is posed.problem:
        return _improve(posed, how)
    found = _improve(replace(posed, problem=held), how.share(_HELD_SHARE))
    best = min([*found, posed.guess], key=lambda s: score(posed.problem, s))
    worth = score(posed.problem, best)
    if how.stopped or not (worth.unmet or worth.breaks or savable(posed.problem, best, worth).late):
        return found
    freed = _improve(replace(posed, guess=best), how.share(1 - _HELD_SHARE))
    worthwhile = [s for s in freed if clearly_better(score(posed.problem, s), worth)]
    return worthwhile or found


def _improve(posed: Posed, how: How) -> list[Schedule]:
    """What the solver makes of the guess; nothing, and a line in the log, if it fails."""
    # Imported late: the solver takes longer to load than a repair takes to make.
    from orchestrator.planner.solve import solve

    try:
        found = solve(
            posed.problem,
            posed.guess,
            seconds=how.seconds,
            seed=how.seed,
            deterministic=how.deterministic,
            on_better=how.on_better,
            stop=how.stop,
        )
        return [found]
    except Exception:
        # A fault of ours; the kitchen still needs its plan, and the guess is one.
        LOG.exception("the solver failed; the first guess is kept")
        return []
