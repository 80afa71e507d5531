"""The simulation's net as arrays: one row for each piece of work, one more that means none."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from orchestrator.planner.risk_net import NEVER, Net, Spans

Ints = NDArray[np.int32]
Index = NDArray[np.integer[Any]]
"""Runs, pieces, people or machines by their position."""
Flags = NDArray[np.bool_]
_MOST_HANDS = 2
"""A step needs two people at most."""


@dataclass(frozen=True, slots=True)
class Tables:
    """What the simulation looks up; minutes throughout. Rows are pieces, padded columns point at the last row."""

    pieces: int
    planned: Ints
    soonest: Ints
    waits: Ints
    """How many pieces each one waits for."""
    followers: Ints
    """[piece, k]: who waits for it."""
    least: Ints
    closes: Ints
    hands: Ints
    attended: Ints
    throughout: Flags
    on_shift: Ints
    """[row, minute]: from when on somebody works for so long without a pause; `NEVER` where nobody does."""
    shift_row: Ints
    """[piece, person]: row of ``on_shift``; row 0 is never."""
    rank: Ints
    """[piece, person]: who is asked first, lowest first."""
    machines: Flags
    """[piece, machine]: which of them may take it, one task at a time."""
    preferred: Ints
    """[piece, machine]: the planned one is 0."""
    usual: Ints
    minds_stops: Flags
    stop_from: Ints
    """[machine, k]"""
    stop_until: Ints
    room: Ints
    """Machine shared up to its capacity; -1 for none."""
    load: Ints
    roommates: Ints
    """[machine, k]: pieces that share it."""
    capacity: Ints
    end_of: Ints
    """Of an end: the piece before it; else the last row."""
    end_piece: Ints
    """Of a piece with an end: that end; else the last row."""


def tables(net: Net) -> Tables:
    """Arrays of a net, built once for all runs."""
    count = len(net.pieces)
    followers: list[list[tuple[int, int, int]]] = [[] for _ in range(count + 1)]
    waits = np.zeros(count + 1, np.int32)
    for wait in net.waits:
        followers[wait.after].append((wait.piece, wait.least, NEVER if wait.closes is None else wait.closes))
        waits[wait.piece] += 1
    waits[count] = NEVER
    on_shift, shift_row = _shifts(net)
    pieces = net.pieces
    end_piece = np.full(count + 1, count, np.int32)
    for index, piece in enumerate(pieces):
        if piece.end_of is not None:
            end_piece[piece.end_of] = index
    return Tables(
        pieces=count,
        planned=_column([p.planned for p in pieces]),
        soonest=_column([max(p.soonest, net.now) for p in pieces]),
        waits=waits,
        followers=_padded([[f[0] for f in row] for row in followers], count),
        least=_padded([[f[1] for f in row] for row in followers], 0),
        closes=_padded([[f[2] for f in row] for row in followers], NEVER),
        hands=_column([p.hands for p in pieces]),
        attended=_column([p.attended_min for p in pieces]),
        throughout=_column([p.throughout for p in pieces]).astype(bool),
        on_shift=on_shift,
        shift_row=shift_row,
        rank=_ranks([p.skilled for p in pieces], max(len(net.working), _MOST_HANDS)),
        machines=_ranks([p.machines for p in pieces], len(net.capacity)) < NEVER,
        preferred=_ranks([p.machines for p in pieces], len(net.capacity)),
        usual=_column([p.usual_min for p in pieces]),
        minds_stops=_column([not p.cleans for p in pieces]).astype(bool),
        stop_from=_padded([[a for a, _ in spans] for spans in net.stops], NEVER),
        stop_until=_padded([[b for _, b in spans] for spans in net.stops], -1),
        room=_column([-1 if p.room is None else p.room for p in pieces]),
        load=_column([p.load for p in pieces]),
        roommates=_padded(
            [[i for i, p in enumerate(pieces) if p.room == machine] for machine in range(len(net.capacity))], count
        ),
        capacity=np.array([NEVER * NEVER if c is None else c for c in net.capacity], np.int32),
        end_of=_column([count if p.end_of is None else p.end_of for p in pieces], count),
        end_piece=end_piece,
    )


def _column(values: Sequence[int], last: int = 0) -> Ints:
    return np.array([*values, last], np.int32)


def _padded(rows: Sequence[Sequence[int]], filler: int) -> Ints:
    width = max((len(row) for row in rows), default=0)
    table = np.full((len(rows), max(width, 1)), filler, np.int32)
    for index, row in enumerate(rows):
        table[index, : len(row)] = row
    return table


def _ranks(rows: Sequence[tuple[int, ...]], width: int) -> Ints:
    """[piece, thing]: its position in the piece's own list, `NEVER` for all others."""
    table = np.full((len(rows) + 1, max(width, 1)), NEVER, np.int32)
    for index, row in enumerate(rows):
        for position, thing in enumerate(row):
            table[index, thing] = position
    return table


def _shifts(net: Net) -> tuple[Ints, Ints]:
    """For each person and length that is asked for: the first minute from which on they work for so long."""
    last = max((b for spans in net.working for _, b in spans), default=0)
    rows: list[NDArray[np.int16]] = [np.full(last + 2, NEVER, np.int16)]
    known: dict[tuple[int, int], int] = {}
    which = np.zeros((len(net.pieces) + 1, max(len(net.working), _MOST_HANDS)), np.int32)
    for index, piece in enumerate(net.pieces):
        for person in piece.skilled if piece.hands else ():
            key = (person, piece.attended_min)
            if key not in known:
                known[key] = len(rows)
                rows.append(_first_minutes(net.working[person], piece.attended_min, last + 2))
            which[index, person] = known[key]
    return np.array(rows), which


def _first_minutes(spans: Spans, minutes: int, length: int) -> NDArray[np.int16]:
    allowed = np.full(length, NEVER, np.int16)
    for start, end in spans:
        if end - minutes >= start:
            allowed[start : end - minutes + 1] = np.arange(start, end - minutes + 1)
    return np.minimum.accumulate(allowed[::-1])[::-1]
