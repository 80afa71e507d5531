"""Alarms: all that stand, with their facts and what helps, and what happened lately from the log."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from urllib.parse import urlencode

from flask import Blueprint, request

from display import alarm_words, panels
from display.alarm_log import LISTED, latest
from display.panels import Showing
from display.request import page, showing
from orchestrator.core.alarm_rationale import critical_for_food
from orchestrator.core.alarms.flood import flood
from orchestrator.core.events import (
    AlarmAcknowledged,
    AlarmEscalated,
    AlarmRaised,
    AlarmReturned,
    AlarmShelved,
    AlarmUnshelved,
    Recorded,
)
from orchestrator.core.models.alarm import Alarm, AlarmFacts, AlarmKind
from orchestrator.core.shelving import latest_end, why_not
from orchestrator.core.views.people import pressing

pages = Blueprint("alarms", __name__)

SHELF_MIN: Final = (5, 15, 30, 60, 120, 240, 480, 720)
"""Minutes that an alarm may be made quiet for, as far as its priority and its limit allow."""


@pages.get("/alarms")
def alarms_page() -> str:
    """What stands and what was; and the way back, for whoever came from a station."""
    known = {str(one.id): one for one in kitchen.stations} if (kitchen := showing().snapshot.state.kitchen) else {}
    return page("alarms.html", station=known.get(request.args.get("station", "")))


OF_PROBES: Final = {
    AlarmKind.PROBE_DOUBTED,
    AlarmKind.PROBE_BATTERY,
    AlarmKind.PROBE_CHECK_DUE,
    AlarmKind.PROBE_UNWASHED,
}
"""Something is done about these on the probe's own page."""
_OF_PLACES: Final = {AlarmKind.STORE_WARM, AlarmKind.MACHINE_STOPPED, AlarmKind.LOTS_ASKED}


def where(facts: AlarmFacts) -> list[tuple[str, str]]:
    """Pages that show more of an alarm, as (key of the words, path)."""
    found = []
    if facts.task:
        found.append(("show_task", f"/task/{facts.task}"))
    if facts.probe and facts.kind in OF_PROBES:
        found.append(("show_probe", f"/probe/{facts.probe}"))
    elif facts.probe or facts.kind in {AlarmKind.STORE_WARM, AlarmKind.PROBE_SILENT}:
        found.append(("show_probes", f"/probes#{facts.probe or ''}"))
    if facts.kind is AlarmKind.MACHINE_STOPPED and facts.equipment:
        found.append(("show_machine", f"/machines#{facts.equipment}"))
    if facts.kind is AlarmKind.ORDER_UNPLANNED and facts.orders:
        found.append(("show_order", f"/orders/{facts.orders[0]}/change"))
    if facts.kind is AlarmKind.ORDERS_UNDECIDED:
        found.append(("show_undecided", "/orders#undecided"))
    if facts.lots and facts.equipment and facts.kind in _OF_PLACES:
        found.append(("show_place", f"/places/{facts.equipment}"))
    if facts.kind is AlarmKind.DELIVERY_OVERDUE:
        found.append(("show_receiving", f"/receiving?{urlencode({'ingredient': facts.title})}"))
    if facts.kind in {AlarmKind.PAST_USE_BY, AlarmKind.PAST_BEST_BEFORE}:
        found.append(("show_past", "/stock#past"))
    if facts.kind is AlarmKind.BY_PRODUCT_PAST:
        found.append(("show_stock", f"/stock#left-{facts.lot}"))
    if facts.kind is AlarmKind.LOT_ON_HOLD and facts.lot:
        found.append(("show_lot", f"/lots#{facts.lot}"))
    return found


@dataclass(frozen=True)
class Told:
    """One alarm with all that is said of it, and what may be done."""

    alarm: Alarm
    lines: list[alarm_words.Fact]
    meaning: list[alarm_words.Fact]
    links: list[tuple[str, str]]
    shelf: list[tuple[int, str]]
    """Minutes that it may be quiet for, and in words; empty when it may not."""
    no_shelf: str
    """Why it may not; empty when it may, or where nobody would ask."""


def told(showing: Showing, alarm: Alarm) -> Told:
    """Everything about one alarm."""
    against = why_not(alarm, showing.now)
    latest = latest_end(alarm.facts, showing.now)
    fits = [m for m in SHELF_MIN if showing.now + timedelta(minutes=m) <= latest]
    shelf = [(m, showing.formats.length(m)) for m in fits] if against is None and not alarm.shelved else []
    key = "shelf_never" if critical_for_food(alarm.facts) else "shelf_too_late"
    asked = against is not None and alarm.standing
    return Told(
        alarm,
        alarm_words.lines(showing, alarm),
        alarm_words.meaning(showing, alarm.facts),
        where(alarm.facts),
        shelf,
        showing.words(key) if asked else "",
    )


def _standing(showing: Showing, _: str) -> str:
    alarms = sorted(showing.snapshot.state.alarms.values(), key=pressing)
    standing = [told(showing, alarm) for alarm in alarms if not alarm.shelved]
    quiet = [told(showing, alarm) for alarm in alarms if alarm.shelved]
    found = flood(alarms, showing.now)
    context = {"alarms": standing, "quiet": quiet, "flood": found, "told": {one.alarm.id: one for one in standing}}
    return showing.render("panels/alarms.html", context)


@dataclass(frozen=True)
class Happened:
    """A line of an alarm's life."""

    at: datetime
    what: str
    head: str
    who: str = ""


def history(showing: Showing, records: list[Recorded]) -> list[Happened]:
    """Lives of alarms in the log, the latest first."""
    heads: dict[str, str] = {}
    lines: list[Happened] = []
    head_of = showing.sentences.alarm_head
    for record in records:
        event = record.event
        match event:
            case AlarmRaised():
                heads[event.alarm] = head_of(event.facts)
                lines.append(Happened(event.at, "raised", heads[event.alarm]))
            case AlarmEscalated():
                heads[event.alarm] = head_of(event.facts)
                lines.append(Happened(event.at, "escalated", heads[event.alarm]))
            case AlarmAcknowledged():
                who = showing.name_of(event.person)
                lines.append(Happened(event.at, "acknowledged", heads.get(event.alarm, event.alarm), who))
            case AlarmReturned():
                lines.append(Happened(event.at, "returned", heads.get(event.alarm, event.alarm)))
            case AlarmShelved() | AlarmUnshelved():
                what = "shelved" if isinstance(event, AlarmShelved) else "unshelved"
                who = showing.name_of(event.person)
                lines.append(Happened(event.at, what, heads.get(event.alarm, event.alarm), who))
            case _:
                pass
    return lines[::-1][:LISTED]


def _history(showing: Showing, _: str) -> str:
    return showing.render("panels/alarm_history.html", {"lines": history(showing, latest(showing))})


panels.register("alarms", _standing)
panels.register("alarm-history", _history)
