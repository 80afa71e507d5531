"""Which rescue cards fit a step: those of its work, and first of them those whose signs are there."""

from collections.abc import Iterator

from orchestrator.core.deviations.standing import of_lot
from orchestrator.core.models import PlannedTask
from orchestrator.core.models.alarm import AlarmKind
from orchestrator.core.models.deviation import Cause
from orchestrator.core.models.rescue import RescueCard, Sign
from orchestrator.core.state import State

_OF_ALARMS = {
    AlarmKind.TARGET_MISSED: Sign.TARGET_MISSED,
    AlarmKind.STORE_WARM: Sign.STORE_WARM,
    AlarmKind.LOTS_ASKED: Sign.STORE_WARM,
    AlarmKind.PROBE_SILENT: Sign.RECORD_GAP,
}
_OF_CAUSES: dict[Cause, Sign] = {
    "limit broken": Sign.TARGET_MISSED,
    "window missed": Sign.WINDOW_MISSED,
    "record gap": Sign.RECORD_GAP,
    "store warm": Sign.STORE_WARM,
}


def signs(state: State, task: PlannedTask, *, gate_shut: bool = False) -> frozenset[Sign]:
    """What is wrong with a step, as far as the record knows.

    Args:
        state: What is known.
        task: The step.
        gate_shut: Whether a start gate of it is not met now.
    """
    found = set(_signs(state, task))
    return frozenset(found | {Sign.GATE_SHUT} if gate_shut else found)


def _signs(state: State, task: PlannedTask) -> Iterator[Sign]:
    for problem in state.record(task.id).problems:
        what = problem.partition(":")[0]
        if what in {sign.value for sign in Sign}:
            yield Sign(what)
    for alarm in state.alarms.values():
        facts = alarm.facts
        mine = facts.task == task.id or (task.lot is not None and task.lot in facts.lots and facts.task is None)
        if alarm.standing and mine and facts.kind in _OF_ALARMS:
            yield _OF_ALARMS[facts.kind]
        if alarm.standing and facts.task == task.id and facts.missed and facts.kind is AlarmKind.WINDOW_CLOSING:
            yield Sign.WINDOW_MISSED
    for deviation in of_lot(state, task.lot) if task.lot is not None else ():
        if deviation.open and deviation.facts.task in (None, task.id) and deviation.facts.cause in _OF_CAUSES:
            yield _OF_CAUSES[deviation.facts.cause]


def cards_for(state: State, task: PlannedTask, *, gate_shut: bool = False) -> tuple[tuple[RescueCard, bool], ...]:
    """The cards of a step's kind of work, and whether a sign of each is there; those first."""
    there = signs(state, task, gate_shut=gate_shut)
    cards = state.kitchen.cards if state.kitchen is not None else ()
    mine = [(card, bool(there & set(card.when))) for card in cards if task.process in card.process]
    return tuple(sorted(mine, key=lambda found: not found[1]))
