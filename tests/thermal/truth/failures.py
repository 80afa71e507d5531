"""Short failures of a freezer's cold among its defrosts: `python -m tests.thermal.truth.failures [COUNT]`.

Every freezer defrosts by the clock; in half of them the compressor stands still once, so that the air is too warm
for 36 to 45 minutes: longer than the grace of the limit, two readings included, no longer than a defrost may last. A
failure *passes* when it is taken for a defrost; a good curve is *blamed* when something in it is called broken.
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from orchestrator.thermal.defrost import LONGEST_S, Clock, Defrosts
from orchestrator.thermal.verdict_keep import KeepBand, KeepFold
from tests.thermal.truth.curves import read_degrees, uneven_instants
from tests.thermal.truth.matter import Air, Array, Rng

_HIGH_C = -18.0
_GRACE_S = 30 * 60.0
"""Of frozen holding in air; see `config/limits.yaml`."""
_SHORT_MIN = (36.0, 45.0)
HEAD = f"{'failure begins':34}{'failures':>10}{'passed':>8}{'good':>8}{'blamed':>8}"
PLACES = {
    "in the middle between two": (0.3, 0.7),
    "an eighth of the period after one": (0.125, 0.126),
    "a tenth of the period off its turn": (0.9, 0.901),
    "anywhere": (0.0, 1.0),
    "just when one is due": (0.999, 1.0),
}
"""In periods after a defrost began."""


@dataclass(frozen=True)
class Freezer:
    """The air of one, and what is true of it."""

    minutes: Array
    air: Array
    every_min: float
    """As its manual tells it."""
    fails: bool


@dataclass
class Passed:
    """What came of the curves of one kind."""

    failures: int = 0
    passed: int = 0
    good: int = 0
    blamed: int = 0

    def row(self, name: str) -> str:
        """One line of the table."""
        return f"{name:34}{self.failures:>10}{self.passed:>8}{self.good:>8}{self.blamed:>8}"


def freezers(rng: Rng, count: int, apart: tuple[float, float]) -> Iterator[Freezer]:
    """Two days of each; a failure whose rise is no short one is left out."""
    place = Air(rng, rng.uniform(-26, -23.5, count), doors_per_h=0.5, warms=np.zeros(count))
    period, first, long = rng.uniform(240, 480, count), rng.uniform(20, 200, count), rng.uniform(18, 27, count)
    fails = rng.random(count) < 0.5
    begins = first + period * (3 + rng.uniform(*apart, count))
    lasts = rng.uniform(37, 47, count)
    room, slow = rng.uniform(0, 12, count), rng.uniform(25, 60, count)
    rows = []
    minutes: Array = np.arange(48 * 120) / 2.0
    for now in minutes.tolist():
        before = place.air.copy()
        air = place.step(30, place.air)
        stands = fails & (now >= begins) & (now < begins + lasts)
        turn = (now - first) % period
        heats = (now >= first) & (turn < long) & ~stands
        # Without a compressor the air warms towards the room's warmth through the walls, slowed by what is in it.
        air = np.where(stands, before + (room - before) * 0.5 / slow, air)
        place.air = np.where(heats, np.minimum(before + 0.9, -11.0), air)
        rows.append(place.air.copy())
    for number, row in enumerate(np.array(rows).T):
        since = begins[number] - 1.0
        rise = minutes[(minutes >= since) & (minutes < since + 90.0) & (row > _HIGH_C)]
        short = len(rise) > 0 and _SHORT_MIN[0] <= rise[-1] - rise[0] <= _SHORT_MIN[1]
        if short or not fails[number]:
            yield Freezer(minutes, row, float(np.round(period[number] / 5) * 5), bool(fails[number]))


def passed(apart: tuple[float, float], count: int, seed: int, *, clock: bool) -> Passed:
    """So many freezers, each with its defrosts, half of them with a short failure.

    Args:
        apart: When it begins, in periods after a defrost began.
        count: Freezers.
        seed: Of chance.
        clock: Whether somebody has entered the clock of the defrosts; else it is learned.
    """
    rng, total = np.random.default_rng([seed, int(clock)]), Passed()
    for freezer in freezers(rng, count, apart):
        broken = _broken(rng, freezer, Clock(freezer.every_min * 60.0, LONGEST_S) if clock else None)
        total.failures += freezer.fails
        total.passed += freezer.fails and not broken
        total.good += not freezer.fails
        total.blamed += not freezer.fails and broken
    return total


def _broken(rng: Rng, freezer: Freezer, clock: Clock | None) -> bool:
    """Whether anything is called broken after the defrosts by which the clock is known."""
    defrosts = Defrosts(_HIGH_C, clock)
    fold: KeepFold | None = None
    at = uneven_instants(rng, 2.0, float(freezer.minutes[-1]))
    values = read_degrees(rng, freezer.minutes, freezer.air, at)
    for minute, celsius in zip(at.tolist(), values.tolist(), strict=True):
        defrosts.fold(minute * 60.0, celsius)
        if fold is None and defrosts.period_s is not None and defrosts.rising_since_s is None:
            fold = KeepFold(KeepBand("frozen", high=_HIGH_C), 1800.0, _GRACE_S, defrosts, shared=True)
        if fold is not None:
            fold.fold(minute * 60.0, celsius)
    return fold is not None and fold.verdict(float(at[-1]) * 60.0).status == "broken"


if __name__ == "__main__":
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    print(HEAD)
    for name, apart in PLACES.items():
        for clock in (False, True):
            print(passed(apart, many, 7, clock=clock).row(f"{name}{', clock' * clock}"), flush=True)
