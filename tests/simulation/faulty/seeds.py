"""Seeds: each a kitchen's day with its faults. Those that failed once are kept and run as tests."""

import logging
import time
import traceback
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from tests.simulation.faulty.faults import draw
from tests.simulation.faulty.house import House, Lived
from tests.simulation.faulty.kitchens import kitchen_of

FAILED: Final = Path(__file__).parent / "failed_seeds.txt"
"""A seed a line, and what was wrong: mended since, and tried in every test run. One marked ``plain`` failed before
states were kept and people called in these days, and is lived without; ``2h 4x``: two hours, four times the faults."""
DAY_S: Final = 86400.0


@dataclass(frozen=True, slots=True)
class Outcome:
    """Of one seed."""

    seed: int
    fault: str
    """What did not hold; empty when all did."""
    where: str
    lived: Lived | None
    cpu_s: float


def live(
    seed: int, *, change: bool | None = None, span_s: float = DAY_S, often: float = 1.0, plain: bool = False
) -> Lived:
    """One kitchen's day, or its first hours; ``often`` times as many faults; ``plain``: no kept states, no calls.

    Raises: Broken, or whatever the program raised.
    """
    more = {"kept": None, "calls": False} if plain else {}
    faults = draw(seed, span_s, often)
    return House(kitchen_of(seed, change=change), seed, faults, **more).live(span_s)  # type: ignore[arg-type]


def tried(seed: int, *, span_s: float = DAY_S, often: float = 1.0, plain: bool = False) -> Outcome:
    """One kitchen's day, whatever comes of it; the program's own log is quiet meanwhile."""
    logging.disable(logging.CRITICAL)
    begun = time.process_time()
    try:
        lived = live(seed, span_s=span_s, often=often, plain=plain)
    except Exception as error:
        told = f"{type(error).__name__}: {error}".replace("\n", " ")[:400]
        return Outcome(seed, told, traceback.format_exc(), None, time.process_time() - begun)
    finally:
        logging.disable(logging.NOTSET)
    return Outcome(seed, "", "", lived, time.process_time() - begun)


def failed_before() -> list[tuple[int, dict[str, float | bool]]]:
    """Seeds that failed once, and how they are lived, as words for `tried`."""
    lines = FAILED.read_text(encoding="utf-8").splitlines()
    return [_failed(line.split()) for line in lines if line.strip() and not line.startswith("#")]


def _failed(words: list[str]) -> tuple[int, dict[str, float | bool]]:
    if words[1] == "plain":
        return int(words[0]), {"plain": True}
    hours, often = words[1].removesuffix("h"), words[2].removesuffix("x")
    return int(words[0]), {"span_s": float(hours) * 3600.0, "often": float(often)}
