"""What comes with the program where a kitchen has none of its own: limits, rescue cards, ingredients, allergens."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final, TypeVar
from zoneinfo import ZoneInfo

import orchestrator
from orchestrator.core.models import Model
from orchestrator.core.models.allergen import AllergenList
from orchestrator.core.models.ingredient import Ingredient
from orchestrator.core.models.limit import Limit, LimitId, Refused
from orchestrator.core.models.rescue import RescueCard
from orchestrator.kitchen.documents import read_document
from orchestrator.kitchen.faults import KitchenFaults
from orchestrator.kitchen.files import AllergensFile, IngredientsFile, LabelsFile, LimitsFile, RescueFile
from orchestrator.kitchen.text_files import read_texts
from orchestrator.kitchen.validation import validate

F = TypeVar("F", bound=Model)

FILE: Final = "limits.yaml"
CARDS: Final = "rescue.yaml"
LABELS: Final = "labels.yaml"
INGREDIENTS: Final = "ingredients.yaml"
ALLERGENS: Final = "allergens.yaml"


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
    read = _shipped(FILE, LimitsFile)
    return Shipped(read.limits, read.refused)


@lru_cache(maxsize=1)
def shipped_cards() -> tuple[RescueCard, ...]:
    """The rescue cards that come with the program; read once. Raises: as `shipped_limits`."""
    return _shipped(CARDS, RescueFile).cards


@lru_cache(maxsize=1)
def shipped_allergens() -> tuple[AllergenList, ...]:
    """Allergens as laws name them; read once. Raises: as `shipped_limits`."""
    return _shipped(ALLERGENS, AllergensFile).lists


@lru_cache(maxsize=1)
def shipped_labels() -> LabelsFile:
    """Sheets of labels and the template; its products are the example's. Read once. Raises: as `shipped_limits`."""
    return _shipped(LABELS, LabelsFile)


@lru_cache(maxsize=1)
def shipped_texts() -> dict[str, str]:
    """What the program's own files say, in Spanish; read once. Raises: as `shipped_limits`."""
    documents, texts = read_texts(shipped_folder(), ZoneInfo("UTC"))
    if faults := [fault for document in documents for fault in document.faults]:
        raise KitchenFaults(faults)
    return texts


def _shipped(name: str, file: type[F]) -> F:
    document = read_document(shipped_folder(), name)
    read = validate(document, file, document.data, (), ZoneInfo("UTC")) if document.readable else None
    if read is None:
        raise KitchenFaults(document.faults)
    return read


@lru_cache(maxsize=1)
def shipped_ingredients() -> tuple[Ingredient, ...]:
    """Without prices: those are a kitchen's own; read once. Raises: as `shipped_limits`."""
    return _shipped(INGREDIENTS, IngredientsFile).ingredients
