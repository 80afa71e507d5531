"""Runs of a plan side by side: each begins its own next piece of work, all of them in the same array operations."""

from dataclasses import dataclass

import numpy as np

from orchestrator.planner.risk_net import NEVER, Net
from orchestrator.planner.risk_tables import Index, Ints, Tables, tables


@dataclass(frozen=True, slots=True)
class Runs:
    """When each piece began and ended, [run, piece]; `NEVER` where it did not."""

    start: Ints
    end: Ints


def simulate(net: Net, lengths: Ints) -> Runs:
    """Work a plan off, once for each row of lengths.

    The policy, which is the plan's own as far as that goes:

    * Nothing begins before its planned minute, unless a window would close while it waits: work that must follow
      other work keeps its planned distance from it, and food leaves a store before its window closes.
    * A piece begins when all it waits for has ended, its least time has passed, a machine is free (its own in the
      planned sequence; where the kind has several without clean-downs, whichever is free first), the load fits, and
      enough skilled people are free who work on for its usual minutes. The planned person takes it if free at that
      minute, else another; those in reserve last.
    * Nobody knows how long a piece will take: who has begun it sees it through, also into a break.
    * Where two could begin in the same minute, the one planned earlier does.

    Args:
        net: What is open.
        lengths: Whole minutes, [run, piece].

    Returns:
        Starts and ends in minutes from the planning start.
    """
    run = _Run(tables(net), lengths)
    run.begin_facts(net)
    while run.advance():
        pass
    return Runs(run.start[:, :-1], run.end[:, :-1])


class _Run:
    """The state of all runs; the last column stands for no piece."""

    def __init__(self, table: Tables, lengths: Ints) -> None:
        runs, count = lengths.shape
        self.table = table
        self.lengths = np.concatenate((lengths, np.zeros((runs, 1), np.int32)), axis=1)
        self.start = np.full((runs, count + 1), NEVER, np.int32)
        self.end = np.full((runs, count + 1), NEVER, np.int32)
        self.ready = np.tile(table.soonest, (runs, 1))
        """No earlier than this."""
        self.planned = np.tile(table.planned, (runs, 1))
        """As planned, or when a window demands."""
        self.waits = np.tile(table.waits, (runs, 1))
        self.next = np.full((runs, count + 1), NEVER, np.int32)
        """The first minute at which a piece could begin, as far as is known; `NEVER` while it waits, and once it has
        begun."""
        self.next[:, :-1] = np.where(self.waits == 0, np.maximum(self.ready, self.planned), NEVER)[:, :-1]
        self.person_free = np.zeros((runs, table.rank.shape[1]), np.int32)
        self.machine_free = np.zeros((runs, table.machines.shape[1]), np.int32)
        self.machine = np.zeros((runs, count + 1), np.int32)
        self.until = np.zeros((runs, count + 1), np.int32)
        """Until when a piece fills its room, at the earliest."""

    def begin_facts(self, net: Net) -> None:
        """What is in hand has begun, with those who began it."""
        every = np.arange(len(self.start))
        for index, piece in enumerate(net.pieces):
            if piece.begun is None:
                continue
            at, which = np.full(len(every), piece.begun, np.int32), np.full(len(every), index)
            kept = at + (self.lengths[:, index] if piece.throughout else piece.attended_min)
            for person in piece.skilled[: piece.hands]:
                self.person_free[:, person] = np.maximum(self.person_free[:, person], kept)
            self._begin(every, which, at, planned_machine=True)

    def advance(self) -> bool:
        """Each run begins its next piece, or learns when it can. False when nothing is left that could begin."""
        piece = self.next.argmin(axis=1)
        run = np.arange(len(piece))
        at = self.next[run, piece]
        open_runs = at < NEVER
        if not open_runs.all():
            run, piece, at = run[open_runs], piece[open_runs], at[open_runs]
        if not len(run):
            return False
        possible = self._possible(run, piece, at)
        now = possible <= at
        later = ~now
        self._put_off(run[later], piece[later], possible[later])
        run, piece, at = run[now], piece[now], at[now]
        self._take_people(run, piece, at)
        self._begin(run, piece, at)
        return True

    # When it can begin

    def _possible(self, run: Index, piece: Index, at: Ints) -> Ints:
        """``at`` where everything is free by then; else the first minute at which it might be."""
        found = at.copy()
        wants = np.flatnonzero(self.table.preferred[piece].min(axis=1) < NEVER)
        if len(wants):
            found[wants] = self._machines(run[wants], piece[wants], at[wants]).min(axis=1)
        wants = np.flatnonzero(self.table.room[piece] >= 0)
        if len(wants):
            found[wants] = self._room(run[wants], piece[wants], found[wants])
        wants = np.flatnonzero(self.table.hands[piece] > 0)
        if len(wants):
            free = np.sort(self._people(run[wants], piece[wants], found[wants]), axis=1)
            found[wants] = free[np.arange(len(wants)), self.table.hands[piece[wants]] - 1]
        return found

    def _machines(self, run: Index, piece: Index, at: Ints) -> Ints:
        """[k, machine]: when each could take the piece, stops avoided."""
        free = np.maximum(at[:, None], self.machine_free[run])
        every = np.arange(free.shape[1])[None, :]
        return np.where(self.table.machines[piece], self._after_stops(every, piece[:, None], free), NEVER)

    def _after_stops(self, machine: Index, piece: Index, at: Ints) -> Ints:
        """The first minute from ``at`` on from which the machine works for the piece's usual minutes."""
        table, usual = self.table, self.table.usual[piece]
        for k in range(table.stop_from.shape[1]):
            until = table.stop_until[machine, k]
            hit = (at < until) & (at + usual > table.stop_from[machine, k]) & table.minds_stops[piece]
            at = np.where(hit, until, at)
        return at

    def _room(self, run: Index, piece: Index, at: Ints) -> Ints:
        """When the load may fit: at once, or when the next load leaves. What alone is too large goes in alone."""
        table = self.table
        room = table.room[piece]
        at = self._after_stops(room, piece, at)
        mates = table.roommates[room]
        until = self.until[run[:, None], mates]
        inside = until > at[:, None]
        level = (inside * table.load[mates]).sum(axis=1)
        full = inside.any(axis=1) & (level + table.load[piece] > table.capacity[room])
        return np.where(full, np.where(inside, until, NEVER).min(axis=1), at)

    def _people(self, run: Index, piece: Index, at: Ints) -> Ints:
        """[k, person]: from when on each could do the piece."""
        table = self.table
        free = np.minimum(np.maximum(at[:, None], self.person_free[run]), table.on_shift.shape[1] - 1)
        first: Ints = table.on_shift[table.shift_row[piece], free].astype(np.int32)
        return first

    # What changes

    def _put_off(self, run: Index, piece: Index, possible: Ints) -> None:
        self.next[run, piece] = np.minimum(possible, NEVER)
        self._keep_machine(run, piece, possible + self.lengths[run, piece])

    def _keep_machine(self, run: Index, piece: Index, end: Ints) -> None:
        """The end of a step holds its machine and room until it is over, whenever that will be."""
        before = self.table.end_of[piece]
        ends = np.flatnonzero(before < self.table.pieces)
        run, before, end = run[ends], before[ends], end[ends]
        self.until[run, before] = end
        on = self.table.machines[before].any(axis=1)
        self.machine_free[run[on], self.machine[run[on], before[on]]] = end[on]

    def _take_people(self, run: Index, piece: Index, at: Ints) -> None:
        table = self.table
        attended = np.flatnonzero(table.hands[piece] > 0)
        run, piece, at = run[attended], piece[attended], at[attended]
        length = self.lengths[run, piece]
        kept = at + np.where(table.throughout[piece], length, np.minimum(table.attended[piece], length))
        rank = np.where(self._people(run, piece, at) <= at[:, None], table.rank[piece], NEVER)
        for hand in range(int(table.hands.max())):
            more = np.flatnonzero(table.hands[piece] > hand)
            who = rank[more].argmin(axis=1)
            self.person_free[run[more], who] = kept[more]
            rank[more, who] = NEVER

    def _begin(self, run: Index, piece: Index, at: Ints, *, planned_machine: bool = False) -> None:
        table = self.table
        end = at + self.lengths[run, piece]
        self.start[run, piece], self.end[run, piece] = at, end
        self.next[run, piece] = NEVER
        self._keep_machine(run, piece, end)
        held = end + self.lengths[run, table.end_piece[piece]]
        self.until[run, piece] = held
        on = np.flatnonzero(table.preferred[piece].min(axis=1) < NEVER)
        if len(on):
            fit = table.preferred[piece[on]]
            if not planned_machine:
                fit = np.where(self._machines(run[on], piece[on], at[on]) <= at[on, None], fit, NEVER)
            which = fit.argmin(axis=1)
            self.machine[run[on], piece[on]] = which
            self.machine_free[run[on], which] = held[on]
        self._release(run, piece, end)

    def _release(self, run: Index, piece: Index, end: Ints) -> None:
        """Those that waited for a piece know its end now."""
        table = self.table
        who, row = table.followers[piece], run[:, None]
        self.ready[row, who] = np.maximum(self.ready[row, who], end[:, None] + table.least[piece])
        self.planned[row, who] = np.minimum(self.planned[row, who], end[:, None] + table.closes[piece])
        self.waits[row, who] -= 1
        may = np.maximum(self.ready[row, who], self.planned[row, who])
        self.next[row, who] = np.where((self.waits[row, who] == 0) & (who < table.pieces), may, self.next[row, who])
