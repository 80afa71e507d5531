"""The limits, rescue cards and ingredients that come with the program, for every kitchen that has none of its own."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final
from zoneinfo import ZoneInfo

import orchestrator
from orchestrator.core.models.ingredient import Ingredient
from orchestrator.core.models.limit import Limit, LimitId, Refused
from orchestrator.core.models.rescue import RescueCard
from orchestrator.kitchen.documents import read_document
from orchestrator.kitchen.faults import KitchenFaults
from orchestrator.kitchen.files import IngredientsFile, LimitsFile, RescueFile
from orchestrator.kitchen.validation import validate

FILE: Final = "limits.yaml"
CARDS: Final = "rescue.yaml"
INGREDIENTS: Final = "ingredients.yaml"


@dataclass(frozen=True, slots=True)
class Shipped:
    """What may be chosen, and what may not."""

    limits: tuple[Limit, ...]
    refused: tuple[Refused, ...]

    def limit(self, limit: str) -> Limit | None:
        """The limit of that id, if there is one."""
        return next((candidate for candidate in self.limits if candidate.id == limit), None)

    def why_refused(self, limit: str) -> tuple[str, str] | None:
        """Why figures of that id are no limit here, and what to take instead; nothing if they are not refused."""
        found = next((candidate for candidate in self.refused if candidate.id == LimitId(limit)), None)
        if found is None:
            return None
        remedy = f"take {found.instead!r}" if found.instead else "ask your local authority which limit is yours"
        return found.why, remedy


def shipped_folder() -> Path:
    """Where the program's own files lie: in the tree, or inside the installed wheel.

    Raises:
        FileNotFoundError: They were not installed along.
    """
    beside = Path(orchestrator.__file__).parents[1]
    for folder in (beside / "config", beside / "coldwright_example"):
        if (folder / FILE).is_file():
            return folder
    raise FileNotFoundError(f"{FILE} is not installed beside {beside}: install the program again")


@lru_cache(maxsize=1)
def shipped_limits() -> Shipped:
    """The limits that come with the program; read once.

    Raises:
        FileNotFoundError: They were not installed along.
        KitchenFaults: Somebody changed the program's own file.
    """
    document = read_document(shipped_folder(), FILE)
    read = validate(document, LimitsFile, document.data, (), ZoneInfo("UTC")) if document.readable else None
    if read is None:
        raise KitchenFaults(document.faults)
    return Shipped(read.limits, read.refused)


@lru_cache(maxsize=1)
def shipped_cards() -> tuple[RescueCard, ...]:
    """The rescue cards that come with the program; read once.

    Raises:
        FileNotFoundError: They were not installed along.
        KitchenFaults: Somebody changed the program's own file.
    """
    document = read_document(shipped_folder(), CARDS)
    read = validate(document, RescueFile, document.data, (), ZoneInfo("UTC")) if document.readable else None
    if read is None:
        raise KitchenFaults(document.faults)
    return read.cards


@lru_cache(maxsize=1)
def shipped_ingredients() -> tuple[Ingredient, ...]:
    """The ingredients that come with the program, without prices: those are a kitchen's own; read once.

    Raises:
        FileNotFoundError: They were not installed along.
        KitchenFaults: Somebody changed the program's own file.
    """
    document = read_document(shipped_folder(), INGREDIENTS)
    read = validate(document, IngredientsFile, document.data, (), ZoneInfo("UTC")) if document.readable else None
    if read is None:
        raise KitchenFaults(document.faults)
    return read.ingredients
