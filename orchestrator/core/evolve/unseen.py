"""What was entered on the record of each lot since somebody looked it through."""

from dataclasses import replace
from typing import Final

from orchestrator.core.events import ActUndone, Recorded
from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.lot_events import DeviationOpened, RecordLookedThrough
from orchestrator.core.plan_index import plan_index
from orchestrator.core.record_entries import doubted, task_of
from orchestrator.core.state import State

_KEPT: Final = 32
"""Of each lot the first entry that nobody has seen is kept, and the latest: who signs has seen all but a few."""


def noted(before: State, state: State, recorded: Recorded) -> State:
    """The state with an entry more, or with those that were looked through no longer among the unseen."""
    event = recorded.event
    if isinstance(event, RecordLookedThrough):
        left = tuple(entry for entry in state.unseen.get(event.lot, ()) if entry[0] > event.upto)
        others = {lot: entries for lot, entries in state.unseen.items() if lot != event.lot}
        return replace(state, unseen={**others, event.lot: left} if left else others)
    lots = dict.fromkeys(_lots(before, state, recorded))
    if not lots:
        return state
    entry = (recorded.seq, recorded.at)
    more = {}
    for lot in lots:
        known = state.unseen.get(lot, ())
        more[lot] = (*known[:1], *known[1:][-_KEPT:], entry)
    return replace(state, unseen={**state.unseen, **more})


def _lots(before: State, state: State, recorded: Recorded) -> tuple[LotCode, ...]:
    event = recorded.event
    if isinstance(event, ActUndone):
        act = next((act for act in before.acts if act.seq == event.act), None)
        return () if act is None else _of_task(before, act.task)
    task = task_of(event)
    if task is not None:
        return _of_task(state, task)
    if isinstance(event, DeviationOpened):
        return event.facts.lots
    return doubted(event, {name: one.lots for name, one in state.deviations.items()}) if _may(recorded) else ()


def _may(recorded: Recorded) -> bool:
    return recorded.event.kind in _OF_LOTS


def _of_task(state: State, task: TaskId) -> tuple[LotCode, ...]:
    planned = plan_index(state.plan).tasks.get(task) if state.plan is not None else None
    planned = planned or state.past.tasks.get(task)
    return () if planned is None or planned.lot is None else (planned.lot,)


_OF_LOTS: Final = frozenset(
    {
        "lot_held",
        "lot_decided",
        "lot_answered",
        "lot_reworked",
        "deviation_spread",
        "probe_checked",
        "place_recovered",
        "action_taken",
        "deviation_closed",
    }
)
"""Kinds of events that `doubted` looks at: all others are done with at once."""
