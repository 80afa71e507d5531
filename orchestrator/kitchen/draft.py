"""What was read of a kitchen's folder, right or wrong: every part by itself, and where it stands."""

from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar
from zoneinfo import ZoneInfo

from orchestrator.core.models import (
    BatchSize,
    CrewMember,
    Equipment,
    Order,
    Probe,
    Recipe,
    Station,
    Step,
    StockLot,
    Supply,
    TopicMapping,
)
from orchestrator.core.models.allergen import AllergenList
from orchestrator.core.models.buying import Bought, Supplier
from orchestrator.core.models.calls import Callee, CallPlan
from orchestrator.core.models.ingredient import Ingredient, Price
from orchestrator.core.models.label import LabelSheet, ProductLabel
from orchestrator.core.models.limit import Limit
from orchestrator.core.models.rescue import RescueCard
from orchestrator.core.models.tongue import Language
from orchestrator.core.quantities import Quantity
from orchestrator.kitchen.documents import Document, Path_
from orchestrator.kitchen.faults import Fault
from orchestrator.kitchen.files import KitchenFile
from orchestrator.kitchen.shipped import shipped_allergens, shipped_cards, shipped_limits

T = TypeVar("T")


@dataclass(slots=True)
class Entry(Generic[T]):
    """One thing of a file, and where it stands."""

    document: Document
    path: Path_
    raw: Any
    value: T | None

    def add(self, where: Path_, what: str, remedy: str) -> None:
        """Note a fault at a part of it."""
        self.document.add((*self.path, *where), what, remedy)

    def raw_text(self, key: str) -> str | None:
        """What is written under a key, if it is text."""
        found = self.raw.get(key) if isinstance(self.raw, dict) else None
        return found if isinstance(found, str) else None


@dataclass(slots=True)
class RecipeDraft:
    """One recipe file: its steps that are right stand even if others are not."""

    document: Document
    id: str
    recipe: Recipe | None = None
    """The whole; nothing if any part is wrong."""
    makes: str | None = None
    code: str | None = None
    yields: Quantity | None = None
    batch: BatchSize | None = None
    steps: dict[int, Step] = field(default_factory=dict)
    """Those that are right, by position."""
    step_ids: tuple[str | None, ...] = ()
    """Of all steps, as written."""

    def add(self, where: Path_, what: str, remedy: str) -> None:
        """Note a fault at a part of it."""
        self.document.add(where, what, remedy)


@dataclass(slots=True)
class Draft:
    """All that was read, right or wrong."""

    zone: ZoneInfo = field(default_factory=lambda: ZoneInfo("UTC"))
    header: KitchenFile | None = None
    documents: list[Document] = field(default_factory=list)
    stations: list[Entry[Station]] = field(default_factory=list)
    equipment: list[Entry[Equipment]] = field(default_factory=list)
    crew: list[Entry[CrewMember]] = field(default_factory=list)
    probes: list[Entry[Probe]] = field(default_factory=list)
    mappings: list[Entry[TopicMapping]] = field(default_factory=list)
    orders: list[Entry[Order]] = field(default_factory=list)
    stock: list[Entry[StockLot]] = field(default_factory=list)
    supplies: list[Entry[Supply]] = field(default_factory=list)
    limits: list[Entry[Limit]] = field(default_factory=list)
    """The kitchen's own."""
    cards: list[Entry[RescueCard]] = field(default_factory=list)
    """The kitchen's own."""
    ingredients: list[Entry[Ingredient]] = field(default_factory=list)
    """The kitchen's own."""
    prices: list[Entry[Price]] = field(default_factory=list)
    currency: str = ""
    allergens: list[Entry[AllergenList]] = field(default_factory=list)
    """The kitchen's own lists."""
    sheets: list[Entry[LabelSheet]] = field(default_factory=list)
    """The kitchen's own."""
    template: tuple[str, ...] = ()
    """The kitchen's own; none: as shipped."""
    label_languages: tuple[Language, ...] = ()
    products: list[Entry[ProductLabel]] = field(default_factory=list)
    suppliers: list[Entry[Supplier]] = field(default_factory=list)
    bought: list[Entry[Bought]] = field(default_factory=list)
    callees: list[Entry[Callee]] = field(default_factory=list)
    calls: CallPlan = field(default_factory=CallPlan)
    """Without its people."""
    texts: dict[str, str] = field(default_factory=dict)
    """The kitchen's own, in Spanish, by what its files say."""
    recipes: list[RecipeDraft] = field(default_factory=list)
    listed: set[str] = field(default_factory=set)
    """Keys whose lists could be read: only then is a name that is not on them unknown."""
    loose: list[Fault] = field(default_factory=list)
    """Faults of the folder itself."""

    def known_limits(self) -> dict[str, Limit]:
        """Limits by id: what is shipped, with the kitchen's own in its place."""
        own = {entry.value.id: entry.value for entry in self.limits if entry.value is not None}
        return {str(limit.id): limit for limit in shipped_limits().limits} | {str(key): one for key, one in own.items()}

    def known_cards(self) -> tuple[RescueCard, ...]:
        """Rescue cards: what is shipped, with the kitchen's own in its place."""
        own = {entry.value.id: entry.value for entry in self.cards if entry.value is not None}
        return tuple(({card.id: card for card in shipped_cards()} | own).values())

    def known_allergens(self) -> tuple[AllergenList, ...]:
        """Lists of allergens: what is shipped, with the kitchen's own in its place."""
        own = {entry.value.id: entry.value for entry in self.allergens if entry.value is not None}
        return tuple(({one.id: one for one in shipped_allergens()} | own).values())

    def faults(self) -> list[Fault]:
        """All of them."""
        return self.loose + [fault for document in self.documents for fault in document.faults]
