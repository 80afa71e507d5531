"""A small simulator of its own that plants a plan: minutes of people and machines in arrays, no code of the planner."""

import random
from dataclasses import dataclass, field

import numpy as np

from orchestrator.planner.problem import Worker

DAY = 1440
GRID = 5
CHILL, CHURN, HARDEN, TEMPER, HANDED = 90, 40, 240, 30, 10
"""Minutes of the steps; cooking differs by batch."""
AGE_LEAST, AGE_MOST = 720, 2160
KEEP_MOST = 2 * DAY
CLEAN_MIN = {"": 0, "rinse": 10, "full": 25}
PEOPLE = 3
"""For each line. All of them do everything."""
SHIFTS = (
    ("early-cook", (0, 240, 270, 480)),
    ("pastry-cook", (60, 300, 330, 540)),
    ("late-cook", (360, 600, 630, 900)),
)
"""Minutes after 06:00: from, break from, break to, until."""

Minutes = np.ndarray[tuple[int], np.dtype[np.int64]]


def crew(lines: int, days: int) -> list[Worker]:
    """Three people for each line, every day."""
    return [
        Worker(
            f"{name}-{line + 1}",
            tuple(s for d in range(days) for s in ((d * DAY + a, d * DAY + b), (d * DAY + c, d * DAY + e))),
        )
        for line in range(lines)
        for name, (a, b, c, e) in SHIFTS
    ]


@dataclass(frozen=True, slots=True)
class Batch:
    """Where the simulator put one batch: starts in minutes, numbers of machines and people."""

    churn: int
    family: int
    kind: str
    litres: int
    cook_min: int
    cook: int
    hob: int
    chill: int
    churn_start: int
    temper: int
    hand_over: int
    hands: tuple[int, ...]
    """Who cooks, begins the chill, begins the churn, ends it, hands over."""
    clean: tuple[int, int, int] | None
    """From, until, by whom."""


@dataclass(slots=True)
class _Churn:
    end: int = 0
    family: int | None = None
    used: int = 0
    first: int | None = None


@dataclass(slots=True)
class Ledger:
    """Who and what is taken, minute by minute."""

    lines: int
    days: int
    ice_bath: int
    blast: int
    churns: list[_Churn] = field(init=False)
    people: list[bytearray] = field(init=False)
    """1 while somebody is there and free."""
    there: list[bytearray] = field(init=False)
    hobs: list[bytearray] = field(init=False)
    chilling: Minutes = field(init=False)
    hardening: Minutes = field(init=False)
    fridge: Minutes = field(init=False)
    freezer: Minutes = field(init=False)

    def __post_init__(self) -> None:
        """Everything is free."""
        self.churns = [_Churn() for _ in range(self.lines)]
        self.there = [bytearray(self.days * DAY) for _ in range(PEOPLE * self.lines)]
        for present, worker in zip(self.there, crew(self.lines, self.days), strict=True):
            for a, b in worker.free:
                present[a:b] = b"\1" * (b - a)
        self.people = [present.copy() for present in self.there]
        self.hobs = [bytearray(self.days * DAY) for _ in range(2 * self.lines)]
        self.chilling, self.hardening, self.fridge, self.freezer = (self._empty() for _ in range(4))

    def _empty(self) -> Minutes:
        return np.zeros(self.days * DAY, dtype=np.int64)

    def batch(
        self, churn: int, family: int, kind: str, pause: int, *, litres: int, cook: int, chance: random.Random
    ) -> Batch:
        """Put one batch at the first place on a churn where all of it fits, and take what it needs.

        Args:
            churn: Which.
            family: Its family, by number.
            kind: The clean-down before it: none, rinse or full.
            pause: Minutes that the churn stands idle first.
            litres: Hundredths of a litre.
            cook: Minutes of cooking.
            chance: For the length of its stays.

        Raises:
            RuntimeError: the simulated days are over.
        """
        line, minutes = self.churns[churn], CLEAN_MIN[kind]
        for start in range(line.end + pause + minutes, len(self.fridge) - KEEP_MOST - DAY, GRID):
            if self.hardening[start + CHURN : start + CHURN + HARDEN].max() + litres > self.blast:
                continue
            cleaner = self._somebody(start - minutes, start, chance) if kind else 0
            first = self._somebody(start, start + 5, chance)
            last = self._somebody(start + 30, start + CHURN, chance)
            if cleaner is None or first is None or last is None:
                continue
            begun = self._cooked(start, litres, cook, chance)
            served = begun and self._served(start + CHURN + HARDEN, chance)
            if not begun or not served:
                continue
            cooked, hob, chill, hands = begun
            temper, hand_over, server = served
            clean = (start - minutes, start, cleaner) if kind else None
            batch = Batch(churn, family, kind, litres, cook, cooked, hob, chill, start, temper, hand_over,
                          (*hands, first, last, server), clean)  # fmt: skip
            self._take(batch)
            return batch
        raise RuntimeError(f"the batches do not fit in {self.days} days")

    def _somebody(self, start: int, end: int, chance: random.Random) -> int | None:
        """Somebody who is there and free all this while."""
        free = [w for w, minutes in enumerate(self.people) if start >= 0 and minutes.find(0, start, end) < 0]
        return chance.choice(free) if free else None

    def _cooked(
        self, churn: int, litres: int, cook: int, chance: random.Random
    ) -> tuple[int, int, int, tuple[int, int]] | None:
        """Start of cooking, hob, start of the chill, and who does both, so that ageing ends as the churn starts."""
        wished = chance.randrange(AGE_LEAST, AGE_LEAST + 480, GRID)
        for age in [*range(wished, AGE_MOST, GRID), *range(wished, AGE_LEAST - 1, -GRID)]:
            chill = churn - age - CHILL
            begin = chill - chance.choice((0, 5, 10)) - cook
            if begin < 0 or self.chilling[chill : chill + CHILL].max() + litres > self.ice_bath:
                continue
            hob = next((n for n, used in enumerate(self.hobs) if used.find(1, begin, begin + cook) < 0), None)
            one, other = self._somebody(begin, begin + cook, chance), self._somebody(chill, chill + 10, chance)
            if hob is not None and one is not None and other is not None:
                return begin, hob, chill, (one, other)
        return None

    def _served(self, hardened: int, chance: random.Random) -> tuple[int, int, int] | None:
        """Start of tempering and of hand-over, and who hands over."""
        for temper in range(hardened + chance.randrange(0, KEEP_MOST // 2, GRID), hardened + KEEP_MOST, GRID):
            hand_over = temper + TEMPER + chance.choice((0, 15, 30))
            server = self._somebody(hand_over, hand_over + HANDED, chance)
            if server is not None:
                return temper, hand_over, server
        return None

    def _take(self, batch: Batch) -> None:
        start, hardened = batch.churn_start, batch.churn_start + CHURN + HARDEN
        cook_end = batch.cook + batch.cook_min
        spans = [
            (batch.cook, cook_end), (batch.chill, batch.chill + 10), (start, start + 5), (start + 30, start + CHURN),
            (batch.hand_over, batch.hand_over + HANDED),
        ]  # fmt: skip
        for (a, b), worker in zip(spans, batch.hands, strict=True):
            self.people[worker][a:b] = bytes(b - a)
        if batch.clean is not None:
            a, b, worker = batch.clean
            self.people[worker][a:b] = bytes(b - a)
        self.hobs[batch.hob][batch.cook : cook_end] = b"\1" * batch.cook_min
        self.chilling[batch.chill : batch.chill + CHILL] += batch.litres
        self.fridge[batch.chill + CHILL : start] += batch.litres
        self.hardening[start + CHURN : hardened] += batch.litres
        self.freezer[hardened : batch.temper] += batch.litres
        line = self.churns[batch.churn]
        line.used += CHURN + CLEAN_MIN[batch.kind]
        line.first = start if line.first is None else line.first
        line.end, line.family = start + CHURN, batch.family

    def churns_in_use(self) -> float:
        """Share of the churns' minutes, from first to last run while somebody is there, in runs and clean-downs."""
        open_now = np.max([np.frombuffer(present, np.uint8) for present in self.there], axis=0)
        open_min = sum(int(np.sum(open_now[c.first : c.end])) for c in self.churns if c.first is not None)
        return sum(c.used for c in self.churns) / open_min

    def hands_in_use(self, until: int) -> float:
        """Share of the crew's minutes up to an instant in attended work and clean-downs."""
        there = sum(present.count(1, 0, until) for present in self.there)
        return 1 - sum(free.count(1, 0, until) for free in self.people) / there
