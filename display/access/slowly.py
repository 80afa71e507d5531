"""A passphrase or a personal code is tried: one at a time, with pauses after wrong ones."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from display.access.brake import Brake
from display.access.guard import Guard
from orchestrator.ports.access import LEAST_PASSPHRASE

PATIENCE_S: Final = 3.0
"""A known screen waits so long for another's try; a stranger is told to come back."""
MOST_PASSPHRASE: Final = 200
CODE_DIGITS: Final = (4, 6)


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of it."""

    right: bool
    wait_s: float = 0.0
    """More than 0: it was not even looked at, and may be tried again after so long."""


def tried(guard: Guard, brake: Brake, key: str, check: Callable[[], bool], *, known: bool) -> Tried:
    """Look whether a secret is right, unless whoever types it must wait.

    Args:
        guard: Whose turn it is.
        brake: Counts wrong ones.
        key: Whose wrong ones count.
        check: Looks; takes about a tenth of a second.
        known: A screen or person that is let in already.

    Raises:
        LogUnavailable: it cannot be looked up.
    """
    if (wait := brake.wait_s(key, known=known)) > 0:
        return Tried(False, wait)
    if not guard.slow.acquire(timeout=PATIENCE_S if known else 0.01):
        return Tried(False, 1.0)
    try:
        if (wait := brake.wait_s(key, known=known)) > 0:  # somebody was wrong meanwhile
            return Tried(False, wait)
        right = check()
    finally:
        guard.slow.release()
    (brake.passed if right else brake.slipped)(key)
    return Tried(right)


def passphrase_fault(typed: str, again: str) -> str:
    """The key of what is wrong with a new passphrase; empty if nothing is."""
    if typed != again:
        return "passphrase_differs"
    if not LEAST_PASSPHRASE <= len(typed) <= MOST_PASSPHRASE or len(set(typed)) < 5:
        return "passphrase_weak"
    return ""


def code_fault(typed: str, again: str) -> str:
    """The key of what is wrong with a new personal code; empty if nothing is."""
    if typed != again:
        return "code_differs"
    least, most = CODE_DIGITS
    if not (least <= len(typed) <= most and typed.isascii() and typed.isdigit()):
        return "code_digits"
    steps = {(int(b) - int(a)) % 10 for a, b in pairwise(typed)}
    return "code_simple" if len(steps) == 1 else ""
