"""All curves of every kind: `python -m tests.thermal.truth [COUNT]`; `*` marks curves nothing was fitted to."""

import sys
import zlib

import numpy as np

from tests.thermal.truth.curves import KINDS, curves
from tests.thermal.truth.scenes import hob
from tests.thermal.truth.score import HEAD, naive_line, score

SEED = 7


def _hob_floor(count: int, other: bool) -> str:
    """How well one would do on a hob who knows pan, power and losses exactly, but not what the cook will do yet."""
    given = list(curves("hob", count, SEED, other=other))
    asked = np.array([curve.minutes[-1] if len(curve.minutes) else 0.0 for curve in given])
    rng = np.random.default_rng([SEED, int(other), zlib.crc32(b"hob")])  # as `curves` draws them
    minutes, rows, targets = hob(rng, count, other, until=asked)
    there = (rows >= targets[:, None]).argmax(axis=1)
    known, lines = [], []
    for curve, first in zip(given, there, strict=True):
        line = naive_line(curve) if len(curve.minutes) else None
        if first and line is not None and np.isfinite(curve.truth_min):
            known.append(abs(minutes[first] - curve.truth_min))
            lines.append(abs(line - (curve.truth_min - curve.minutes[-1])))
    name, error = "hob, all known" + " *" * other, float(np.mean(known))
    return f"{name:18}{len(known):>6}{error:>32.1f}{error / float(np.mean(lines)):>9.2f}"


if __name__ == "__main__":
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    print(HEAD)
    for kind in KINDS:
        for unseen in (False, True):
            print(score(curves(kind, many, SEED, other=unseen)).row(kind + " *" * unseen), flush=True)
    for unseen in (False, True):
        print(_hob_floor(many, unseen))
