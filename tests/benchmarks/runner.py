"""Goes through what is to be measured, says how it goes, and lets nothing that fails take the rest along."""

import time
import traceback
from collections.abc import Iterable, Sequence

from tests.benchmarks.book import Book, Measurement, Part
from tests.benchmarks.machine import instant, load, machine


def run(parts: Sequence[Part], book: Book) -> None:
    """Measure what the book does not have yet, then print the tables of each part as soon as it is through.

    What failed before is tried again.
    """
    wanted = {part.name: [m for m in part.measurements if m.key not in book.measured(part.name)] for part in parts}
    count = sum(len(there) for there in wanted.values())
    about_s = sum(m.about_s for there in wanted.values() for m in there)
    already = sum(len(part.measurements) for part in parts) - count
    print(f"{machine()}\n{instant()}, load {load()}")
    print(f"{count} measurements, about {about_s / 60:.0f} minutes; {already} are there already.\n", flush=True)
    began = time.perf_counter()
    sitting = {"machine": machine(), "began": instant(), "load at start": load(), "measured": 0, "failed": 0}
    book.sittings.append(sitting)
    number = 0
    for part in parts:
        for measurement in wanted[part.name]:
            number += 1
            fine = _one(part, measurement, book, f"[{number}/{count}]")
            sitting["measured" if fine else "failed"] += 1  # type: ignore[operator]
            sitting |= {"ended": instant(), "load at end": load()}
            sitting["minutes"] = round((time.perf_counter() - began) / 60, 1)
            book.save()
        print(f"\n{_tables(part, book)}\n", flush=True)
    if not count:
        book.sittings.pop()
    print(f"{footer(book, parts)}\n{(time.perf_counter() - began) / 60:.1f} minutes; {instant()}, load {load()}")


def report(parts: Iterable[Part], book: Book) -> None:
    """Print the tables of what has been measured, and measure nothing."""
    parts = list(parts)
    for part in parts:
        if book.measured(part.name):
            print(f"{_tables(part, book)}\n")
    print(footer(book, parts))


def _one(part: Part, measurement: Measurement, book: Book, count: str) -> bool:
    print(f"{count} {part.name}: {measurement.key} (about {measurement.about_s:.0f} s)", end=" ", flush=True)
    began = time.perf_counter()
    try:
        book.keep(part.name, measurement.key, measurement.measure())
    except Exception as fault:  # whatever it is, the other measurements are worth as much as before
        why = f"{type(fault).__name__}: {fault}"
        book.keep(part.name, measurement.key, {"failed": why, "where": traceback.format_exc()})
        print(f"FAILED: {why}", flush=True)
        return False
    print(f"{time.perf_counter() - began:.1f} s, load {load()}", flush=True)
    return True


def _tables(part: Part, book: Book) -> str:
    found = book.measured(part.name)
    try:
        return part.tables(found) if found else f"{part.name}: nothing measured."
    except Exception as fault:
        return f"{part.name}: no table ({type(fault).__name__}: {fault}); the figures are kept."


def footer(book: Book, parts: Iterable[Part]) -> str:
    """When, on what and how busy, sitting by sitting; and what failed."""
    lines = [f"## Measured\n\n{'; '.join(sorted({sitting['machine'] for sitting in book.sittings}))}\n"]
    lines += [
        f"- {s['began']} to {s.get('ended', '?')}: {s['measured']} measurements, {s['failed']} failed; load "
        f"{s['load at start']} at the start, {s.get('load at end', '?')} at the end"
        for s in book.sittings
    ]
    names = {part.name for part in parts}
    lines += [f"- FAILED {what}: {why}" for what, why in book.failed().items() if what.split(": ")[0] in names]
    return "\n".join(lines)
