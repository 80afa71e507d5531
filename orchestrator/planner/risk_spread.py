"""How long a step may take: shortest, usual and longest minutes as a beta-PERT spread over whole minutes."""

import zlib
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc

Minutes = NDArray[np.int32]
_PEAK = 4.0
"""Weight of the usual minutes against the ends, as PERT has it: the mean is (shortest + 4 usual + longest) / 6."""


@lru_cache(maxsize=512)
def cumulative(shortest: int, usual: int, longest: int) -> NDArray[np.float64]:
    """The chance that a step takes at most so many whole minutes.

    A beta-PERT length lies between shortest and longest, with its peak at the usual minutes; it is rounded to the
    nearest minute, because the planner counts in whole ones.

    Args:
        shortest: Minutes, at least 0.
        usual: Minutes, between the two.
        longest: Minutes.

    Returns:
        Entry k is the chance of at most ``shortest + k`` minutes; the last one is 1.

    Source: D. G. Malcolm, J. H. Roseboom, C. E. Clark and W. Fazar, "Application of a Technique for Research and
        Development Program Evaluation", Operations Research 7 (1959): the mean above; the beta with exponents
        1 + 4 (usual - shortest) / range and 1 + 4 (longest - usual) / range is the common one with that mean and
        that peak (from memory).
    """
    if longest <= shortest:
        return np.ones(1)
    width = longest - shortest
    first = 1 + _PEAK * (usual - shortest) / width
    second = 1 + _PEAK * (longest - usual) / width
    edges = np.minimum((np.arange(width + 1) + 0.5) / width, 1.0)
    table: NDArray[np.float64] = betainc(first, second, edges)
    table[-1] = 1.0
    return table


def draw(spread: tuple[int, int, int], shares: NDArray[np.float64], *, spent: int = 0) -> Minutes:
    """Lengths for shares between 0 and 1, one for each.

    Args:
        spread: Shortest, usual and longest minutes.
        shares: Where in the spread each run lies; 0.5 is the median.
        spent: Minutes that the step has taken already without having ended: what is left is drawn among the lengths
            that are as long. Nothing is known of one that has outlasted its longest minutes: it ends now.

    Returns:
        Whole minutes.
    """
    shortest, _, longest = spread
    if spent >= longest:
        return np.full(shares.shape, spent, np.int32)
    table = cumulative(*spread)
    passed = float(table[spent - shortest - 1]) if spent > shortest else 0.0
    at = np.searchsorted(table, passed + (1 - passed) * shares, side="right")
    minutes: Minutes = np.maximum(shortest + np.minimum(at, len(table) - 1), spent).astype(np.int32)
    return minutes


def shares_of(task: str, runs: int, seed: int) -> NDArray[np.float64]:
    """The same shares for the same task and seed, in whichever plan it stands: two plans meet the same luck."""
    chance: Any = np.random.default_rng((seed, zlib.crc32(task.encode())))
    drawn: NDArray[np.float64] = chance.random(runs)
    return drawn
