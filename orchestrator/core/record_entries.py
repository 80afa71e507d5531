"""What counts as an entry on the record of a lot: acts, what was taken back, what went in, doubts, decisions, what
probes judged."""

from collections.abc import Mapping

from orchestrator.core.events import (
    Event,
    FactRecorded,
    ProblemReported,
    TaskExtended,
    TaskFinished,
    TaskSkipped,
    TaskStarted,
    TemperatureEntered,
    TrayFinished,
    WeightEntered,
)
from orchestrator.core.ids import DeviationId, LotCode, TaskId
from orchestrator.core.lot_events import (
    ActionTaken,
    DeviationClosed,
    DeviationOpened,
    DeviationSpread,
    LotAnswered,
    LotDecided,
    LotHeld,
    PlaceRecovered,
)
from orchestrator.core.models.deviation import Answer
from orchestrator.core.probe_events import ProbeChecked
from orchestrator.core.stock_events import IngredientUsed, LotReworked

DEVIATIONS = (ProblemReported, TaskSkipped, TaskExtended)
OF_TASK = (TaskStarted, TaskFinished, TrayFinished, TemperatureEntered, WeightEntered, *DEVIATIONS)


def task_of(event: Event) -> TaskId | None:
    """The task that an event tells of; none where it tells of none."""
    if isinstance(event, FactRecorded):
        return event.fact.task
    return event.task if isinstance(event, (*OF_TASK, IngredientUsed)) else None


def doubted(event: Event, doubts: Mapping[DeviationId, tuple[LotCode, ...]]) -> tuple[LotCode, ...]:
    """The lots that an event puts in doubt, decides about, or adds reworked food to.

    Args:
        event: Any.
        doubts: The lots of each deviation.
    """
    match event:
        case LotHeld(lot=lot) | LotDecided(lot=lot) | LotAnswered(answer=Answer(lot=lot)) | LotReworked(into=lot):
            return (lot,)
        case DeviationSpread(lots=more) | ProbeChecked(in_doubt=more):
            return more
        case DeviationOpened() | PlaceRecovered() | ActionTaken() | DeviationClosed():
            return doubts.get(event.deviation, ())
        case _:
            return ()
