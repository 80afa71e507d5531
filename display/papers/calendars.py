"""Calendar feeds after RFC 5545: what the plan has for one person, or at one station."""

import re
from datetime import date, datetime
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event

from display.panels import Showing
from orchestrator.core.ids import CrewId, StationId
from orchestrator.core.models import Plan, PlannedTask, TaskKind


def calendar_of(showing: Showing, whose: str) -> bytes:
    """The feed of one of the crew, or of a station.

    Each stretch of work keeps its UID through all plans. SEQUENCE is the number of the plan, which only grows; DTSTAMP
    is when that plan was adopted, so that the same plan always gives the same feed.

    Raises:
        KeyError: neither a person nor a station has that id.
    """
    kitchen, state = showing.kitchen, showing.snapshot.state
    people = {str(one.id): one.name for one in kitchen.crew}
    stations = {str(one.id): one.name for one in kitchen.stations}
    name = people.get(whose) or stations[whose]
    feed = Calendar()
    feed.add("prodid", "-//Coldwright//Plan//EN")
    feed.add("version", "2.0")
    feed.add("method", "PUBLISH")
    feed.add("name", f"{kitchen.name}: {name}")  # RFC 7986
    if state.plan is not None:
        for task in state.plan.tasks:
            for number, (start, end) in enumerate(_stretches(task, whose, whose in people)):
                feed.add_component(_event(showing, state.plan, task, number, (start, end)))
    if state.plan is not None and feed.events:
        # Only the years about the plan: from rules since 1970 another parser read London's November an hour wrong.
        year = state.plan.start.year
        feed.add_missing_timezones(date(year - 1, 1, 1), date(year + 2, 1, 1))
    return bytes(feed.to_ical())


def _stretches(task: PlannedTask, whose: str, person: bool) -> list[tuple[datetime, datetime]]:
    if task.kind is TaskKind.STAY:
        return []
    if person:
        return [(span.start, span.end) for span in task.spans if CrewId(whose) in span.crew]
    return [(task.start, task.end)] if task.station == StationId(whose) else []


def _event(showing: Showing, plan: Plan, task: PlannedTask, number: int, times: tuple[datetime, datetime]) -> Event:
    kitchen, state, w = showing.kitchen, showing.snapshot.state, showing.words
    zone, stamp = ZoneInfo(kitchen.time_zone), state.adopted_at or plan.made_at
    place = next((one.name for one in kitchen.equipment if one.id == task.equipment), "")
    station = next((one.name for one in kitchen.stations if one.id == task.station), str(task.station))
    batch = next((one for one in plan.batches if one.lot == task.lot), None)
    said = [w("calendar_plan", revision=state.revision)]
    if batch is not None and batch.allergens:
        said.append(w("contains", allergens=showing.sentences.allergens(batch.allergens)))
    if showing.snapshot.practice:
        said.append(w("practice_long"))
    event = Event()
    host = re.sub(r"[^a-z0-9]+", "-", kitchen.name.lower()).strip("-") or "kitchen"
    event.add("uid", f"{task.id}.{number}@{host}.coldwright")
    event.add("dtstamp", stamp)
    event.add("last-modified", stamp)
    event.add("sequence", state.revision)
    event.add("dtstart", times[0].astimezone(zone))
    event.add("dtend", times[1].astimezone(zone))
    event.add("summary", " ".join(filter(None, (str(task.lot or task.order or ""), showing.tell(task.title)))))
    event.add("location", ", ".join(map(showing.tell, filter(None, (station, place)))))
    event.add("description", "\n".join(said))
    return event
