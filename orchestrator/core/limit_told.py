"""A verdict of `thermal` in the words of the record: which limit and text applied, which readings are by hand."""

from collections.abc import Mapping
from datetime import UTC, datetime
from functools import lru_cache
from typing import Literal

from orchestrator.core.ids import CrewId
from orchestrator.core.limit_folds import Unit, tolerance_of
from orchestrator.core.models.limit import Limit
from orchestrator.core.models.verdict import ByHand, LegReached, LimitVerdict
from orchestrator.thermal.verdict import Verdict


def told(
    limit: Limit,
    said: Verdict,
    *,
    unit: Unit,
    of: Literal["food", "air"] = "food",
    by_hand: Mapping[float, CrewId | None] | None = None,
) -> LimitVerdict:
    """The verdict as it is put on record.

    Args:
        limit: What was judged by.
        said: The fold's verdict, in seconds of the epoch and degrees of the unit.
        unit: Of the column that was judged by.
        of: Where the readings come from.
        by_hand: Who took which of the readings by hand, by second; none: all are a probe's.
    """
    hands: tuple[ByHand, ...] = ()
    if by_hand:
        seconds = [second for second, _ in said.readings if second in by_hand]
        hands = tuple(ByHand(at=instant(second), by=by_hand[second]) for second in seconds)
    return LimitVerdict.trusted(
        limit=limit.id,
        title=limit.title,
        applied=limit.applied,
        row=said.row,
        status=said.status,
        of=of,
        unit=unit,
        since=_or_none(said.since_s),
        at=_or_none(said.at_s),
        margin_degrees=said.margin_degrees,
        margin_min=said.margin_min,
        readings=tuple((instant(second), degrees) for second, degrees in said.readings),
        by_hand=hands,
        gap=None if said.gap is None else (instant(said.gap[0]), instant(said.gap[1])),
        why=said.why,
        tolerance_degrees=tolerance_of(unit),
        within_tolerance=said.within_tolerance,
        legs=tuple(LegReached(degrees=leg.degrees, at=instant(leg.at_s), by=instant(leg.by_s)) for leg in said.legs),
    )


@lru_cache(maxsize=4096)  # the readings that decide are mostly those that did before
def instant(second: float) -> datetime:
    """The instant of a second of the epoch."""
    return datetime.fromtimestamp(second, UTC)


def _or_none(second: float | None) -> datetime | None:
    return None if second is None else instant(second)
