"""With which facts a deviation is opened: cause, limit as it applied, readings that decided."""

from collections.abc import Sequence

from orchestrator.core.commands import Command, EnterTemperature, FinishTask, RecordFact, ReportProblem, SkipTask
from orchestrator.core.deviations.places import Failure, limit_of
from orchestrator.core.events import Event, FactRecorded, TemperatureEntered
from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.lot_trace import served
from orchestrator.core.models import Equipment, Kitchen, PlannedTask, ProbeFact
from orchestrator.core.models.deviation import Cause, DeviationFacts
from orchestrator.core.models.limit import LimitId
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.core.plan_index import kitchen_index, plan_index
from orchestrator.core.probe_events import ProbeChecked
from orchestrator.core.state import LotRecord, State

DATE_MARKING = LimitId("date-marking")
DAYS_SAYS = "past its days"
"""How a hold for its date is worded; its deviation is told apart by it."""
GAP_SAYS = "the record has a gap too long to judge"
"""How a hold for a gap in the record is worded; its deviation is told apart by it."""


def facts_of_hold(
    state: State, event: LotHeld, lots: tuple[LotCode, ...], events: Sequence[Event], command: Command
) -> DeviationFacts:
    """Of a lot that went on hold, by what put it there."""
    cause = _cause(command, event)
    verdict = _verdict(state, event.task)
    by_hand = tuple((e.at, e.celsius) for e in events if isinstance(e, TemperatureEntered))
    fact = next((e.fact for e in events if isinstance(e, FactRecorded)), None)
    title, applied = _limit(state, event.task) if cause != "past its days" else _days(state)
    judged = verdict is not None and cause in ("limit broken", "record gap") and not by_hand
    return DeviationFacts(
        cause=cause,
        safety=_safety(command, cause),
        reason=event.reason,
        lots=lots,
        task=event.task,
        since=event.at,
        limit=verdict.title if judged and verdict is not None else title,
        applied=verdict.applied if judged and verdict is not None else applied,
        readings=verdict.readings if judged and verdict is not None else by_hand or _reading(fact),
        unit=verdict.unit if judged and verdict is not None else "C",
        person=command.person,
        served=served(state, lots),
    )


def _cause(command: Command, event: LotHeld) -> Cause:
    if GAP_SAYS in event.reason:
        return "record gap"
    if event.reason.startswith(DAYS_SAYS):
        return "past its days"
    if isinstance(command, RecordFact | EnterTemperature | FinishTask):
        return "limit broken"
    if isinstance(command, SkipTask):
        return "step left out"
    return "problem" if isinstance(command, ReportProblem) else "window missed"


def _days(state: State) -> tuple[str, str]:
    limit = None if state.kitchen is None else state.kitchen.limit(DATE_MARKING)
    return (limit.title, limit.applied) if limit is not None else ("", "")


def _safety(command: Command, cause: Cause) -> bool:
    """What somebody saw or tasted is a matter of quality, unless it was a temperature."""
    return cause != "problem" or (isinstance(command, ReportProblem) and command.what == "temperature")


def _verdict(state: State, task: TaskId | None) -> LimitVerdict | None:
    facts = (fact for fact in state.facts.values() if task is not None and fact.task == task)
    return next((fact.verdict for fact in facts if fact.verdict is not None), None)


def _limit(state: State, task: TaskId | None) -> tuple[str, str]:
    planned = plan_index(state.plan).tasks.get(task) if state.plan is not None and task is not None else None
    if planned is None or state.kitchen is None:
        return "", ""
    limit = limit_of(state.kitchen, kitchen_index(state.kitchen), planned)
    return (limit.title, limit.applied) if limit is not None else ("", "")


def _reading(fact: ProbeFact | None) -> tuple[tuple[object, float], ...]:
    if fact is None or fact.measured_at is None or fact.celsius is None:
        return ()
    return ((fact.measured_at, fact.celsius),)


def facts_of_old_hold(lot: LotCode, record: LotRecord) -> DeviationFacts:
    """Of a lot that has been on hold for longer than deviations are kept: taken for a safety matter."""
    return DeviationFacts(cause="held before", safety=True, reason=record.reason, lots=(lot,), since=record.since)


def facts_of_check(state: State, check: ProbeChecked, lots: tuple[LotCode, ...]) -> DeviationFacts:
    """Of a probe that failed its check: whatever it has judged since the last good one is not known to be as asked."""
    return DeviationFacts(
        cause="probe check failed",
        safety=True,
        reason=says_of_check(state, check),
        lots=lots,
        since=check.doubt_since,
        limit=f"Accuracy of a food thermometer, ±{check.tolerance_c:.3g} °C",
        applied=check.source,
        readings=((check.at, check.shown_c),),
        person=check.person,
        served=served(state, lots),
    )


def says_of_check(state: State, check: ProbeChecked) -> str:
    """That a probe failed its check, and since when what it said is in doubt, in words."""
    assert state.kitchen is not None
    probe = kitchen_index(state.kitchen).probes.get(check.probe)
    name = probe.name if probe is not None else str(check.probe)
    good = state.kitchen.local(check.doubt_since) if check.doubt_since is not None else None
    since = "no good check before" if good is None else f"last good {good:%a %d %b %H:%M}"
    return f"{name} showed {check.shown_c:.1f} °C where {check.expected_c:.1f} °C was due; {since}"


def facts_of_place(
    state: State, place: Equipment, failure: Failure, lots: tuple[LotCode, ...], tasks: list[PlannedTask]
) -> DeviationFacts:
    """Of a place that failed with food in it."""
    kitchen: Kitchen | None = state.kitchen
    assert kitchen is not None
    limits = [limit for task in tasks if (limit := limit_of(kitchen, kitchen_index(kitchen), task)) is not None]
    return DeviationFacts(
        cause=failure.cause,
        safety=failure.cause != "machine stopped",
        reason=failure.reason,
        lots=lots,
        asked=True,
        equipment=place.id,
        since=failure.since,
        limit="; ".join(dict.fromkeys(limit.title for limit in limits)),
        applied="; ".join(dict.fromkeys(limit.applied for limit in limits)),
        readings=_reading(failure.fact),
        served=(),
    )
