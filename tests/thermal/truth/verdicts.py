"""Verdicts against what was true: `python -m tests.thermal.truth.verdicts [COUNT]`.

A verdict is *missed* when it says met of what was not, *false* when it says broken of what was met. It counts as
outside the tolerance when it does not say that the thermometer's could have turned it, or when the truth is so far
from the limit that a thermometer off by all of its tolerance would still have shown it.
"""

import sys
import zlib
from collections import Counter
from dataclasses import dataclass, field
from typing import Literal, cast

import numpy as np

from orchestrator.core.limit_folds import fold_of
from orchestrator.core.models.limit import Limit
from orchestrator.kitchen.shipped import shipped_limits
from orchestrator.thermal.defrost import LONGEST_S, Clock
from orchestrator.thermal.verdict import Verdict
from tests.thermal.truth.curves import read_degrees, uneven_instants
from tests.thermal.truth.matter import Array, Rng
from tests.thermal.truth.stays import CASES, OFF, Case

HEAD = (
    f"{'limit':20}{'good':>6}{'bad':>6}{'met':>6}{'broken':>8}{'not yet':>9}{'unjudged':>10}{'tolerance':>11}"
    f"{'false':>7}{'outside':>9}{'missed':>8}{'outside':>9}"
)


@dataclass
class Count:
    """What came of one kind."""

    good: int = 0
    bad: int = 0
    said: Counter[str] = field(default_factory=Counter)
    within_tolerance: int = 0
    false: int = 0
    false_outside: int = 0
    missed: int = 0
    missed_outside: int = 0

    def row(self, name: str) -> str:
        """One line of the table."""
        said = self.said
        return (
            f"{name:20}{self.good:>6}{self.bad:>6}{said['met']:>6}{said['broken']:>8}{said['not yet']:>9}"
            f"{said['not judged']:>10}{self.within_tolerance:>11}{self.false:>7}{self.false_outside:>9}"
            f"{self.missed:>8}{self.missed_outside:>9}"
        )


def judged(name: str, count: int, seed: int) -> Count:
    """So many curves of a kind, judged as a kitchen would judge them."""
    case, total = CASES[name], Count()
    limit = next(one for one in shipped_limits().limits if one.id == case.limit)
    rng = np.random.default_rng([seed, zlib.crc32(name.partition(",")[0].encode())])
    minutes, rows, *more = case.scene(rng, count)
    for number, row in enumerate(rows):
        clock = Clock(float(more[0][number]) * 60.0, LONGEST_S) if case.clock else None
        end = min(float(minutes[-1]), float(rng.uniform(*case.ends_min)))
        seen = minutes <= end
        said = _verdict(rng, case, limit, minutes[seen], row[seen], clock)
        _add(total, said, [case.truth(minutes[seen], row[seen], moved) for moved in (0.0, -OFF, OFF)])
    return total


def _verdict(rng: Rng, case: Case, limit: Limit, minutes: Array, row: Array, clock: Clock | None) -> Verdict:
    at = uneven_instants(rng, case.every_min, float(minutes[-1]))
    at = np.concatenate([[0.0], at[at < minutes[-1]], [minutes[-1]]])
    reads = cast(Literal["core", "air"], case.reads)
    fold = fold_of(limit, unit="C", began_s=0.0, reads=reads, clock=clock)
    assert fold is not None
    for minute, value in zip(at.tolist(), read_degrees(rng, minutes, row, at).tolist(), strict=True):
        fold.fold(minute * 60.0, value)
    return fold.verdict(float(minutes[-1]) * 60.0)


def _add(total: Count, said: Verdict, goods: list[bool]) -> None:
    good, clear = goods[0], len(set(goods)) == 1
    total.good += good
    total.bad += not good
    total.said[said.status] += 1
    total.within_tolerance += said.within_tolerance
    outside = clear or not said.within_tolerance
    false, missed = good and said.status == "broken", not good and said.status == "met"
    total.false += false
    total.false_outside += false and outside
    total.missed += missed
    total.missed_outside += missed and outside


if __name__ == "__main__":
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    print(HEAD)
    for kind in CASES:
        print(judged(kind, many, 7).row(kind), flush=True)
