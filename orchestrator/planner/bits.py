"""Sets of whole minutes as the bits of one integer: minute t is in the set when bit t is 1.

A five-day horizon is 7,200 bits; a shift and an AND of such numbers take well under a microsecond,
which is what lets the first guess try thousands of places in milliseconds.
"""


def span(start: int, end: int) -> int:
    """Minutes from start up to, not including, end; those before 0 are left out."""
    start = max(0, start)
    return ((1 << (end - start)) - 1) << start if end > start else 0


def shifted(minutes: int, by: int) -> int:
    """The same set, ``by`` minutes later; earlier when negative, dropping what falls before 0."""
    return minutes << by if by >= 0 else minutes >> -by


def runs(free: int, length: int) -> int:
    """Minutes at which ``length`` consecutive free minutes begin."""
    have = 1
    while have < length and free:
        step = min(have, length - have)
        free &= free >> step
        have += step
    return free


def spread(minutes: int, least: int, most: int) -> int:
    """Minutes that lie ``least`` to ``most`` minutes after one in the set (both may be negative)."""
    width, have = most - least + 1, 1
    if width <= 0:
        return 0
    while have < width and minutes:
        step = min(have, width - have)
        minutes |= minutes << step
        have += step
    return shifted(minutes, least)


def first(minutes: int, since: int = 0) -> int | None:
    """The earliest minute at or after ``since``."""
    later = minutes >> max(0, since)
    return (later & -later).bit_length() - 1 + max(0, since) if later else None


def last(minutes: int, until: int) -> int | None:
    """The latest minute at or before ``until``."""
    if until < 0:
        return None
    earlier = minutes & ((1 << (until + 1)) - 1)
    return earlier.bit_length() - 1 if earlier else None


def has(minutes: int, minute: int) -> bool:
    """Whether a minute is in the set."""
    return minute >= 0 and bool((minutes >> minute) & 1)
