"""What a part of a name leads to besides lots: orders, deviations, probes, and alarms of late."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from display.alarm_log import latest
from display.panels import Showing
from orchestrator.core.events import AlarmRaised
from orchestrator.core.models.alarm import AlarmFacts

SHORTEST: Final = 2
"""Letters; fewer are part of almost every name."""
MOST: Final = 20
"""Of each kind that are listed."""


@dataclass(frozen=True)
class Found:
    """One thing, and the page that shows all of it."""

    name: str
    says: str
    path: str


def elsewhere(showing: Showing, typed: str) -> dict[str, list[Found]]:
    """Everything but lots in which the text occurs, by the key of its kind's name; kinds without any are left out.

    Args:
        showing: Who reads, and the kitchen.
        typed: A part of an id, a name or a reason; big letters or small ones.
    """
    wanted = typed.strip().casefold()
    if len(wanted) < SHORTEST:
        return {}
    kinds = {"orders": _orders, "deviations": _deviations, "probes": _probes, "alarms": _alarms}
    found = {kind: [one for text, one in rows(showing) if wanted in text.casefold()] for kind, rows in kinds.items()}
    return {kind: hits[:MOST] for kind, hits in found.items() if hits}


def _orders(showing: Showing) -> Iterator[tuple[str, Found]]:
    """Those of former days lead to what they got: the trace of a lot that went into them."""
    past = showing.snapshot.state.past
    lots = {str(peg.order): peg.lot for peg in past.pegs if peg.order is not None}
    for order in (*showing.kitchen.orders, *reversed(list(past.orders.values()))):
        customer = showing.tell(order.customer)
        said = f"{customer}, {showing.formats.when(order.due, showing.now)}"
        path = f"/trace/{lots[order.id]}" if order.id in lots else "/lots"
        path = path if order.id in past.orders else f"/orders#{order.id}"
        yield f"{order.id} {order.customer} {customer}", Found(order.id, said, path)


def _deviations(showing: Showing) -> Iterator[tuple[str, Found]]:
    for one in list(showing.snapshot.state.deviations.values())[::-1]:
        reason = showing.tell(one.facts.reason)
        text = _joined(one.id, one.facts.reason, reason, *one.lots)
        said = f"{showing.formats.when(one.opened_at, showing.now)} · {reason} · {', '.join(one.lots)}"
        yield text, Found(one.id, said, f"/deviations/{one.id}")


def _probes(showing: Showing) -> Iterator[tuple[str, Found]]:
    places = {machine.id: showing.tell.name(machine.name) for machine in showing.kitchen.equipment}
    for probe in showing.kitchen.probes:
        name = showing.tell.name(probe.name)
        place = places.get(probe.equipment, "")
        yield _joined(probe.id, probe.name, name, place), Found(name, place, f"/probe/{probe.id}")


def _alarms(showing: Showing) -> Iterator[tuple[str, Found]]:
    standing = showing.snapshot.state.alarms
    for record in reversed(latest(showing)):
        if not isinstance(event := record.event, AlarmRaised):
            continue
        facts, head = event.facts, showing.tell(showing.sentences.alarm_head(event.facts))
        text = _joined(head, facts.title, facts.lot, *facts.lots, *facts.orders, facts.probe, facts.equipment)
        path = "/alarms" if event.alarm in standing else _page_of(facts)
        yield text, Found(showing.formats.when(event.at, showing.now), head, path)


def _page_of(facts: AlarmFacts) -> str:
    """Where something that is over can still be read."""
    if facts.lot:
        return f"/record/{facts.lot}"
    return f"/probe/{facts.probe}" if facts.probe else "/alarms"


def _joined(*parts: str | None) -> str:
    return " ".join(part for part in parts if part)
