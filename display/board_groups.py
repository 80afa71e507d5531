"""The board grouped by batch, by order or by crew: rows of pieces on the same axis as machines have."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from display.board_drawing import CHARACTER, Axis, OrderBar, Piece, line_pieces
from display.board_notes import Note, notes
from display.panels import Showing
from orchestrator.core.ids import CrewId
from orchestrator.core.views.board_models import BatchRow, BlockView, BoardView, CrewRow
from orchestrator.core.views.models import OrderView


@dataclass(frozen=True)
class OrderRow:
    """An order as drawn."""

    view: OrderView
    says: str
    trouble: bool
    bar: OrderBar | None


@dataclass(frozen=True)
class GroupRow:
    """A row that stands for a batch, an order or somebody."""

    key: str
    """Of its element's id."""
    name: str
    says: str
    """Both as the reader reads them: they are put together of names, which are translated one by one."""
    href: str
    pieces: list[Piece]
    order: OrderRow | None = None
    """Its bar is drawn instead of pieces."""
    present: tuple[tuple[float, float], ...] = ()
    """Places and widths of shifts, in percent."""
    head: bool = False
    """Begins something new: a rule stands above it."""
    notes: tuple[Note, ...] | None = None
    """Flags of its steps, on a line of their own below them; none: they stand beside their steps."""


def group_rows(showing: Showing, view: BoardView, by: str, axis: Axis, orders: Sequence[OrderRow]) -> list[GroupRow]:
    """Every row of the board when it is not grouped by place; also those with nothing to do."""
    tasks = [block for block in view.tasks if block.status != "skipped"]
    if by == "crew":
        return _by_crew(showing, view.crew, tasks, axis)
    rest = [block for block in tasks if block.lot is None and block.order is None]
    counter = [block for block in tasks if block.lot is None and block.order is not None]
    found: list[GroupRow] = []
    if by == "batch":
        found = [_batch(showing, batch, tasks, axis) for batch in view.batches]
        found += _row(showing, "counter", "board_counter", counter, axis)
    else:
        found = _by_order(showing, view, tasks, axis, orders)
    return found + _row(showing, "upkeep", "board_upkeep", rest, axis)


def _by_order(
    showing: Showing, view: BoardView, tasks: Sequence[BlockView], axis: Axis, orders: Sequence[OrderRow]
) -> list[GroupRow]:
    """Under each order its batches; one for several orders stands under the first and says for how many it is."""
    found: list[GroupRow] = []
    f = showing.formats
    for order in orders:
        due = f.when(order.view.due, showing.now)
        href = f"/orders#{order.view.order}"
        customer = showing.tell.name(order.view.customer)
        found.append(GroupRow(f"order-{order.view.order}", due, customer, href, [], order, head=True))
        for batch in view.batches:
            if batch.orders[:1] == (order.view.order,):
                found.append(_batch(showing, batch, tasks, axis))
        own = [block for block in tasks if block.lot is None and block.order == order.view.order]
        found += _row(showing, f"counter-{order.view.order}", "board_counter", own, axis)
    spare = [_batch(showing, batch, tasks, axis) for batch in view.batches if not batch.orders]
    return found + spare


def _batch(showing: Showing, batch: BatchRow, tasks: Iterable[BlockView], axis: Axis) -> GroupRow:
    own = [_said(showing, block, axis) for block in tasks if block.lot == batch.lot]
    says = f"{showing.tell.name(batch.name)}, {showing.formats.amount(batch.size)}"
    if len(batch.orders) > 1:
        says += f", {showing.words('board_for_orders', count=len(batch.orders))}"
    return GroupRow(f"batch-{batch.lot}", batch.lot, says, f"/record/{batch.lot}", line_pieces(own, axis))


def _row(showing: Showing, key: str, word: str, blocks: Sequence[BlockView], axis: Axis) -> list[GroupRow]:
    """A row of what belongs to no batch; none where there is nothing."""
    named = [_said(showing, block, axis, owner=True) for block in blocks]
    return [GroupRow(key, showing.words(word), "", "", line_pieces(named, axis))] if blocks else []


def _said(showing: Showing, block: BlockView, axis: Axis, *, owner: bool = False) -> BlockView:
    """What is done, and where if there is room: the row says of what, unless ``owner`` asks for that too."""
    process = showing.words(f"process_{block.process}") if block.process else ""
    short = " ".join(part for part in (block.label if owner else "", process) if part)
    return fitting(block, axis, f"{short}, {block.place}" if block.place else short, short)


def fitting(block: BlockView, axis: Axis, *texts: str) -> BlockView:
    """The block with the first of these labels that fits into it, else the last."""
    width = axis.clipped(block.end) - axis.clipped(block.start)
    label = next((text for text in texts if len(text) * CHARACTER + 0.6 <= width), texts[-1])
    return block.model_copy(update={"label": label})


def _by_crew(showing: Showing, crew: Sequence[CrewRow], tasks: Sequence[BlockView], axis: Axis) -> list[GroupRow]:
    """What each has in hand when, over their shifts; what nobody has been given stands below."""
    found = []
    for member in crew:
        present = tuple(
            (axis.clipped(p.start), axis.clipped(p.end) - axis.clipped(p.start))
            for p in member.present
            if axis.shows(p.start, p.end)
        )
        pieces, said = _hands_of(showing, tasks, axis, member.crew)
        href = f"/crew#{member.crew}"
        name = showing.tell.name(member.name)
        found.append(GroupRow(f"crew-{member.crew}", name, "", href, pieces, None, present, notes=said))
    pieces, said = _hands_of(showing, tasks, axis, None)
    if pieces:
        found.append(GroupRow("crew-nobody", showing.words("board_nobody"), "", "/crew", pieces, notes=said))
    return found


def _hands_of(
    showing: Showing, tasks: Sequence[BlockView], axis: Axis, who: CrewId | None
) -> tuple[list[Piece], tuple[Note, ...]]:
    """Steps of a few minutes stand close: their flags are told below them."""
    held = [(task, _held(showing, task, axis, who)) for task in tasks]
    # A task in parts is flagged once: on each, it would fill the row with the same word.
    first = [parts[0].model_copy(update={"label": _short(showing, task)}) for task, parts in held if parts]
    said = notes(first, axis, lambda flag: showing.words(f"flag_{flag}"))
    return line_pieces([part for _, parts in held for part in parts], axis, noted=True), tuple(said)


def _short(showing: Showing, task: BlockView) -> str:
    return task.label or (showing.words(f"process_{task.process}") if task.process else "")


def _held(showing: Showing, task: BlockView, axis: Axis, who: CrewId | None) -> list[BlockView]:
    """The parts of a task for which somebody is needed, as blocks of their own."""
    process = showing.words(f"process_{task.process}") if task.process else ""
    long = f"{task.label} {process}".strip()
    found: list[BlockView] = []
    for span in task.spans:
        if (who in span.crew) if who is not None else not span.crew:
            gone = _within(task.done_until, span.start, span.end)
            flag = task.flag if not found else ""  # its shape stands on the first part
            times = {"start": span.start, "end": span.end, "done_until": gone, "planned": None}
            part = task.model_copy(update={**times, "flag": flag})
            found.append(fitting(part, axis, f"{task.label} {task.title}".strip(), long, _short(showing, task)))
    return found


def _within(at: datetime | None, start: datetime, end: datetime) -> datetime | None:
    return None if at is None else min(max(at, start), end)
