"""The production board: all days, every machine and store, hands and orders, from one view."""

from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any

from flask import Blueprint, abort, request

from display import board_drawing, board_range, panels, review_words, store_drawing
from display.board_drawing import Axis, Piece, Thread
from display.board_groups import OrderRow, fitting, group_rows
from display.board_range import Range
from display.pages.station import window_of
from display.panels import Showing
from display.request import page, showing
from display.store_drawing import StoreDrawing
from orchestrator.core.ids import TaskId
from orchestrator.core.models.alarm import Alarm, AlarmStatus
from orchestrator.core.views.board_models import BlockView, BoardView, RowView
from orchestrator.core.views.models import OrderView

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
    """The whole plan, or a part of it: see `board_range.of_query`; ``open`` names a task whose details stand below."""
    asked = board_range.of_query(request.args)
    if asked is None:
        abort(404)
    task = request.args.get("open", "")
    picture = showing()
    known = picture.snapshot.state.plan
    if known is None or all(planned.id != task for planned in known.tasks):
        task = ""  # it may have gone with another plan
    return page("board.html", key=asked.key(), range=asked, task=task)


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


def _named(showing: Showing, block: BlockView, axis: Axis) -> BlockView:
    """A stop gets words, so that they are given room like a label, and keeps those of who stopped it.

    Near by, what is tight says its latest start, and a block that is long enough says what is done.
    """
    if block.status == "stopped":
        if block.maintenance:
            return block.model_copy(update={"label": showing.words("maintenance")})
        says = showing.words("stopped_since", time=showing.formats.when(block.start, showing.now))
        return block.model_copy(update={"label": says, "title": showing.tell.typed(block.title)})
    if not axis.hours:
        return block
    if block.flag == "tight" and block.latest_start is not None:
        says = showing.words("by_at", time=showing.formats.clock(block.latest_start))
        return block.model_copy(update={"label": f"{block.label} {says}".strip()})
    if block.stay or not block.process:
        return block
    process = showing.words(f"process_{block.process}")
    return fitting(block, axis, f"{block.label} {block.title}".strip(), f"{block.label} {process}".strip(), block.label)


def rows(showing: Showing, view: BoardView, axis: Axis) -> list[Row]:
    """All machines and stores in the order of the section; also those with nothing to do: that is a fact too."""
    cold = [r for r in view.rows if r.store and r.high_c is not None and r.capacity is not None]
    litres = sum(r.capacity.value for r in cold if r.capacity) or 1.0
    threads = board_drawing.threads(view.rows, axis)
    drawn: list[Row] = []
    for row in view.rows:
        blocks = [_named(showing, b, axis) for b in row.blocks if b.status != "skipped"]
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


def order_rows(showing: Showing, orders: tuple[OrderView, ...], axis: Axis | None) -> list[OrderRow]:
    """Orders with their outlook in words."""
    drawn = []
    for order in orders:
        says, trouble = showing.sentences.outlook(order)
        bar = board_drawing.order_bar(order, f"{order.customer} {says}", axis) if axis else None
        drawn.append(OrderRow(order, says, trouble, bar))
    return drawn


def _draw(showing: Showing, key: str) -> str:
    asked = board_range.of_key(key) or Range()
    view = _board(showing)
    zone = showing.kitchen.time_zone
    axis = asked.axis((view.start, view.end), zone, showing.now)
    orders = order_rows(showing, view.orders, axis)
    grouped = group_rows(showing, view, asked.by, axis, orders) if asked.by != "place" else []
    context = {
        "view": view,
        "axis": axis,
        "range": asked,
        "ways": _ways(asked, axis, (view.start, view.end), zone, showing.now),
        "rows": rows(showing, view, axis) if asked.by == "place" else [],
        "groups": grouped,
        "crowd": _crowd(len(grouped) if grouped else len(view.rows) + len(orders), by_place=asked.by == "place"),
        "silent": silent_places(showing),
        "hands": board_drawing.hands(view.hands, axis, showing.now),
        "orders": [row for row in orders if row.bar],
        "now_x": axis.x(showing.now),
        "service": {showing.formats.local(o.due).date() for o in view.orders},
        "shaky": [(w, showing.sentences.shaky(w), showing.sentences.causes(w.causes)) for w in view.shaky],
        "day_range": lambda day: Range("day", datetime.combine(day, time(0)), asked.by),
    }
    return showing.render("panels/board.html", context)


def _crowd(count: int, *, by_place: bool) -> str:
    """How low rows must be for one printed sheet; counted out on paper in `board-print.css`."""
    many, most = (22, 29) if by_place else (33, 43)
    return "rows-most" if count > most else "rows-many" if count > many else ""


def _ways(asked: Range, axis: Axis, plan: tuple[datetime, datetime], zone: str, now: datetime) -> dict[str, Any]:
    """Addresses of the other groupings and lengths, and of what comes before and after."""
    anchor = now if axis.shows(now, now + timedelta(minutes=1)) else axis.start + (axis.end - axis.start) / 2
    if asked.span == "all" and not plan[0] <= anchor < plan[1]:
        anchor = min(max(now, plan[0]), plan[1] - timedelta(minutes=1))
    bys = [(by, replace(asked, by=by).address()) for by in board_range.BYS]
    spans = [(span, asked.zoomed(span, axis, zone, anchor).address()) for span in ("all", *board_range.SPANS)]
    moves = {}
    if asked.span != "all":
        moves = {way: asked.moved(zone, now, halves).address() for way, halves in (("earlier", -1), ("later", 1))}
        moves["now"] = replace(asked, start=None).address()
    return {"by": bys, "span": spans, **moves}


def _detail(showing: Showing, task: str) -> str:
    """What a block is about, beside the board: the facts of its task, its lot and its orders."""
    try:
        view = showing.views.task(showing.snapshot, TaskId(task))
    except KeyError:  # it has gone with another plan
        return showing.render("panels/board_task.html", {"task": None})
    board = _board(showing)
    block = next((found for found in board.tasks if found.task == task), None)
    move = next((found for found in board.moves if found.task == task and found.what != "gone"), None)
    batch = next((found for found in board.batches if found.lot == view.lot), None)
    whose = {view.order, *(batch.orders if batch is not None else ())}
    orders = [order for order in board.orders if order.order in whose]
    context = {"task": view, "block": block, "move": move, "orders": order_rows(showing, tuple(orders), None)}
    return showing.render("panels/board_task.html", {**context, "window": window_of(view)})


def _sorted(alarms: tuple[Alarm, ...]) -> list[Alarm]:
    loud = [alarm for alarm in alarms if not alarm.shelved]
    return sorted(loud, key=lambda a: a.status is AlarmStatus.ACKNOWLEDGED)


def _needs(showing: Showing, _: str) -> str:
    view = _board(showing)
    alarms = _sorted(view.alarms)
    unseen = any(a.status is AlarmStatus.UNACKNOWLEDGED for a in alarms)
    shown = STRIP_UNSEEN if unseen else STRIP
    proposed = view.proposal.chances if view.proposal else ()
    chances = [said for c in proposed if (said := showing.sentences.chance_change(c))]
    context = {
        "view": view,
        "alarms": alarms[:shown],
        "more": len(alarms) - shown,
        "quiet": sum(alarm.shelved for alarm in view.alarms),
        "listed": LISTED,
        "chances": chances,
        "late": sum(one.over for one in review_words.of(showing).values()),
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


panels.register("board", _draw, of_the_record=True)
panels.register("board-needs", _needs, of_the_record=True)
panels.register("board-list", _list, of_the_record=True)
panels.register("board-task", _detail, of_the_record=True)
