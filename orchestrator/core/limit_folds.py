"""From a limit to the fold that judges a curve by it, in the column of one unit."""

from collections.abc import Callable
from typing import Literal

from orchestrator.core.models.limit import OF_FOOD, ON_CURVES, Degrees, Limit, LimitKind, LimitRow, LimitUse
from orchestrator.thermal.defrost import Clock, Defrosts
from orchestrator.thermal.verdict import FOOD_THERMOMETER_C, FOOD_THERMOMETER_F, Fold, Tolerant
from orchestrator.thermal.verdict_cool import CoolFold, Leg
from orchestrator.thermal.verdict_hold import HoldFold, HoldRow
from orchestrator.thermal.verdict_keep import EndFold, KeepBand, KeepFold

Unit = Literal["C", "F"]


def tolerance_of(unit: Unit) -> float:
    """What a food thermometer may be off by, in its unit. Source: FDA Food Code 2022, 4-203.11."""
    return FOOD_THERMOMETER_C if unit == "C" else FOOD_THERMOMETER_F


def fold_of(
    limit: Limit,
    *,
    unit: Unit,
    began_s: float,
    reads: Literal["core", "air"] = "core",
    use: LimitUse | None = None,
    tolerance: float | None = None,
    defrosts: Defrosts | None = None,
    clock: Clock | None = None,
) -> Fold | None:
    """A fold that judges readings by a limit.

    Args:
        limit: What is asked.
        unit: Picks the column; readings must come in it.
        began_s: When the step began.
        reads: Where the probe is. Air never shows what the food has reached.
        use: A row and a ceiling, where the step chose some.
        tolerance: Of the thermometer, in its unit; left out, that asked of food thermometers.
        defrosts: What is known of those of the freezer, where somebody follows its air all the time.
        clock: Of its defrosts, where nobody does.

    Returns:
        None where such a probe cannot show the limit.
    """
    if limit.kind not in ON_CURVES or (reads == "air" and (limit.kind in OF_FOOD or not limit.air)):
        return None
    off = tolerance_of(unit) if tolerance is None else tolerance
    if limit.kind is LimitKind.HEAT:
        return _hold_fold(limit, unit, use, off)
    make = _maker(limit, unit, began_s, reads, use=use, known=defrosts, clock=clock)
    return Tolerant(make(), make(), make(), off)


def _rows(limit: Limit, use: LimitUse | None) -> list[LimitRow]:
    return [row for row in limit.rows if use is None or use.row in (None, row.id)]


def _hold_fold(limit: Limit, unit: Unit, use: LimitUse | None, tolerance: float) -> Fold:
    heat = tuple(HoldRow(row.id, row.asked.in_unit(unit), row.hold or 0.0) for row in _rows(limit, use))
    ceiling = None if use is None or use.ceiling is None else _in_unit(use.ceiling, unit)
    return HoldFold(heat, limit.gap * 60.0, ceiling, tolerance)


def _maker(
    limit: Limit,
    unit: Unit,
    began_s: float,
    reads: str,
    *,
    use: LimitUse | None,
    known: Defrosts | None,
    clock: Clock | None,
) -> Callable[[], Fold]:
    gap_s = limit.gap * 60.0
    rows = _rows(limit, use)
    if limit.kind is LimitKind.COOL:
        legs = tuple(Leg(row.id, row.asked.in_unit(unit), row.within or 0.0) for row in rows)
        begins = _column(rows[0].begins, unit)
        return lambda: CoolFold(legs, gap_s, began_s, begins)
    row = rows[0]
    band = KeepBand(row.id, _column(row.at_least, unit), _column(row.at_most, unit), row.least or 0.0, row.most)
    if limit.kind is not LimitKind.KEEP:
        return lambda: EndFold(band, gap_s)
    in_air = reads == "air"
    frozen = in_air and row.at_most is not None and row.at_most.celsius < 0.0 and band.high is not None
    grace_s = limit.grace * 60.0 if in_air else 0.0
    if not frozen or band.high is None:
        return lambda: KeepFold(band, gap_s, grace_s)
    high = band.high
    return lambda: KeepFold(band, gap_s, grace_s, known or Defrosts(high, clock), shared=known is not None)


def _column(degrees: Degrees | None, unit: Unit) -> float | None:
    return None if degrees is None else degrees.in_unit(unit)


def _in_unit(celsius: float, unit: Unit) -> float:
    return celsius if unit == "C" else in_fahrenheit(celsius)


def in_fahrenheit(celsius: float) -> float:
    """A reading of °C in °F, free of the hair that binary fractions add: 155 °F comes back as 155 °F."""
    return round(celsius * 1.8 + 32.0, 9)
