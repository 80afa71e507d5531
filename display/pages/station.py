"""The station screen: what one cook does now, what comes, and the cold places."""

import functools
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from flask import Blueprint, abort

from display import drawing, panels, rescue
from display.drawing import Curve
from display.panels import Showing
from display.request import page, showing
from display.station_told import last_says, shift_below_panel, shift_end_panel
from orchestrator.core.ids import StationId
from orchestrator.core.models.alarm import Alarm, AlarmStatus
from orchestrator.core.state import TaskStatus
from orchestrator.core.views.models import StationView, TaskView, WindowState, WindowView

pages = Blueprint("station", __name__)

LARGE = 2
"""Tasks in hand that are shown large; more of them begin the list below."""
GATES_LINE = 34
"""Characters of failing gates that stand on one line of the narrower column."""
HEED_WIDE, HEED_NARROW = 88, 50
"""Characters of cautions that stand on a line of the wider and of the narrower column, at 1280 px; where there is a
script it measures instead."""
HEADS_ALONE, HEADS_MORE = (40, 54), (33, 44)
"""Characters of an alarm's head that fit in large and in middle type: alone in the sill, beside a button."""
ROOM_ALONE, ROOM_MORE = (150, 245), (120, 200)
"""Characters of its facts, on two lines and on three smaller ones."""
SEEN_BESIDE = 26, 90
"""Both, with an alarm that was seen beside it."""
CURVE_STEP_S = 10
LISTED = 12
"""Rows of a list that are sent; the script shows as many as fit."""


@pages.get("/station/<station>")
def station_page(station: str) -> str:
    """One station's screen."""
    known = {str(s.id): s.name for s in showing().kitchen.stations}
    if station not in known:
        abort(404)
    return page("station.html", station=station, name=known[station])


@dataclass(frozen=True)
class Figure:
    """The one figure that is read from two metres, when it is not a temperature."""

    until: datetime
    ahead: str
    """Key of the words under it while it counts down."""
    over: str
    """And once it is past."""


@dataclass(frozen=True)
class Job:
    """A task in hand or due, with what is drawn of it."""

    task: TaskView
    due: bool
    """Not started yet."""
    figure: Figure
    curve: Curve | None
    tray: int
    trays: int
    says: list[str]
    """The instruction, line by line."""
    heeds: list[str]
    gates: list[str]
    """Why it cannot be started yet: gates that fail, and what would follow too late."""
    looks: list[str]
    """Start gates that no probe can judge: the cook looks and ticks."""
    over_min: float
    """Minutes past its usual end."""
    rescue: list[str]
    """Titles of the rescue cards that fit what is wrong; empty when nothing is."""
    contains: str
    """Its allergens, as they are written."""

    def heed_lines(self, *, narrow: bool) -> int:
        """Lines that allergens and cautions take in their column: nothing of them is cut, so others give way."""
        characters = len(self.contains) + 12 + sum(len(heed) + 3 for heed in self.heeds)
        return -(-characters // (HEED_NARROW if narrow else HEED_WIDE))

    @property
    def gates_long(self) -> bool:
        """Whether they need more than a line: amounts give way then, for nothing of it may be cut."""
        return sum(len(gate) + 3 for gate in self.gates) > GATES_LINE


def _station(showing: Showing, station: str) -> StationView:
    view = functools.partial(showing.views.station, showing.snapshot, StationId(station))
    return showing.once(("station", station), view)


def figure(task: TaskView) -> Figure:
    """Until when a task counts down: its start while due, its tray, else its end."""
    if task.status == TaskStatus.WAITING:
        return Figure(task.due_since or task.planned_start, "until_planned_start", "over_planned_start")
    # Not the live plan's end: that moves on with the clock, and nobody would see that it is over.
    end = usual_end(task)
    tray, trays = tray_of(task)
    if trays > 1:
        each = timedelta(minutes=task.usual_min / trays)
        return Figure(end - (trays - tray) * each, "until_tray", "over_tray")
    return Figure(end, "until_planned_end", "over_planned_end")


def usual_end(task: TaskView) -> datetime:
    """When a task in hand ends by its start, its usual minutes and those that a cook added."""
    if task.started_at is None:
        return task.planned_end
    return task.started_at + timedelta(minutes=task.usual_min)


def tray_of(task: TaskView) -> tuple[int, int]:
    """Which tray is in work, of how many; (0, 0) when the task is not short-cycle work."""
    if task.pieces_per_tray <= 0 or task.pieces_wanted <= 0:
        return 0, 0
    trays = -(-task.pieces_wanted // task.pieces_per_tray)
    return min(task.pieces_made // task.pieces_per_tray + 1, trays), trays


def job(showing: Showing, task: TaskView) -> Job:
    """All that one column shows."""
    drawn = None
    if task.temperature is not None:
        since = showing.now - timedelta(minutes=drawing.CURVE_MIN)
        readings = showing.readings(task.temperature.probe, since)
        drawn = drawing.curve(readings, task.temperature, _drawn_at(showing))
    tray, trays = tray_of(task)
    due = task.status == TaskStatus.WAITING
    s = showing.sentences
    gates = s.open_gates(task) if due else []
    looks = looks_of(task) if due else []
    over_min = 0.0 if due else max(0.0, (showing.now - usual_end(task)).total_seconds() / 60)
    says, heeds = s.instructions(task), s.heeds(task)
    shut = due and any(gate.met is False for gate in task.gates)
    fitting = [item.card.title for item in rescue.cards(showing, task.task, gate_shut=shut) if item.fits]
    contains = showing.sentences.allergens(task.allergens)
    return Job(task, due, figure(task), drawn, tray, trays, says, heeds, gates, looks, over_min, fitting, contains)


def _drawn_at(showing: Showing) -> datetime:
    """Now; for streams in steps of ten seconds, a 240th of the curve: no other probe's reading sends it anew then."""
    if not showing.streamed:
        return showing.now
    return showing.now + timedelta(seconds=-showing.now.timestamp() % CURVE_STEP_S)


def looks_of(task: TaskView) -> list[str]:
    """Gates of a task that wait for a look, by their words."""
    return [gate.says for gate in task.gates if gate.met is None]


def window_of(task: TaskView) -> WindowView:
    """The window of a task; for one without, only its plan."""
    if task.window is not None:
        return task.window
    waiting = task.status == TaskStatus.WAITING
    planned = task.planned_start if waiting else task.planned_end
    return WindowView(state=WindowState.OPEN, opens=None, planned=planned, closes=None)


@dataclass(frozen=True)
class SillAlarm:
    """The alarm that stands in the sill, whose height is fixed: what it says is fitted, never cut."""

    item: Alarm
    brief: str
    whole: bool
    """Whether all of its facts found room; else a button leads to them."""
    size: Literal["", "alarm-long", "alarm-long alarm-head-long"]
    more: int
    """Others, counted on a button; one that was seen has room beside it only when this one has little to say."""


def sill_alarm(showing: Showing, item: Alarm, others: Sequence[Alarm]) -> SillAlarm:
    """Fits what one alarm says. Measured at 1280 px, the narrowest on which heights are fixed."""
    s = showing.sentences
    head = len(s.alarm_head(item.facts))
    beside = bool(others) and all(one.shelved or one.status is AlarmStatus.ACKNOWLEDGED for one in others)
    if beside and head <= SEEN_BESIDE[0] and s.alarm_brief(item.facts, SEEN_BESIDE[1])[1]:
        return SillAlarm(item, s.alarm_brief(item.facts, SEEN_BESIDE[1])[0], True, "", 0)
    heads, large, small = (HEADS_MORE, *ROOM_MORE) if others else (HEADS_ALONE, *ROOM_ALONE)
    brief, whole = s.alarm_brief(item.facts, large)
    if whole and head <= heads[0]:
        return SillAlarm(item, brief, True, "", len(others))
    brief, whole = s.alarm_brief(item.facts, small)
    if not whole:  # a button takes room too
        heads, (brief, whole) = HEADS_MORE, s.alarm_brief(item.facts, ROOM_MORE[1])
    return SillAlarm(
        item, brief, whole, "alarm-long" if head <= heads[1] else "alarm-long alarm-head-long", len(others)
    )


def _sill(showing: Showing, station: str) -> str:
    view = _station(showing, station)
    quiet = [a for a in view.alarms if a.shelved]
    known = [a for a in view.alarms if a.status is AlarmStatus.ACKNOWLEDGED]
    unseen = [a for a in view.alarms if not a.shelved and a.status is not AlarmStatus.ACKNOWLEDGED]
    seen = known or quiet
    others = [*unseen[1:], *(a for a in view.alarms if a.shelved or a in known)]
    first = sill_alarm(showing, unseen[0], others) if unseen else None
    context = {"view": view, "station": station, "first": first, "unseen": unseen, "seen": seen}
    context |= {"known": known, "quiet": quiet}
    return showing.render("panels/sill.html", context)


def _hand(showing: Showing, station: str) -> str:
    view = _station(showing, station)
    jobs = [job(showing, task) for task in view.in_hand[:LARGE]]
    following = view.idle.next_task if view.idle else None
    looks = looks_of(following) if following else []
    context = {"view": view, "jobs": jobs, "idle": view.idle, "looks": looks}
    return showing.render("panels/hand.html", context | {"last_says": last_says(showing, view)})


def _horizon(showing: Showing, station: str) -> str:
    view = _station(showing, station)
    rest = view.in_hand[LARGE:]
    shown = {task.task for task in view.in_hand}
    lists = []
    for key, none, tasks in (
        ("next_here", "none_next", (*rest, *(t for t in view.next_here if t.task not in shown))),
        ("on_its_own", "none_own", view.on_its_own),
    ):
        rows = [(task, window_of(task)) for task in tasks[:LISTED]]
        lists.append({"key": key, "none": none, "rows": rows, "hidden": len(tasks) - len(rows)})
    return showing.render("panels/horizon.html", {"view": view, "lists": lists, "marks": drawing.marks()})


panels.register("station-sill", _sill)
panels.register("station-hand", _hand)
panels.register("station-horizon", _horizon)
panels.register("shift-end", shift_end_panel)
panels.register("shift-below", shift_below_panel)
