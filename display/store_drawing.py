"""Geometry of a store on the board: length is time, height is litres, the lid is its capacity."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Final

from display.board_drawing import CHARACTER, WRITTEN_ANYWAY, Axis
from display.label_layout import Box, Label, Wanted, spread
from orchestrator.core.views.board_models import BlockView

TOLERANCE: Final = 0.05
"""Litres within which a store counts as full, not as over."""


@dataclass(frozen=True, slots=True)
class Place:
    """A lot in a store; x in percent of the plot, y and height in percent of the capacity, y downward."""

    block: BlockView
    x: float
    width: float
    y: float
    height: float
    hatch: float
    """From its start so far: too early to leave."""
    elapsed: float
    """From its start so far: gone by."""
    rail: float
    """From its end so far: slack to its latest leaving, when that lies on the axis."""
    wall: float | None
    """Its latest leaving, where that comes before its end."""
    text: str
    """Label, and litres where there is room; empty where the lot carries it on another of its blocks."""
    text_x: float
    """Where it begins."""
    flag_x: float | None
    """Where its flag is written: after hatch and label, or behind a block that is too short for it; 'moved' is
    then left out."""
    label_y: float
    """Middle of the label; of the block where there is room, and always within the plot."""
    thin: bool
    """Too low for a thick outline."""
    beside: bool
    """The label stands beside the block, which is too low or too short for it."""
    leader: tuple[float, float, float, float] | None
    """x1, y1, x2, y2: a line from the label to its block, where it had to be set off."""


@dataclass(frozen=True, slots=True)
class Over:
    """More than the store takes, for a while."""

    x: float
    width: float
    height: float
    """Above the lid, in percent of the capacity."""
    litres: float
    until: datetime


@dataclass(frozen=True, slots=True)
class Lid:
    """One day's fullest moment."""

    x: float
    width: float
    litres: float
    full: bool
    over: float


@dataclass(frozen=True, slots=True)
class StoreDrawing:
    """A store as drawn."""

    places: tuple[Place, ...]
    lids: tuple[Lid, ...]
    overs: tuple[Over, ...]
    em: float
    """Height of the plot, in widths of its type."""


def profile(blocks: Iterable[BlockView]) -> list[tuple[datetime, float]]:
    """How many litres are in it from each instant on."""
    changes: dict[datetime, float] = {}
    for block in blocks:
        if block.status != "skipped" and block.start < block.end:
            changes[block.start] = changes.get(block.start, 0.0) + block.litres
            changes[block.end] = changes.get(block.end, 0.0) - block.litres
    level, found = 0.0, []
    for at in sorted(changes):
        level += changes[at]
        found.append((at, round(level, 6)))
    return found


def _peak(levels: Sequence[tuple[datetime, float]], start: datetime, end: datetime) -> float:
    before = [litres for at, litres in levels if at <= start]
    within = [litres for at, litres in levels if start < at < end]
    return max([0.0, *before[-1:], *within])


def stack(blocks: Sequence[BlockView], capacity: float) -> dict[str, float]:
    """The level, in litres from the floor, on which each block lies: none overlaps another while both are there.

    Blocks of one lot that come together lie together, the longest lowest. Each lot lies as low as it can;
    of several orders of laying the flattest is taken. Where even that breaks through the lid although the
    litres fit, the highest are let down to it: the drawing then overlaps, but does not lie about the lid.
    """
    lots = [list(found) for _, found in groupby(sorted(blocks, key=_lot_key), key=lambda b: (b.start, b.label))]
    orders = (
        lots,
        sorted(lots, key=lambda lot: (min(b.start for b in lot) - max(b.end for b in lot), lot[0].start)),
        sorted(lots, key=lambda lot: -sum(b.litres for b in lot)),
    )
    best: dict[str, float] = {}
    best_top = float("inf")
    for order in orders:
        levels = _laid(order)
        top = max((levels[str(b.task)] + b.litres for b in blocks), default=0.0)
        if top < best_top - 1e-9:
            best, best_top = levels, top
    fits = max((litres for _, litres in profile(blocks)), default=0.0) <= capacity + TOLERANCE
    if fits and best_top > capacity:
        return {str(b.task): max(0.0, min(best[str(b.task)], capacity - b.litres)) for b in blocks}
    return best


def _lot_key(block: BlockView) -> tuple[datetime, str, float, str]:
    return (block.start, block.label, -block.end.timestamp(), block.task or "")


def _laid(lots: Sequence[Sequence[BlockView]]) -> dict[str, float]:
    laid: list[tuple[BlockView, float]] = []
    for lot in lots:
        base = _lowest(lot, laid)
        for block in lot:
            laid.append((block, base))
            base += block.litres
    return {str(block.task): level for block, level in laid}


def _lowest(lot: Sequence[BlockView], laid: Sequence[tuple[BlockView, float]]) -> float:
    """The lowest base at which every block of the lot is free of those already laid."""
    offsets, offset = [], 0.0
    for block in lot:
        offsets.append((block, offset))
        offset += block.litres
    tops = sorted({0.0, *(max(0.0, level + other.litres - off) for other, level in laid for _, off in offsets)})
    for base in tops:
        if all(_free(block, base + off, laid) for block, off in offsets):
            return base
    return tops[-1]


def _free(block: BlockView, level: float, laid: Sequence[tuple[BlockView, float]]) -> bool:
    return not any(
        other.start < block.end
        and block.start < other.end
        and there < level + block.litres - 1e-9
        and level < there + other.litres - 1e-9
        for other, there in laid
    )


def store(blocks: Sequence[BlockView], capacity: float, axis: Axis, em: float) -> StoreDrawing:
    """Everything of one store; ``em`` is the height that the page gives it."""
    real = [b for b in blocks if b.task and b.status not in {"skipped", "stopped"} and b.litres > 0]
    levels = stack(real, capacity)
    shown = [b for b in real if axis.shows(b.start, b.end)]
    labels = _labels(shown, levels, capacity, axis, em)
    places = [_place(b, levels[str(b.task)], labels.get(str(b.task)), axis, (capacity, em)) for b in shown]
    steps = profile(real)
    lids = []
    for day in axis.days:
        end = axis.start + (axis.end - axis.start) * ((day.x + day.width) / 100.0)
        litres = _peak(steps, day.at, end)
        over = max(0.0, litres - capacity)
        lids.append(Lid(day.x, day.width, litres, abs(litres - capacity) <= TOLERANCE, over if over > TOLERANCE else 0))
    return StoreDrawing(tuple(places), tuple(lids), _overs(steps, capacity, axis), em)


def _place(block: BlockView, level: float, label: Label | None, axis: Axis, room: tuple[float, float]) -> Place:
    capacity, em = room
    x, end = axis.clipped(block.start), axis.clipped(block.end)
    width = max(end - x, 0.2)
    hatch = min(width, max(0.0, axis.clipped(block.opens) - x)) if block.opens else 0.0
    elapsed = min(width, max(0.0, axis.clipped(block.done_until) - x)) if block.done_until else 0.0
    # Only a stay has marks of its leaving; of a step in a store they are marks of its start.
    closes = axis.x(block.closes) if block.closes and block.opens else None
    rail = max(0.0, closes - end) if closes is not None and closes <= 100 else 0.0
    wall = closes if closes is not None and x <= closes < axis.x(block.end) - 0.05 else None
    height = 100.0 * block.litres / capacity
    y = 100.0 - 100.0 * level / capacity - height
    thin = block.litres / capacity * em < 0.6
    if label is None:
        half = min(50.0, 55.0 / em)
        label = Label("", x, min(100.0 - half, max(half, y + height / 2)), False, None)
    flag_x = _flag_x(block, x, width, label)
    text, beside = label.text, label.beside
    return Place(
        block,
        x,
        width,
        y,
        height,
        hatch,
        elapsed,
        rail,
        wall,
        text,
        label.x,
        flag_x,
        label.y,
        thin,
        beside,
        label.leader,
    )


def _flag_x(block: BlockView, x: float, width: float, label: Label) -> float | None:
    """Right behind its label: room for it was kept there."""
    return label.x + _text_width(label.text) if label.text and _writes_flag(block, width, label.text) else None


def _writes_flag(block: BlockView, width: float, text: str) -> bool:
    if block.flag in WRITTEN_ANYWAY:
        return True
    return bool(block.flag) and width > _text_width(text) + _flag_width(block)


def _text_width(text: str) -> float:
    return len(text) * CHARACTER + 0.5


def _flag_width(block: BlockView) -> float:
    return (len(block.flag) + 1) * CHARACTER


def _labels(
    blocks: Sequence[BlockView], levels: dict[str, float], capacity: float, axis: Axis, em: float
) -> dict[str, Label]:
    """One label a lot, over all of its blocks that came together; on the highest of them."""
    wanted: list[Wanted] = []
    for _, found in groupby(sorted(blocks, key=_lot_key), key=lambda b: (b.start, b.label)):
        lot = list(found)
        tallest = max(lot, key=lambda b: b.litres)
        x, end = axis.clipped(tallest.start), min(axis.clipped(b.end) for b in lot)
        top = max(levels[str(b.task)] + b.litres for b in lot)
        litres = sum(b.litres for b in lot)
        # Parts of one lot lie together, so their label may stand over the line between them.
        box = Box(x, 100.0 - 100.0 * top / capacity, max(end - x, 0.2), 100.0 * litres / capacity)
        full = f"{tallest.label} {litres:.1f}".rstrip("0").rstrip(".") + "\u00a0L"
        texts = tuple((text, _text_width(text)) for text in (full, tallest.label))
        flagged = _writes_flag(tallest, axis.clipped(tallest.end) - x, full)
        wanted.append(Wanted(str(tallest.task), box, texts, _flag_width(tallest) if flagged else 0.0))
    return spread(wanted, em)


def _overs(steps: Sequence[tuple[datetime, float]], capacity: float, axis: Axis) -> tuple[Over, ...]:
    overs: list[Over] = []
    begun: datetime | None = None
    most = 0.0
    for at, litres in steps:
        if litres > capacity + TOLERANCE:
            begun, most = begun or at, max(most, litres)
        elif begun is not None:
            if axis.shows(begun, at):
                x = axis.clipped(begun)
                too_much = most - capacity
                overs.append(Over(x, axis.clipped(at) - x, 100.0 * too_much / capacity, too_much, at))
            begun, most = None, 0.0
    return tuple(overs)
