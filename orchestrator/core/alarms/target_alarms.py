"""Steps in hand that will not reach, or did not reach, their temperature in time, or passed their ceiling."""

from collections.abc import Iterator
from datetime import datetime

from orchestrator.core.alarms.look import Look, alarm_id
from orchestrator.core.alarms.task_facts import task_facts
from orchestrator.core.by_hand import hand_verdict, limit_said
from orchestrator.core.by_probes import deciding, met_by_all
from orchestrator.core.ids import AlarmId
from orchestrator.core.models import PlannedTask, ProbeFact, Target, TaskKind
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Help, Priority
from orchestrator.core.pace import longest_length
from orchestrator.core.state import State, TaskRecord


def target_conditions(look: Look) -> dict[AlarmId, AlarmFacts]:
    """One alarm for each step in hand whose target is in danger or missed."""
    found: dict[AlarmId, AlarmFacts] = {}
    for task in look.in_hand():
        step = look.kitchen.step(task)
        if task.kind is not TaskKind.STAY and step is not None and step.target is not None and not look.gone(task.lot):
            fact = deciding(look.facts.values(), task.id, look.state.record(task.id).started_at)
            found.update(_target(look, task, step.target, fact))
        elif step is not None and step.target is None and step.limit is not None and not look.gone(task.lot):
            found.update(_kept(look, task))
    return found


def _kept(look: Look, task: PlannedTask) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    """A stay, or a draw, whose limit a probe in the food shows broken; what air shows is the store's alarm."""
    said = limit_said(look.facts.values(), look.state, task, look.now)
    if said is None or said.of != "food" or said.status != "broken":
        return
    probe = next((f for f in look.facts.values() if any(k.verdict is said for k in f.kept)), None)
    stays = task.kind is TaskKind.STAY
    yield task_facts(
        look,
        AlarmKind.TARGET_MISSED,
        task,
        priority=Priority.CRITICAL if stays else Priority.WARNING,
        missed=True,
        since=said.since or said.at,
        limit_at=said.at,
        reason="limit",
        helps=(Help.MOVE_LOTS, Help.MEASURE_BY_HAND) if stays else (Help.MEASURE_BY_HAND,),
        probe=probe,
    )


def longest_end(state: State, task: PlannedTask) -> datetime | None:
    """When a step in hand has taken as long as it may, with what was added."""
    started = state.record(task.id).started_at
    return None if started is None else started + longest_length(state, task)


def target_met(look: Look, task: PlannedTask, target: Target) -> bool:
    """Whether the target of a step was met, by its probe or by hand."""
    record = look.state.record(task.id)
    by_probe = met_by_all(look.facts.values(), task.id, record.started_at)
    return by_probe or _met_by_hand(target, record)


def _met_by_hand(target: Target, record: TaskRecord) -> bool:
    """Whether somebody measured the target by hand; how long it was held, a hand reading cannot say."""
    if target.hold:
        return False
    return any(
        (target.at_least is not None and celsius >= target.at_least)
        or (target.at_most is not None and celsius <= target.at_most)
        for _, celsius in record.hand_readings
    )


def _broken(fact: ProbeFact) -> str:
    if fact.ceiling_broken_at is not None:
        return "ceiling"
    if fact.cooling in {"first leg missed", "second leg missed"}:
        return fact.cooling
    return "limit" if fact.verdict is not None and fact.verdict.status == "broken" else ""


def _verdict(look: Look, fact: ProbeFact | None, limit: datetime | None, by_hand: bool) -> tuple[str, bool]:
    """What is wrong and whether it is a miss: the worst first; empty when nothing is."""
    met = by_hand or (fact is not None and fact.met_at is not None)
    broken = "" if fact is None else _broken(fact)
    if broken:
        return broken, True
    if limit is not None and look.now >= limit and not met:
        return "longest", True
    if fact is not None and fact.cooling == "will be late":
        return fact.cooling, False
    arrival = fact.arrival_from if fact is not None else None
    if limit is not None and arrival is not None and arrival > limit and not met:
        return "longest", False
    return "", False


def _not_taken_back(told: AlarmFacts, fact: ProbeFact | None, limit: datetime | None) -> str:
    """A warning that the longest end will be missed stands until the target is likely met in time, or is met: an
    estimate that breathes, or is lost, is one warning. More time for the step ends it at once."""
    open_ = fact is not None and fact.met_at is None and fact.task == told.task
    if told.reason != "longest" or told.missed or told.limit_at != limit or limit is None or not open_:
        return ""
    assert fact is not None
    if fact.arrival_from is None or fact.arrival_to is None:
        return "longest"
    middle = fact.arrival_from + (fact.arrival_to - fact.arrival_from) / 2
    return "longest" if middle > limit else ""


def _target(
    look: Look, task: PlannedTask, target: Target, fact: ProbeFact | None
) -> Iterator[tuple[AlarmId, AlarmFacts]]:
    record = look.state.record(task.id)
    limit = longest_end(look.state, task)
    reason, missed = _verdict(look, fact, limit, _met_by_hand(target, record))
    by_hand = None if missed else hand_verdict(look.state, task, look.now)
    if by_hand is not None and by_hand.status == "broken":
        reason, missed = "limit", True
    known = look.state.alarms.get(alarm_id(AlarmKind.TARGET_MISSED, task.id))
    if not reason and known is not None and known.standing:
        reason = _not_taken_back(known.facts, fact, limit)
    if not reason:
        return
    helps: tuple[Help, ...] = (Help.MEASURE_BY_HAND,)
    if target.at_most is not None and reason != "ceiling":
        helps = (Help.KEEP_COOLING, Help.MEASURE_BY_HAND)
    yield task_facts(
        look,
        AlarmKind.TARGET_MISSED,
        task,
        priority=Priority.CRITICAL if missed else Priority.WARNING,
        missed=missed,
        since=fact.ceiling_broken_at if fact and reason == "ceiling" else record.started_at,
        limit_at=limit,
        expected_at=fact.arrival_from if fact else None,
        reason=reason,
        helps=helps,
        probe=fact,
        limit_c=target.ceiling if reason == "ceiling" else target.celsius,
    )
