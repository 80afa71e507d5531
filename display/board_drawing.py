"""Geometry of the board: a linear axis of days, rows of machines, hands and orders; all places in percent.

Pure functions of views and instants. Heights of stores are in `store_drawing`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from typing import Final, Literal
from zoneinfo import ZoneInfo

from orchestrator.core.views.board_models import BlockView, HandsPoint, RowView
from orchestrator.core.views.models import OrderView

CHARACTER: Final = 0.8
"""Width of a bold character in percent of the plot, at its narrowest: 9 px of 1130 on a screen of 1280."""
WRITTEN_ANYWAY: Final = {"tight", "late", "at risk", "missed", "on hold"}
"""Flags that are written even where they cover a neighbour; 'moved' gives way."""

RAIL: Final = timedelta(hours=4)
"""Slack up to this length is drawn; more of it presses on nobody, and its rails would run through everything after."""

SHORT_WIDTH: Final = 14.0
"""In percent of the plot: what is written of hands that are short."""

Side = Literal["inside", "right", "left", "over", "none"]
"""Where a label stands; over: at the block itself, across what follows it."""


@dataclass(frozen=True, slots=True)
class Day:
    """One day of the axis."""

    at: datetime
    x: float
    width: float
    date: date


@dataclass(frozen=True, slots=True)
class Axis:
    """Time from left to right, linear."""

    start: datetime
    end: datetime
    days: tuple[Day, ...]
    hours: tuple[tuple[float, datetime], ...] = ()
    """Marks between midnights, when one day is shown."""

    def x(self, at: datetime) -> float:
        """Place of an instant, in percent; outside 0..100 when it is not shown."""
        return 100.0 * (at - self.start).total_seconds() / (self.end - self.start).total_seconds()

    def clipped(self, at: datetime) -> float:
        """The same, kept within 0..100."""
        return min(100.0, max(0.0, self.x(at)))

    def shows(self, start: datetime, end: datetime) -> bool:
        """Whether something of that interval lies on the axis."""
        return start < self.end and end > self.start


def midnight(day: date, zone: ZoneInfo) -> datetime:
    """When a day begins there, in UTC: two instants of one zone are subtracted by their clocks, which is wrong where
    clocks change."""
    return datetime.combine(day, time(0), zone).astimezone(UTC)


def axis(start: datetime, end: datetime, zone: str, day: date | None = None) -> Axis:
    """Whole days on the kitchen's clock that cover a plan, or one of them with its hours.

    A plan that begins on a morning ends on a morning; its last hours, before anybody comes, are not shown.
    """
    there = ZoneInfo(zone)
    if day:
        return close_axis(midnight(day, there), midnight(day + timedelta(days=1), there), zone, 120)
    first = start.astimezone(there).date()
    count = max(1, round((end - start) / timedelta(days=1)))
    return _axis([midnight(first + timedelta(days=n), there) for n in range(count + 1)], there, ())


def close_axis(begin: datetime, end: datetime, zone: str, step_min: int) -> Axis:
    """A part of a plan, with a mark every so many minutes on the kitchen's clock; nights between days are edges."""
    there = ZoneInfo(zone)
    first = begin.astimezone(there).date()
    count = (end.astimezone(there).date() - first).days
    nights = [midnight(first + timedelta(days=n), there) for n in range(count + 2)]
    edges = [begin, *(night for night in nights if begin < night < end), end]
    marks = []
    for night, after in pairwise(nights):
        at = night + timedelta(minutes=step_min)
        while at < min(after, end):
            if at > begin:
                marks.append(at)
            at += timedelta(minutes=step_min)
    return _axis(edges, there, marks)


def _axis(edges: Sequence[datetime], there: ZoneInfo, marks: Iterable[datetime]) -> Axis:
    whole = Axis(edges[0], edges[-1], ())
    days = tuple(
        Day(at, whole.x(at), whole.x(after) - whole.x(at), at.astimezone(there).date()) for at, after in pairwise(edges)
    )
    return Axis(edges[0], edges[-1], days, tuple((whole.x(at), at) for at in marks))


@dataclass(frozen=True, slots=True)
class Piece:
    """A block in a row of one machine."""

    block: BlockView
    x: float
    width: float
    done: float
    """How much of the width has been done."""
    side: Side
    """Where its label stands."""
    flagged: bool
    """Whether its flag is written."""
    seen: float = 0.0
    """How much of the width no later block covers."""
    rail: float = 0.0
    """From its end so far: slack to its latest start."""
    walled: bool = False
    """A minute later was tried and did not do: the slack ends in a wall."""
    others: tuple[BlockView, ...] = ()
    """Neighbours before it that had no room for what must be read; it is written right of this one."""
    lag: float | None = None
    """Where the plan has its start, when it is late."""

    @property
    def end(self) -> float:
        """Its right edge."""
        return self.x + self.width

    @property
    def clear(self) -> float:
        """Where its rail has ended too."""
        return self.end + self.rail


def _bare(block: BlockView, axis: Axis) -> Piece:
    x = axis.clipped(block.start)
    width = max(axis.clipped(block.end) - x, 0.2)
    done = 0.0 if block.done_until is None else min(width, max(0.0, axis.clipped(block.done_until) - x))
    rail, walled = _slack(block, axis)
    lag = axis.clipped(block.planned) if block.planned is not None else None
    return Piece(block, x, width, done, "none", False, rail=rail, walled=walled, lag=lag)


def _slack(block: BlockView, axis: Axis) -> tuple[float, bool]:
    """How far its end may slip with its start, and whether that is all; nothing where there is plenty."""
    if block.latest_start is None:
        return 0.0, False
    slack = block.latest_start - block.start
    end = axis.clipped(block.end)
    if slack > RAIL or not axis.shows(block.start, block.end):
        return 0.0, False
    return max(0.0, axis.clipped(block.end + slack) - end), block.latest_is_exact


def _written(block: BlockView, flag: bool) -> float:
    characters = len(block.label) + (len(block.flag) + 1 if flag and block.flag else 0)
    return characters * CHARACTER + 0.6


def line_pieces(blocks: Iterable[BlockView], axis: Axis, *, noted: bool = False) -> list[Piece]:
    """Blocks of a machine that takes one thing after another, with the side on which each label has room.

    A label stands inside where it fits, else to the right, else to the left; of neighbours with the same
    label only the last carries it. Without room it is left out: the block's title says it.

    Args:
        noted: Flags are told below the row, see `board_notes`: none is written beside its block.
    """
    shown = sorted((b for b in blocks if axis.shows(b.start, b.end)), key=lambda b: (b.start, b.task or ""))
    bare = [_bare(block, axis) for block in shown]
    pieces: list[Piece] = []
    occupied = 0.0
    for number, piece in enumerate(bare):
        after = bare[number + 1] if number + 1 < len(bare) else None
        placed = _placed(piece, occupied, after, noted=noted)
        pieces.append(placed)
        occupied = max(occupied, piece.end)
        if placed.side == "right":
            occupied = max(occupied, piece.clear + _written(piece.block, placed.flagged))
    return pieces if noted else _with_others(pieces)


def _must(block: BlockView) -> bool:
    return block.flag in WRITTEN_ANYWAY or block.status == "stopped"


def _reach(piece: Piece) -> tuple[float, float]:
    """From where to where a piece and its label take room."""
    need = _written(piece.block, piece.flagged)
    left = piece.x - need if piece.side == "left" else piece.x
    return left, piece.clear + need if piece.side == "right" else piece.end


def _with_others(pieces: list[Piece]) -> list[Piece]:
    """What must be read and had no room stands right of the crowd it is in, in order; never over a neighbour."""
    for number, piece in enumerate(pieces):
        if piece.side != "none" or not _must(piece.block):
            continue
        following = range(number, len(pieces))
        need = _written(piece.block, True) + CHARACTER
        rooms = {at: _room_after(pieces, at) for at in following}
        at = next((n for n in following if rooms[n] >= need), max(following, key=lambda n: rooms[n]))
        pieces[at] = replace(pieces[at], others=(*pieces[at].others, piece.block))
    return pieces


def _room_after(pieces: list[Piece], at: int) -> float:
    taken = sum(_written(other, True) + CHARACTER for other in pieces[at].others)
    next_from = _reach(pieces[at + 1])[0] if at + 1 < len(pieces) else 100.0
    return next_from - max(_reach(piece)[1] for piece in pieces[: at + 1]) - taken


def _placed(piece: Piece, occupied: float, after: Piece | None, *, noted: bool) -> Piece:
    block = piece.block
    seen = piece.width if after is None else max(0.0, min(piece.end, after.x) - piece.x)
    room = (after.x if after else 100.0) - max(piece.clear, occupied)
    must = _must(block) and not noted
    if not block.label and not must:
        return piece
    same = after is not None and after.block.label == block.label and (noted or after.block.flag == block.flag)
    for flag in (False,) if noted else (True, False) if block.flag and not must else (bool(block.flag),):
        need = _written(block, flag)
        sides: tuple[tuple[Side, float], ...] = (
            ("inside", seen),
            ("right", -1.0 if same else room),
            ("left", -1.0 if same else piece.x - occupied),
        )
        for side, there in sides:
            if there >= need:
                return replace(piece, side=side, flagged=flag, seen=seen)
    # Beside a later run the words of a stop would be read as that run's: they stay with the stop.
    return replace(piece, side="over", seen=seen) if block.status == "stopped" else piece


@dataclass(frozen=True, slots=True)
class Hands:
    """Hands needed and present, as paths in a box of 100 by `top`."""

    needed: str
    present: str
    top: int
    short: tuple[tuple[float, datetime, int], ...]
    """Where, when and how many hands are too few; only what is still to come."""


def hands(points: Sequence[HandsPoint], axis: Axis, now: datetime) -> Hands:
    """The profile as two stepped outlines; y grows downward, a hand is 1 high."""
    top = max([1, *(max(p.needed, p.present) for p in points)])
    ends = [*(p.at for p in points[1:]), axis.end]
    steps = [(p, until) for p, until in zip(points, ends, strict=True) if axis.shows(p.at, until)]
    short: list[tuple[float, datetime, int]] = []
    lacking = False
    for p, until in steps:
        lacks = max(0, p.needed - p.present)
        if lacks and not lacking and until > now and (not short or axis.clipped(p.at) - short[-1][0] > SHORT_WIDTH):
            short.append((axis.clipped(p.at), p.at, lacks))
        lacking = bool(lacks)
    needed = _stepped([(axis.clipped(p.at), p.needed) for p, _ in steps], top)
    present = _outlined([(axis.clipped(p.at), axis.clipped(until), p.present) for p, until in steps], top)
    return Hands(needed, present, top, tuple(short[:3]))


def _stepped(steps: list[tuple[float, int]], top: int) -> str:
    path = f"M0 {top}"
    for x, height in steps:
        path += f"H{x:.2f}V{top - height}"
    return path + f"H100V{top}"


def _outlined(steps: list[tuple[float, float, int]], top: int) -> str:
    """The same, but with no line along the floor where nobody is there."""
    path, last = "", 0
    for x, until, height in steps:
        if height and not last:
            path += f"M{x:.2f} {top}"
        if height or last:
            path += f"V{top - height}"
        if height:
            path += f"H{until:.2f}"
        last = height
    return path + (f"V{top}" if last else "")


@dataclass(frozen=True, slots=True)
class OrderBar:
    """From ready to due, or from due to ready when late."""

    x: float
    width: float
    due: float
    late: bool
    side: Literal["inside", "left", "right"]


def order_bar(order: OrderView, says: str, axis: Axis) -> OrderBar | None:
    """Where an order stands between ready and due; none when neither is on the axis."""
    ready = order.handed_over_at or (order.outlook.ready_at if order.outlook else None) or order.due
    start, end = min(ready, order.due), max(ready, order.due)
    if not (axis.start <= end and start <= axis.end):
        return None
    x, due = axis.clipped(start), axis.clipped(order.due)
    width = axis.clipped(end) - x
    need = len(says) * CHARACTER + 1.5
    side: Literal["inside", "left", "right"] = "inside" if width >= need else "left" if x >= need else "right"
    return OrderBar(x, width, due, ready > order.due, side)


@dataclass(frozen=True, slots=True)
class Thread:
    """A plum line by which a lot goes from one place down to the next, within one row."""

    x: float
    part: Literal["out", "through", "in"]
    task: str
    """Of the block that it leaves or enters."""


def threads(rows: Sequence[RowView], axis: Axis) -> dict[str, list[Thread]]:
    """Threads of every row: out of the block that feeds, through the rows between, into the block that follows.

    Only downward ones that begin in a store or leave the churn: threads between stove and ice bath, which
    stand beside each other, would say nothing.
    """
    where = {block.task: (at, block) for at, row in enumerate(rows) for block in row.blocks if block.task}
    drawn: dict[str, list[Thread]] = {row.equipment: [] for row in rows}
    seen: set[tuple[float, int, int]] = set()
    for at, row in enumerate(rows):
        for block in row.blocks if row.floor.value in {"cold", "churn", "hard"} else ():
            for fed in block.feeds:
                there, follower = where.get(fed, (at, block))
                x = axis.x(follower.start)
                if there <= at or not 0 <= x <= 100 or (round(x, 2), at, there) in seen:
                    continue
                seen.add((round(x, 2), at, there))
                drawn[row.equipment].append(Thread(x, "out", str(block.task)))
                drawn[rows[there].equipment].append(Thread(x, "in", str(fed)))
                for between in rows[at + 1 : there]:
                    drawn[between.equipment].append(Thread(x, "through", ""))
    return drawn
