"""Rescue cards as a page shows them: the limits that each defers to come first, with their figures."""

from dataclasses import dataclass

from display.panels import Showing
from orchestrator.core.ids import TaskId
from orchestrator.core.models.limit import Degrees, Limit, LimitRow
from orchestrator.core.models.rescue import RescueCard
from orchestrator.core.rescue import cards_for


@dataclass(frozen=True)
class Deferred:
    """A limit above a card's advice: its title, what it asks, and the text that it stands in."""

    title: str
    asks: tuple[str, ...]
    applied: str
    practice: bool


@dataclass(frozen=True)
class Card:
    """One card with its limits, and whether what it is about seems to have happened."""

    card: RescueCard
    limits: tuple[Deferred, ...]
    fits: bool


def cards(showing: Showing, task: TaskId, *, gate_shut: bool) -> list[Card]:
    """The cards of a task, those that fit first; none for tasks that the plan does not have."""
    state = showing.snapshot.state
    planned = next((t for t in state.plan.tasks if t.id == task), None) if state.plan is not None else None
    if planned is None or state.kitchen is None:
        return []
    found = []
    for card, fits in cards_for(state, planned, gate_shut=gate_shut):
        limits = [limit for name in card.limits if (limit := state.kitchen.limit(name)) is not None]
        found.append(Card(card, tuple(_deferred(showing, limit) for limit in limits), fits))
    return found


def _deferred(showing: Showing, limit: Limit) -> Deferred:
    asks = tuple(asked for row in limit.rows if (asked := _asks(showing, row)))
    return Deferred(limit.title, asks, limit.applied, limit.status == "practice")


def _asks(showing: Showing, row: LimitRow) -> str:
    """A row in words, in the column of the kitchen's unit as it is printed."""
    w, length = showing.words, showing.formats.length
    said = []
    if row.at_least is not None:
        said.append(w("limit_at_least", degrees=_degrees(showing, row.at_least)))
    if row.at_most is not None:
        said.append(w("limit_at_most", degrees=_degrees(showing, row.at_most)))
    if row.hold is not None:
        held = (
            length(row.hold / 60)
            if row.hold >= 60
            else w("limit_seconds", seconds=showing.formats.written(f"{row.hold:g}"))
        )
        said.append(w("limit_hold", time=held))
    if row.within is not None:
        said.append(w("limit_within", time=length(row.within / 60)))
    if row.most is not None:
        said.append(w("limit_most", time=length(row.most / 60)))
    if row.days is not None:
        said.append(w("limit_days", days=row.days))
    return ", ".join(said)


def _degrees(showing: Showing, degrees: Degrees) -> str:
    unit = showing.kitchen.temperature_unit
    return showing.formats.written(f"{degrees.in_unit(unit):g} \u00b0{unit}")
