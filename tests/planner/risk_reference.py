"""The simulation's policy once more, one run at a time and minute by minute: slow, plain, and of no shared code."""

from dataclasses import dataclass, field

from orchestrator.planner.risk_net import NEVER, Net, Piece


@dataclass
class Kitchen:
    """One run as it stands."""

    net: Net
    lengths: list[int]
    start: dict[int, int] = field(default_factory=dict)
    end: dict[int, int] = field(default_factory=dict)
    person_until: dict[int, int] = field(default_factory=dict)
    machine_of: dict[int, int] = field(default_factory=dict)


def walk_through(net: Net, lengths: list[int], until: int) -> tuple[list[int], list[int]]:
    """Starts and ends of all pieces; `NEVER` for what has not begun by minute ``until``."""
    run = Kitchen(net, lengths)
    for index, piece in enumerate(net.pieces):
        if piece.begun is not None:
            who = list(piece.skilled[: piece.hands])
            begin(run, index, piece.begun, who, piece.machines[0] if piece.machines else None)
    for minute in range(net.now, until):
        while begin_one(run, minute):
            pass
    pieces = range(len(net.pieces))
    return [run.start.get(i, NEVER) for i in pieces], [run.end.get(i, NEVER) for i in pieces]


def begin_one(run: Kitchen, minute: int) -> bool:
    """Begin the first piece, in the order of the plan, that can begin at this minute."""
    for index, piece in enumerate(run.net.pieces):
        if index in run.start or not is_due(run, index, piece, minute):
            continue
        machine = next((m for m in piece.machines if machine_free(run, m, piece, minute)), None)
        people = [w for w in piece.skilled if can_work(run, w, piece, minute)]
        if (piece.machines and machine is None) or not room_left(run, piece, minute) or len(people) < piece.hands:
            continue
        begin(run, index, minute, people[: piece.hands], machine)
        return True
    return False


def is_due(run: Kitchen, index: int, piece: Piece, minute: int) -> bool:
    """All it waits for has ended long enough, and its planned minute has come or a window is about to close."""
    waits = [w for w in run.net.waits if w.piece == index]
    if minute < piece.soonest or any(w.after not in run.end or minute < run.end[w.after] + w.least for w in waits):
        return False
    closing = [run.end[w.after] + w.closes for w in waits if w.closes is not None]
    return minute >= min([piece.planned, *closing])


def holds(run: Kitchen, index: int, minute: int) -> bool:
    """Whether a begun piece still keeps its machine: until its end piece, if it has one, is over."""
    end_piece = next((i for i, p in enumerate(run.net.pieces) if p.end_of == index), None)
    if end_piece is not None:
        return end_piece not in run.end or minute < run.end[end_piece]
    return minute < run.end[index]


def machine_free(run: Kitchen, machine: int, piece: Piece, minute: int) -> bool:
    if any(m == machine and holds(run, i, minute) for i, m in run.machine_of.items()):
        return False
    return works(run, machine, piece, minute)


def works(run: Kitchen, machine: int, piece: Piece, minute: int) -> bool:
    last = minute + piece.usual_min
    return piece.cleans or not any(minute < b and last > a for a, b in run.net.stops[machine])


def room_left(run: Kitchen, piece: Piece, minute: int) -> bool:
    if piece.room is None:
        return True
    if not works(run, piece.room, piece, minute):
        return False
    inside = [i for i, p in enumerate(run.net.pieces) if p.room == piece.room and i in run.start]
    loads = [run.net.pieces[i].load for i in inside if holds(run, i, minute)]
    capacity = run.net.capacity[piece.room]
    return not loads or capacity is None or sum(loads) + piece.load <= capacity


def can_work(run: Kitchen, person: int, piece: Piece, minute: int) -> bool:
    if minute < run.person_until.get(person, 0):
        return False
    return any(a <= minute and minute + piece.attended_min <= b for a, b in run.net.working[person])


def begin(run: Kitchen, index: int, minute: int, people: list[int], machine: int | None) -> None:
    piece, length = run.net.pieces[index], run.lengths[index]
    run.start[index], run.end[index] = minute, minute + length
    kept = length if piece.throughout else piece.attended_min if piece.begun is not None else min(
        piece.attended_min, length
    )  # fmt: skip
    for person in people:
        run.person_until[person] = max(run.person_until.get(person, 0), minute + kept)
    if machine is not None:
        run.machine_of[index] = machine
