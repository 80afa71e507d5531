"""The production board: all days, every machine and store, hands and orders, from one view."""

from dataclasses import dataclass
from datetime import date, datetime

from flask import Blueprint, abort, request

from display import board_drawing, panels, store_drawing
from display.board_drawing import Axis, Hands, OrderBar, Piece, Thread
from display.panels import Showing
from display.request import page
from display.store_drawing import StoreDrawing
from orchestrator.core.models.alarm import Alarm, AlarmStatus
from orchestrator.core.views.models import BlockView, BoardView, OrderView, RowView

pages = Blueprint("board", __name__)

STORES_EM = 19.5
"""Height of all stores together, in widths of the board's type; shared out by their litres."""
STRIP = 3
STRIP_UNSEEN = 2
"""Alarms that are shown on top; the others are counted. One that nobody has seen needs room for its facts."""
LISTED = 12
"""Moves, and entries of a list, that are shown."""


@pages.get("/board")
def board_page() -> str:
    """All days, or one of them by ``?day=2026-11-26``."""
    day = request.args.get("day", "")
    if day and _day(day) is None:
        abort(404)
    return page("board.html", day=day)


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _board(showing: Showing) -> BoardView:
    assert showing.kitchen  # without one it raises what the page is told by
    return showing.once("board", lambda: showing.views.board(showing.snapshot))


@dataclass(frozen=True)
class Row:
    """One machine or store as drawn."""

    view: RowView
    pieces: list[Piece]
    store: StoreDrawing | None
    threads: list[Thread]
    stops: list[Piece]
    """Crossed boxes of a store; on a line they are among the pieces."""


def _named(showing: Showing, block: BlockView, *, near: bool = False) -> BlockView:
    """A stop gets words, so that they are given room like a label; near by, what is tight says its latest start."""
    if near and block.flag == "tight" and block.latest_start is not None:
        says = showing.words("by_at", time=showing.formats.clock(block.latest_start))
        return block.model_copy(update={"label": f"{block.label} {says}".strip()})
    if block.status != "stopped":
        return block
    if block.maintenance:
        return block.model_copy(update={"label": showing.words("maintenance")})
    says = showing.words("stopped_since", time=showing.formats.when(block.start, showing.now))
    return block.model_copy(update={"label": says})


def rows(showing: Showing, view: BoardView, axis: Axis) -> list[Row]:
    """All machines and stores in the order of the section; also those with nothing to do: that is a fact too."""
    cold = [r for r in view.rows if r.store and r.high_c is not None and r.capacity is not None]
    litres = sum(r.capacity.value for r in cold if r.capacity) or 1.0
    threads = board_drawing.threads(view.rows, axis)
    drawn: list[Row] = []
    for row in view.rows:
        blocks = [_named(showing, b, near=bool(axis.hours)) for b in row.blocks if b.status != "skipped"]
        store = None
        if row in cold and row.capacity is not None:
            em = STORES_EM * row.capacity.value / litres
            store = store_drawing.store(blocks, row.capacity.value, axis, em)
        pieces = board_drawing.line_pieces(blocks if not store else _only_stops(blocks), axis)
        stops = pieces if store else []
        drawn.append(Row(row, pieces, store, threads[row.equipment], stops))
    return drawn


def _only_stops(blocks: list[BlockView]) -> list[BlockView]:
    return [b for b in blocks if b.status == "stopped"]


def silent_places(showing: Showing) -> dict[str, datetime]:
    """Places whose air is not measured just now, and since when: an old number there would look right."""
    air = {probe.id for probe in showing.kitchen.probes if probe.reads == "air"}
    facts = [fact for fact in showing.snapshot.facts.values() if fact.probe in air]
    return {fact.equipment: fact.silent_since for fact in facts if fact.silent_since is not None}


@dataclass(frozen=True)
class OrderRow:
    """An order as drawn."""

    view: OrderView
    says: str
    trouble: bool
    bar: OrderBar | None


def order_rows(showing: Showing, orders: tuple[OrderView, ...], axis: Axis | None) -> list[OrderRow]:
    """Orders with their outlook in words."""
    drawn = []
    for order in orders:
        says, trouble = showing.sentences.outlook(order)
        bar = board_drawing.order_bar(order, f"{order.customer} {says}", axis) if axis else None
        drawn.append(OrderRow(order, says, trouble, bar))
    return drawn


def _draw(showing: Showing, day: str) -> str:
    view = _board(showing)
    axis = board_drawing.axis(view.start, view.end, showing.kitchen.time_zone, _day(day) if day else None)
    drawn = rows(showing, view, axis)
    hands: Hands = board_drawing.hands(view.hands, axis, showing.now)
    context = {
        "view": view,
        "axis": axis,
        "rows": drawn,
        "silent": silent_places(showing),
        "hands": hands,
        "orders": [row for row in order_rows(showing, view.orders, axis) if row.bar],
        "now_x": axis.x(showing.now),
        "service": {showing.formats.local(o.due).date() for o in view.orders},
        "day": day,
        "shaky": [(w, showing.sentences.shaky(w), showing.sentences.causes(w.causes)) for w in view.shaky],
    }
    return showing.render("panels/board.html", context)


def _sorted(alarms: tuple[Alarm, ...]) -> list[Alarm]:
    loud = [alarm for alarm in alarms if not alarm.shelved]
    return sorted(loud, key=lambda a: a.status is AlarmStatus.ACKNOWLEDGED)


def _needs(showing: Showing, _: str) -> str:
    view = _board(showing)
    alarms = _sorted(view.alarms)
    unseen = any(a.status is AlarmStatus.UNACKNOWLEDGED for a in alarms)
    shown = STRIP_UNSEEN if unseen else STRIP
    chances = [showing.sentences.chance_change(c) for c in view.proposal.chances] if view.proposal else []
    context = {
        "view": view,
        "alarms": alarms[:shown],
        "more": len(alarms) - shown,
        "quiet": sum(alarm.shelved for alarm in view.alarms),
        "listed": LISTED,
        "chances": chances,
    }
    return showing.render("panels/board_needs.html", context)


def coming(view: BoardView, now: datetime) -> list[tuple[BlockView, RowView]]:
    """What is in hand and what comes, in time order; what only stays somewhere comes last."""
    found = [
        (block, row)
        for row in view.rows
        for block in row.blocks
        if block.status in {"planned", "in hand", "clean", "stopped"} and block.end > now
    ]
    return sorted(found, key=lambda pair: (bool(pair[0].opens), pair[0].start, pair[0].task or ""))


def _list(showing: Showing, _: str) -> str:
    view = _board(showing)
    found = coming(view, showing.now)
    days: dict[date, list[tuple[BlockView, RowView]]] = {}
    current = []
    for block, row in found:
        if block.start <= showing.now:
            current.append((block, row))
        elif block.task and not (row.store and block.opens):
            days.setdefault(showing.formats.local(block.start).date(), []).append((block, row))
    orders = order_rows(showing, view.orders, None)
    return showing.render("panels/board_list.html", {"current": current, "days": days, "orders": orders})


panels.register("board", _draw)
panels.register("board-needs", _needs)
panels.register("board-list", _list)
