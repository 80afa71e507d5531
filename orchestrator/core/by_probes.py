"""What the probes in one food say together: the worst decides, and what is in the food comes before air."""

from collections.abc import Iterable, Sequence
from datetime import datetime

from orchestrator.core.ids import TaskId
from orchestrator.core.models import ProbeFact
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.thermal.verdict import WORST_FIRST

_NEVER = float("inf")


def heard(facts: Iterable[ProbeFact], task: TaskId, since: datetime | None) -> list[ProbeFact]:
    """Facts of probes that have shown something of a task; one that was not heard since its start is in no food."""
    return [
        fact
        for fact in facts
        if fact.task == task
        and (since is None or fact.measured_at is None or fact.measured_at >= since or fact.met_at is not None)
    ]


def met_by_all(facts: Iterable[ProbeFact], task: TaskId, since: datetime | None) -> bool:
    """Whether every probe heard in the food of a task has met its target; false where there is none."""
    found = heard(facts, task, since)
    return bool(found) and all(fact.met_at is not None for fact in found)


def deciding(facts: Iterable[ProbeFact], task: TaskId, since: datetime | None) -> ProbeFact | None:
    """Of the probes heard in the food of a task, the one that decides: the worst verdict, else a target not met."""
    found = heard(facts, task, since)
    return min(found, key=_worst_first, default=None)


def verdicts_on(facts: Iterable[ProbeFact], task: TaskId) -> list[LimitVerdict]:
    """All verdicts on a task: of steps with a target, and of stays and draws."""
    found = []
    for fact in facts:
        if fact.task == task and fact.verdict is not None:
            found.append(fact.verdict)
        found += [kept.verdict for kept in fact.kept if kept.task == task]
    return found


def worst_verdict(facts: Iterable[ProbeFact], task: TaskId) -> LimitVerdict | None:
    """The one that decides: those of probes in the food before those of air, and of these the worst."""
    return worst(verdicts_on(facts, task))


def worst(found: Sequence[LimitVerdict]) -> LimitVerdict | None:
    """Of verdicts on one task, the one that decides; none where there is none."""
    in_food = [one for one in found if one.of == "food"]
    return min(in_food or found, key=_rank, default=None)


def _rank(said: LimitVerdict) -> tuple[int, float, float]:
    degrees = _NEVER if said.margin_degrees is None else said.margin_degrees
    return WORST_FIRST.index(said.status), degrees, _NEVER if said.margin_min is None else said.margin_min


def _worst_first(fact: ProbeFact) -> tuple[bool, int, float, str]:
    broken = fact.ceiling_broken_at is None and fact.cooling not in ("first leg missed", "second leg missed")
    rank = (len(WORST_FIRST), _NEVER) if fact.verdict is None else _rank(fact.verdict)[:2]
    return broken, rank[0] if fact.met_at is None else len(WORST_FIRST) + 1, rank[1], fact.probe
