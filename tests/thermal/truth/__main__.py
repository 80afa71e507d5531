"""All curves of every kind: `python -m tests.thermal.truth [COUNT]`; `*` marks curves nothing was fitted to."""

import sys

from tests.thermal.truth.curves import KINDS, curves
from tests.thermal.truth.score import HEAD, score

if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    print(HEAD)
    for kind in KINDS:
        for other in (False, True):
            print(score(curves(kind, count, 7, other=other)).row(kind + " *" * other), flush=True)
