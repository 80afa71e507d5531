"""What is known to be wrong with a probe, as put on record: a sign, with the numbers that it was told by."""

from datetime import UTC, datetime, timedelta
from typing import Final

from pydantic import AwareDatetime

from orchestrator.core.ids import ProbeId
from orchestrator.core.models.base import Model
from orchestrator.thermal.health.signs import Sign, Unit

__all__ = ["HARMLESS", "HealthFinding", "Sign", "doubt_in_words", "doubted_since", "doubts"]

HARMLESS: Final = frozenset({Sign.BATTERY_LOW})
"""What it says can be believed all the same."""


_BEFORE: Final = {
    Sign.STUCK: timedelta(),
    Sign.IMPOSSIBLE_RATE: timedelta(),
    Sign.NOISY: timedelta(minutes=30),  # scatter is told from a tail of readings
}
_ALWAYS: Final = datetime.min.replace(tzinfo=UTC)


class HealthFinding(Model):
    """One thing that is wrong with a probe."""

    sign: Sign
    since: AwareDatetime
    amount: float
    """What was seen; degrees are °C, and differences of them where the sign is about a difference."""
    limit: float
    """From where on it is told; of a mistaken unit: what it would be in the other."""
    unit: Unit
    hint: str = ""
    other: ProbeId | None = None


def doubts(health: tuple[HealthFinding, ...]) -> tuple[HealthFinding, ...]:
    """Those for which what a probe says may not be believed."""
    return tuple(finding for finding in health if finding.sign not in HARMLESS)


def doubted_since(health: tuple[HealthFinding, ...]) -> datetime | None:
    """From when on what it said may not be believed; none while it may.

    A probe that is stuck or leaps was well before. When another unit, place or clock began, or a drift, nobody knows.
    """
    if not health:
        return None
    began = [f.since - _BEFORE[f.sign] if f.sign in _BEFORE else _ALWAYS for f in doubts(health)]
    return min(began, default=None)


def doubt_in_words(health: tuple[HealthFinding, ...]) -> str:
    """Why a probe may not be believed, for refusals and records; empty when it may."""
    said = dict.fromkeys(f"{f.sign.value} ({f.hint})" if f.hint else f.sign.value for f in doubts(health))
    return f"the probe may not be believed: {', '.join(said)}" if said else ""
