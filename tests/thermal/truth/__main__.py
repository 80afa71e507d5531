"""All curves of every kind: `python -m tests.thermal.truth [COUNT]`; `*` marks curves nothing was fitted to."""

import sys
import zlib
from collections.abc import Mapping
from typing import Final, TypedDict

import numpy as np

from tests.thermal.truth.curves import KINDS, WEIGHED, curves
from tests.thermal.truth.kitchens import runs
from tests.thermal.truth.scenes import hob
from tests.thermal.truth.score import HEAD, LINES, naive_lines, score
from tests.thermal.truth.weighed_kitchens import weighed_runs


class _How(TypedDict, total=False):
    calm: float
    free: bool
    moved: bool


SEED = 7
_OTHERWISE: Final[Mapping[str, _How]] = {
    "after 6, steady": {"calm": 0.5},
    "after 6, no habit": {"free": True},
    "after 6, new ring": {"moved": True},
}
"""Cooks with half the ordinary spread; with no habit at all; another ring and pan than the earlier runs had."""


def _hob_floor(count: int, other: bool) -> str:
    """How well one would do on a hob who knows pan, power and losses exactly, but not what the cook will do yet."""
    given = list(curves("hob", count, SEED, other=other))
    asked = np.array([curve.minutes[-1] if len(curve.minutes) else 0.0 for curve in given])
    rng = np.random.default_rng([SEED, int(other), zlib.crc32(b"hob")])  # as `curves` draws them
    minutes, rows, targets = hob(rng, count, other, until=asked)
    there = (rows >= targets[:, None]).argmax(axis=1)
    known, lines = [], [list[float]() for _ in LINES]
    for curve, first in zip(given, there, strict=True):
        said = list(naive_lines(curve).values()) if len(curve.minutes) else [None]
        if first and None not in said and np.isfinite(curve.truth_min):
            known.append(abs(minutes[first] - curve.truth_min))
            for errors, line in zip(lines, said, strict=True):
                errors.append(abs(float(line or 0.0) - (curve.truth_min - curve.minutes[-1])))
    name, error = "hob, all known" + " *" * other, float(np.mean(known))
    beside = "".join(f"{error / np.mean(errors):>10.2f}{np.mean(errors):>7.1f}{'':>5}" for errors in lines)
    return f"{name:22}{len(known):>6}{error:>32.1f}{beside}"


if __name__ == "__main__":
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    print(HEAD)
    for kind in KINDS:
        for unseen in (False, True):
            print(score(curves(kind, many, SEED, other=unseen)).row(kind + " *" * unseen), flush=True)
    for unseen in (False, True):
        print(_hob_floor(many, unseen))
    for earlier in (0, 2, 6, 12):
        for unseen in (False, True):
            name = f"hob, after {earlier}" + " *" * unseen
            print(score(runs(many, earlier, SEED, other=unseen)).row(name), flush=True)
    for kind in WEIGHED:
        for earlier in (0, 1, 3, 12):
            for unseen in (False, True):
                name = f"{kind}, after {earlier}" + " *" * unseen
                print(score(weighed_runs(kind, many, earlier, SEED, other=unseen)).row(name), flush=True)
    for unseen in (False, True):
        for name, how in _OTHERWISE.items():
            print(score(runs(many, 6, SEED, other=unseen, **how)).row(name + " *" * unseen), flush=True)
