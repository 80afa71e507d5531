"""``coldwright judge``: a logger's file judged by one limit."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Literal
from zoneinfo import ZoneInfo

import click

from orchestrator.cli.common import BAD_INPUT
from orchestrator.cli.defrost_clock import Freezer, clock_of
from orchestrator.cli.logger_file import Curve, Wish, read_curve
from orchestrator.core.limit_folds import fold_of, tolerance_of
from orchestrator.core.models.limit import Limit, LimitKind, LimitUse
from orchestrator.thermal.defrost import Clock
from orchestrator.thermal.lethality import lethality_min
from orchestrator.thermal.verdict import Verdict, worst

CLEARANCE = "Local code decides; this is no legal clearance."


def run(
    files: tuple[Path, ...],
    limit: str,
    kitchen: Path | None,
    row: str | None,
    *,
    reads: Literal["core", "air"],
    freezer: Freezer,
    wish: Wish,
    as_json: bool,
) -> int:
    """Judge and print; several files are several probes in one food, of which the worst decides.

    Returns:
        Exit status: 0 met, 1 not met, 2 bad input.

    Raises:
        click.UsageError: The file or the limit make no sense; also exit status 2.
    """
    from orchestrator.cli.checking import print_faults
    from orchestrator.kitchen import KitchenFaults

    _check_time_zone(wish)
    try:
        asked = _limit(limit, kitchen)
        clock = clock_of(freezer, kitchen, reads)
    except KitchenFaults as faults:
        print_faults(kitchen or Path("."), faults)
        return BAD_INPUT
    if row is not None and row not in [one.id for one in asked.rows]:
        raise click.UsageError(f"{limit!r} has no row {row!r}: {', '.join(one.id for one in asked.rows)}")
    curves = {str(file): read_curve(file, wish) for file in dict.fromkeys(files)}
    units = {curve.unit for curve in curves.values()}
    if len(units) > 1:
        raise click.UsageError(
            "one file is in °C and another in °F: a limit is judged by one column, so judge them apart"
        )
    began_s, until_s = _span(curves)
    verdicts = {
        name: _judge(asked, curve, reads, row, span=(began_s, until_s), clock=clock) for name, curve in curves.items()
    }
    said = worst(verdicts)
    told = _told(asked, curves[said.probe], said, reads)
    if len(curves) > 1:
        told |= {"file": said.probe, "probes": [_of_probe(name, curves[name], v) for name, v in verdicts.items()]}
    if as_json:
        click.echo(json.dumps(told, indent=2, ensure_ascii=False))
    else:
        _print(told)
    return 0 if said.status == "met" else 1


def _check_time_zone(wish: Wish) -> None:
    try:
        if wish.time_zone is not None:
            ZoneInfo(wish.time_zone)
    except (KeyError, ValueError, OSError) as error:
        raise click.UsageError(f"{wish.time_zone!r} is no time zone: write one like Europe/London") from error


def _span(curves: dict[str, Curve]) -> tuple[float, float]:
    """From the first reading of any probe to the last of all: they are in one food, which is one step."""
    return (
        min(curve.readings[0][0].timestamp() for curve in curves.values()),
        max(curve.readings[-1][0].timestamp() for curve in curves.values()),
    )


def _of_probe(name: str, curve: Curve, said: Verdict) -> dict[str, object]:
    return {
        "file": name,
        "column": curve.column,
        "verdict": said.status,
        "row": said.row,
        "margin_degrees": said.margin_degrees,
        "margin_min": said.margin_min,
        "why": said.why,
        "within_tolerance": said.within_tolerance,
        "readings": len(curve.readings),
    }


def _limit(limit: str, kitchen: Path | None) -> Limit:
    from orchestrator.kitchen import read_kitchen
    from orchestrator.kitchen.faults import one_of
    from orchestrator.kitchen.shipped import shipped_limits

    refused = shipped_limits().why_refused(limit)
    if refused is not None:
        raise click.UsageError(f"{limit!r} cannot be chosen: {refused[0]}; {refused[1]}")
    known = shipped_limits().limits if kitchen is None else read_kitchen(kitchen).limits
    found = next((one for one in known if one.id == limit), None)
    if found is None:
        raise click.UsageError(f"there is no limit {limit!r}: {one_of([str(one.id) for one in known], limit)}")
    return found


def _judge(
    limit: Limit,
    curve: Curve,
    reads: Literal["core", "air"],
    row: str | None,
    *,
    span: tuple[float, float],
    clock: Clock | None,
) -> Verdict:
    began_s, until_s = span
    use = None if row is None else LimitUse(id=limit.id, row=row)
    fold = fold_of(limit, unit=curve.unit, began_s=began_s, reads=reads, use=use, clock=clock)
    if fold is None:
        if reads == "air":
            return Verdict("not judged", why="air")
        raise click.UsageError(f"{limit.id!r} is judged of lots and machines, not of a curve of temperature")
    for at, degrees in curve.readings:
        fold.fold(at.timestamp(), degrees)
    return fold.verdict(until_s)


def _told(limit: Limit, curve: Curve, said: Verdict, reads: str) -> dict[str, object]:
    instants = {at.timestamp(): at.isoformat() for at, _ in curve.readings}
    clock: Callable[[float | None], str | None] = lambda second: None if second is None else _instant(second)  # noqa: E731
    return {
        "verdict": said.status,
        "limit": limit.id,
        "row": said.row,
        "title": limit.title,
        "text": limit.applied,
        "caution": limit.caution,
        "column": curve.column,
        "unit": curve.unit,
        "of": "air" if reads == "air" else "food",
        "since": clock(said.since_s),
        "at": clock(said.at_s),
        "margin_degrees": said.margin_degrees,
        "margin_min": said.margin_min,
        "deciding": [{"at": instants.get(second, clock(second)), "degrees": value} for second, value in said.readings],
        "gap": None if said.gap is None else [clock(second) for second in said.gap],
        "why": said.why,
        "tolerance_degrees": tolerance_of(curve.unit),
        "within_tolerance": said.within_tolerance,
        "second_opinion": _second_opinion(limit, curve),
        "readings": len(curve.readings),
        "clearance": CLEARANCE,
    }


def _second_opinion(limit: Limit, curve: Curve) -> dict[str, object] | None:
    """Heat added up, beside the verdict and never in its place; what lies in a gap counts for nothing."""
    if limit.kind is not LimitKind.HEAT:
        return None
    minutes = [at.timestamp() / 60.0 for at, _ in curve.readings]
    celsius = [value if curve.unit == "C" else (value - 32.0) / 1.8 for _, value in curve.readings]
    total_min = 0.0
    for i in range(1, len(minutes)):
        if minutes[i] - minutes[i - 1] <= limit.gap:
            total_min += lethality_min(minutes[i - 1 : i + 1], celsius[i - 1 : i + 1], reference_c=79.4, z_c=7.0)
    return {
        "log10_reductions": total_min * 60.0 / 0.5,
        "organism": "Listeria monocytogenes in ice cream mix",
        "d_s": 0.5,
        "reference_c": 79.4,
        "z_c": 7.0,
        "source": "Bradshaw et al., J. Food Prot. 50:543, 1987",
        "use": "a second opinion only; the printed rows decide",
    }


def _instant(second: float) -> str:
    from datetime import UTC, datetime

    return datetime.fromtimestamp(second, UTC).isoformat()


def _print(told: dict[str, object]) -> None:
    click.echo(f"{str(told['verdict']).upper()}: {told['title']} ({told['limit']}, row {told['row'] or '-'})")
    click.echo(f"  text            {told['text']}")
    for key in ("since", "at", "margin_degrees", "margin_min", "gap", "why"):
        if told[key] not in (None, ""):
            value = told[key]
            shown = f"{value:+.2f}" if isinstance(value, float) else value
            click.echo(f"  {key.replace('_', ' '):<16}{shown}")
    deciding = told["deciding"]
    assert isinstance(deciding, list)
    for reading in deciding:
        click.echo(f"  decided by      {reading['at']}  {reading['degrees']:g} °{told['unit']}")
    probes = told.get("probes", [])
    assert isinstance(probes, list)
    for probe in probes:
        decides = " (decides)" if probe["file"] == told["file"] else ""
        click.echo(f"  probe           {probe['verdict']:<12}{probe['file']}, {probe['column']}{decides}")
    if told["within_tolerance"]:
        click.echo(
            f"  A thermometer off by {told['tolerance_degrees']:g} °{told['unit']} could have turned this verdict."
        )
    opinion = told["second_opinion"]
    if isinstance(opinion, dict):
        click.echo(
            f"  Second opinion, never the verdict: {opinion['log10_reductions']:.1f} tenfold reductions of "
            f"{opinion['organism']} (D {opinion['d_s']} s at {opinion['reference_c']} °C, z {opinion['z_c']} °C; "
            f"{opinion['source']})"
        )
    click.echo(f"  {told['caution']}\n  {told['clearance']}")
