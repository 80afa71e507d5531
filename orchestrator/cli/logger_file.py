"""A logger's CSV as instants and degrees; whatever could be read in two ways is asked about, never guessed."""

import csv
import re
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, Literal
from zoneinfo import ZoneInfo

import click

MOST_BYTES: Final = 50_000_000
_TIME_NAME: Final = re.compile(r"\b(date|time|timestamp|datetime|instant|fecha|hora)\b", re.IGNORECASE)
_UNIT: Final = re.compile(r"(?:°\s*|\b(?:deg(?:rees)?\s*)?|_)(C|F|celsius|fahrenheit)\b", re.IGNORECASE)
_NUMBER: Final = re.compile(r"\s*([-+−]?\d+(?:[.,]\d+)?)\s*(?:°?\s*([CF]))?\s*", re.IGNORECASE)
_DAY: Final = re.compile(r"(\d{1,4})[./-](\d{1,2})[./-](\d{1,4})")


@dataclass(frozen=True, slots=True)
class Wish:
    """What was said of the file."""

    unit: Literal["C", "F"] | None = None
    dates: Literal["iso", "day-first", "month-first", "epoch"] | None = None
    time_zone: str | None = None
    column: str | None = None
    delimiter: str | None = None


@dataclass(frozen=True, slots=True)
class Curve:
    """What stands in the file."""

    column: str
    unit: Literal["C", "F"]
    readings: list[tuple[datetime, float]]
    """In order of time."""


def read_curve(file: Path, wish: Wish) -> Curve:
    """The readings of one column.

    Raises:
        click.UsageError: It cannot be read, or could be read in two ways; the message names line, column and remedy.
    """
    rows = _rows(file, wish)
    names, body = [cell.strip() for cell in rows[0][1]], rows[1:]
    if not body:
        raise click.UsageError(f"{file.name}: there is no reading below the header")
    if len(set(names)) != len(names):
        raise click.UsageError(f"{file.name}:1: two columns have one name: give each a name of its own")
    for number, row in body:
        if len(row) != len(names):
            raise click.UsageError(f"{file.name}:{number}: {len(row)} cells, but the header names {len(names)} columns")
    times = [i for i, name in enumerate(names) if _TIME_NAME.search(name.replace("_", " "))]
    if not 1 <= len(times) <= 2:
        raise click.UsageError(
            f"{file.name}:1: {'no column' if not times else 'more than two columns'} named date or time among "
            f"{', '.join(names)}: name the column of the instant `time`, or two of them `date` and `time`"
        )
    value = _value_column(file, names, times, body, wish)
    unit = _unit(file, names[value], [(number, row[value]) for number, row in body], wish)
    texts = [(number, " ".join(row[i].strip() for i in times)) for number, row in body]
    instants = _instants(file, texts, wish)
    readings = [(at, _number(file, number, row[value])) for at, (number, row) in zip(instants, body, strict=True)]
    for (number, _), (before, _), (after, _) in zip(body[1:], readings, readings[1:], strict=False):
        if after <= before:
            raise click.UsageError(
                f"{file.name}:{number}: its instant is not after that of the line above: sort the file by time, each "
                "instant once; where clocks went back, write the offset behind every time"
            )
    return Curve(names[value], unit, readings)


def _rows(file: Path, wish: Wish) -> list[tuple[int, list[str]]]:
    if file.stat().st_size > MOST_BYTES:
        raise click.UsageError(f"{file.name} has more than {MOST_BYTES:,} bytes: cut it to the step that is judged")
    try:
        text = file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise click.UsageError(f"{file.name} is not UTF-8 at byte {error.start}: save it with that encoding") from error
    head = next((line for line in text.splitlines() if line.strip()), "")
    found = [mark for mark in ",;\t|" if mark in head]
    if wish.delimiter is None and len(found) != 1:
        what = "no delimiter" if not found else "more than one possible delimiter"
        raise click.UsageError(f"{file.name}:1: {what} in the header {head[:60]!r}: name it with --delimiter")
    reader = csv.reader(text.splitlines(), delimiter=wish.delimiter or found[0], strict=True)
    try:
        rows = [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise click.UsageError(f"{file.name}:{reader.line_num}: not CSV: {error}") from error
    if not rows:
        raise click.UsageError(f"{file.name} is empty")
    return rows


def _value_column(file: Path, names: list[str], times: list[int], body: list[tuple[int, list[str]]], wish: Wish) -> int:
    if wish.column is not None:
        if wish.column not in names:
            raise click.UsageError(f"{file.name}:1: there is no column {wish.column!r}: {', '.join(names)}")
        return names.index(wish.column)
    found = [i for i in range(len(names)) if i not in times and _NUMBER.fullmatch(body[0][1][i])]
    if len(found) != 1:
        what = "no column holds numbers" if not found else "several columns hold numbers"
        shown = ", ".join(names[i] for i in found) or ", ".join(names)
        raise click.UsageError(f"{file.name}: {what} ({shown}): name the one to be judged with --column")
    return found[0]


def _unit(file: Path, name: str, cells: list[tuple[int, str]], wish: Wish) -> Literal["C", "F"]:
    said = {mark.upper()[0] for mark in _UNIT.findall(name)}
    for _, cell in cells:
        match = _NUMBER.fullmatch(cell)
        if match is not None and match.group(2):
            said.add(match.group(2).upper())
    if len(said) > 1:
        raise click.UsageError(f"{file.name}: column {name!r} speaks of both °C and °F: one unit a column")
    told = next(iter(said), None)
    if wish.unit is not None and told not in (None, wish.unit):
        raise click.UsageError(f"{file.name}: column {name!r} says °{told}, --unit says {wish.unit}: which is right?")
    unit = wish.unit or told
    if unit is None:
        raise click.UsageError(f"{file.name}: column {name!r} does not say its unit: add --unit C or --unit F")
    return "C" if unit == "C" else "F"


def _number(file: Path, line: int, cell: str) -> float:
    match = _NUMBER.fullmatch(cell)
    if match is None:
        raise click.UsageError(f"{file.name}:{line}: {cell!r} is not a temperature: mend the line, or take it out")
    return float(match.group(1).replace(",", ".").replace("−", "-"))


def _instants(file: Path, texts: list[tuple[int, str]], wish: Wish) -> list[datetime]:
    form = wish.dates or _form(file, texts)
    found = []
    for number, text in texts:
        try:
            instant = _parsed(text, form)
        except (ValueError, OverflowError, OSError) as error:
            raise click.UsageError(f"{file.name}:{number}: {text!r} is no instant, read as {form} ({error})") from error
        if instant.tzinfo is None:
            if wish.time_zone is None:
                raise click.UsageError(
                    f"{file.name}:{number}: {text!r} does not say its time zone: add --time-zone, like Europe/London"
                )
            zone = ZoneInfo(wish.time_zone)
            early, late = (instant.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
            if early.utcoffset() != late.utcoffset():
                raise click.UsageError(
                    f"{file.name}:{number}: {text!r} comes twice or never in {wish.time_zone}, where clocks change: "
                    "write the offset behind every time"
                )
            instant = early
        found.append(instant.astimezone(UTC))
    return found


def _form(file: Path, texts: list[tuple[int, str]]) -> Literal["iso", "day-first", "month-first", "epoch"]:
    """Which form all of them have; two that fit are one too many."""
    if all(re.fullmatch(r"\d{9,13}(\.\d+)?", text) for _, text in texts):
        return "epoch"
    days = [match.groups() for _, text in texts if (match := _DAY.match(text)) is not None]
    if days and all(len(first) == 4 for first, _, _ in days):
        return "iso"
    if any(int(first) > 12 for first, _, _ in days):
        return "day-first"
    if any(int(second) > 12 for _, second, _ in days):
        return "month-first"
    raise click.UsageError(
        f"{file.name}:{texts[0][0]}: {texts[0][1]!r} may be day or month first: add --dates day-first or month-first"
    )


def _parsed(text: str, form: str) -> datetime:
    if form == "epoch":
        number = float(text)
        return datetime.fromtimestamp(number / 1000.0 if number >= 1e11 else number, UTC)
    if form == "iso":
        return datetime.fromisoformat(text.replace("/", "-"))
    match = _DAY.match(text)
    if match is None or len(match.group(3)) != 4:
        raise ValueError("the year needs four digits")
    day, month = (match.group(1), match.group(2)) if form == "day-first" else (match.group(2), match.group(1))
    return datetime.fromisoformat(f"{match.group(3)}-{int(month):02}-{int(day):02}{text[match.end() :]}")
