"""Kitchens by seed: those made by chance for the planner, with thermometers, on ordinary days and on those on which
clocks change."""

import random
import re
import shutil
import tempfile
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Final

import yaml

from orchestrator.core.models import Kitchen
from orchestrator.kitchen import read_kitchen
from tests.fakes.chance_kitchens import FIRST_DAY, write_chance_kitchen

CHANGES: Final = (
    ("Europe/London", date(2026, 10, 24)),
    ("Europe/London", date(2027, 3, 27)),
    ("America/New_York", date(2026, 10, 31)),
    ("America/New_York", date(2027, 3, 13)),
    ("Australia/Lord_Howe", date(2026, 10, 3)),
    ("Australia/Lord_Howe", date(2027, 4, 3)),
    ("America/Santiago", date(2026, 9, 5)),
    ("Africa/Casablanca", date(2027, 2, 6)),
)
"""Zones, and the day before their clocks change in the night. Source: IANA time zone database, by `tzdata`."""
_PROBES: Final = {
    "probes": [
        {"id": "fridge-air", "name": "Fridge air", "equipment": "fridge", "reads": "air"},
        {"id": "freezer-air", "name": "Freezer air", "equipment": "freezer", "reads": "air"},
        {"id": "bath-core", "name": "Bath food", "equipment": "bath", "reads": "core"},
        {"id": "hob-core", "name": "Hob food", "equipment": "hob-1", "reads": "core"},
    ]
}


def kitchen_of(seed: int, *, change: bool | None = None) -> Kitchen:
    """A kitchen of one to some batches.

    Args:
        seed: What decides everything.
        change: Whether its second night is one in which clocks change; drawn (one in four) unless it is said.
    """
    chance = random.Random(f"kitchen {seed}")
    folder = Path(tempfile.mkdtemp(prefix="kitchen-"))
    try:
        write_chance_kitchen(folder, random.Random(seed))
        probes = [{**p, "interval": "3 min", "silent_after": "12 min"} for p in _PROBES["probes"]]
        (folder / "probes.yaml").write_text(yaml.safe_dump({"probes": probes}), encoding="utf-8")
        changes = chance.random() < 0.25
        if changes if change is None else change:
            zone, first = chance.choice(CHANGES)
            _shift(folder, _moved(first - FIRST_DAY), zone)
        return read_kitchen(folder)
    finally:
        shutil.rmtree(folder)


def _moved(by: timedelta) -> Callable[[re.Match[str]], str]:
    return lambda found: (date.fromisoformat(found.group()) + by).isoformat()


def _shift(folder: Path, moved: Callable[[re.Match[str]], str], zone: str) -> None:
    """The same kitchen on other days, elsewhere."""
    for file in folder.rglob("*.yaml"):
        text = re.sub(r"\d{4}-\d\d-\d\d", moved, file.read_text(encoding="utf-8"))
        file.write_text(text.replace("Europe/London", zone), encoding="utf-8")
