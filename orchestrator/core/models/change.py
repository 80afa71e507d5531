"""Changes that can be tried on a plan before anybody decides: each says itself in words for people."""

from typing import Annotated, Literal

from pydantic import Field, TypeAdapter

from orchestrator.core.ids import EquipmentId, OrderId, RecipeId, StationId, TaskId
from orchestrator.core.models import change_words as words
from orchestrator.core.models.base import Instant, Model
from orchestrator.core.models.change_crew import Absent, ExtraShift, StartEarlier, WeeklyShifts
from orchestrator.core.models.demand import Counted
from orchestrator.core.models.kitchen import Kitchen, Order, OrderLine
from orchestrator.core.models.kitchen import StockLot as Lot
from orchestrator.core.models.plan import AllowedBreak
from orchestrator.core.models.recipe import Recipe, UsualMinutes
from orchestrator.core.quantities import Quantity


class AddOrder(Model):
    """One order more."""

    change: Literal["add order"] = "add order"
    order: Order

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        wanted = words.lines(kitchen, self.order.lines)
        return f"{self.order.id} more: {wanted} for {self.order.customer}, due {words.clock(kitchen, self.order.due)}"


class ChangeOrder(Model):
    """Another hand-over, weight or amount of an order; what is left out stays as it is."""

    change: Literal["change order"] = "change order"
    order: OrderId
    due: Instant | None = None
    earliest: Instant | None = None
    weight: int | None = Field(default=None, ge=1)
    lines: tuple[OrderLine, ...] | None = Field(default=None, min_length=1)
    customer: str | None = Field(default=None, min_length=1)
    at_any_time: bool = False
    """True: it may be handed over as early as it is ready."""

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        told = [f"due {words.clock(kitchen, self.due)}"] if self.due else []
        told += [f"not before {words.clock(kitchen, self.earliest)}"] if self.earliest else []
        told += ["as early as it is ready"] if self.at_any_time else []
        told += [f"weight {self.weight}"] if self.weight else []
        told += [words.lines(kitchen, self.lines)] if self.lines else []
        told += [f"for {self.customer}"] if self.customer else []
        return f"{self.order}: {', '.join(told) or 'as it is'}"


class DropOrder(Model):
    """An order less."""

    change: Literal["drop order"] = "drop order"
    order: OrderId

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        return f"without {self.order}"


class SmallerBatch(Model):
    """Less of one product for an order; what is made for it becomes smaller or goes."""

    change: Literal["smaller batch"] = "smaller batch"
    order: OrderId
    product: RecipeId
    quantity: Quantity

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        before = [
            line.quantity.value
            for order in kitchen.orders
            if order.id == self.order
            for line in order.lines
            if line.product == self.product
        ]
        instead = f" instead of {words.amount(Quantity(value=sum(before), unit=self.quantity.unit))}" if before else ""
        return f"{words.amount(self.quantity)} {words.recipe(kitchen, self.product)} for {self.order}{instead}"


class MachineStopped(Model):
    """A machine that cannot be used for a while."""

    change: Literal["machine stopped"] = "machine stopped"
    equipment: EquipmentId
    start: Instant
    end: Instant

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        return f"{words.machine(kitchen, self.equipment)} stopped from {words.span(kitchen, self.start, self.end)}"


class MachineBack(Model):
    """A stopped machine that can be used again from then on."""

    change: Literal["machine back"] = "machine back"
    equipment: EquipmentId
    at: Instant

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        return f"{words.machine(kitchen, self.equipment)} back {words.clock(kitchen, self.at)}"


class AddStock(Model):
    """A lot more on hand, bought or found."""

    change: Literal["stock lot"] = "stock lot"
    lot: Lot

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        return (
            f"{words.amount(self.lot.quantity)} {words.recipe(kitchen, self.lot.recipe)} more on hand ({self.lot.lot})"
        )


class SupplyMoved(Model):
    """An ingredient is there later, or sooner, than was thought: delivered, or ripe."""

    change: Literal["supply moved"] = "supply moved"
    ingredient: str
    ready: Instant
    why: Literal["delivery", "ripe"] = "delivery"
    on_hand: Quantity | None = None
    """What can be used until then; none: nothing."""

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        so_far = f", {words.amount(self.on_hand)} until then" if self.on_hand is not None else ""
        what = "ripe" if self.why == "ripe" else "there"
        return f"{self.ingredient} {what} {words.clock(kitchen, self.ready)}{so_far}"


class SupplyThere(Model):
    """An ingredient that was waited for is there."""

    change: Literal["supply there"] = "supply there"
    ingredient: str

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        return f"{self.ingredient} is there"


class SwapIngredient(Model):
    """One ingredient stands in for another, or the same one comes with other allergens."""

    change: Literal["swap ingredient"] = "swap ingredient"
    ingredient: str
    by: str = Field(min_length=1, max_length=100)
    allergens: tuple[str, ...] = ()
    """All that it brings."""

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        brings = f", with {', '.join(self.allergens)}" if self.allergens else ", without allergens"
        return f"{self.by} instead of {self.ingredient}{brings}"


class ReviseRecipe(Model):
    """A recipe is made by another revision from now on; what is begun keeps the one it began with."""

    change: Literal["revise recipe"] = "revise recipe"
    recipe: Recipe
    draft: int | None = None
    """From which draft it comes; none: from a former revision, or from elsewhere."""
    trial: int | None = None
    follow: tuple[UsualMinutes, ...] = ()
    """Of recipes that it goes into: usual minutes that its mix makes others; as it goes on record."""

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        name = f"{words.recipe(kitchen, self.recipe.id)} made by revision {self.recipe.revision}{_origin(self)}"
        before = next((known for known in kitchen.recipes if known.id == self.recipe.id), None)
        has, had = _own_allergens(self.recipe), _own_allergens(before) if before is not None else set()
        brings = f", brings {', '.join(sorted(has - had))}" if has - had else ""
        gone = f", no longer names {', '.join(sorted(had - has))}" if had - has else ""
        return f"{name}{_others_taken(before, self.recipe)}{brings}{gone}"


def _others_taken(before: Recipe | None, after: Recipe) -> str:
    """Which ingredients come and which go: what undoes a substitution must be seen by whoever says yes."""
    had, has = _ingredients(before) if before is not None else [], _ingredients(after)
    new, gone = [i for i in has if i not in had], [i for i in had if i not in has]
    if before is None or not (new or gone):
        return ""
    if new and gone:
        return f", takes {', '.join(new)} and no longer {', '.join(gone)}"
    return f", takes {', '.join(new)} as well" if new else f", no longer takes {', '.join(gone)}"


def _ingredients(recipe: Recipe) -> list[str]:
    taken = (take.ingredient for step in recipe.steps for take in step.takes)
    return list(dict.fromkeys(name for name in taken if name is not None))


class AddRecipe(Model):
    """A recipe more."""

    change: Literal["add recipe"] = "add recipe"
    recipe: Recipe
    draft: int | None = None
    trial: int | None = None

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        return f"new recipe {self.recipe.name}, lots {self.recipe.code}{_origin(self)}"


class AllowBreak(AllowedBreak):
    """A quality window may be missed, by no more than so many minutes; the plan names it openly."""

    change: Literal["allow break"] = "allow break"

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        return f"{self.task} up to {self.minutes} min {self.side} after {self.after}: a quality break, named openly"


class HoldTask(Model):
    """A task stays where the plan has it."""

    change: Literal["hold task"] = "hold task"
    task: TaskId

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        return f"{self.task} held in place"


class FreeTask(Model):
    """A task held in place may move again."""

    change: Literal["free task"] = "free task"
    task: TaskId

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        return f"{self.task} may move"


class SetPar(Model):
    """What a counter is to have of a product in the morning; nothing: it has no par any more."""

    change: Literal["set par"] = "set par"
    station: StationId
    product: RecipeId
    quantity: Quantity
    by: str = Field(default="10:00", pattern=r"^([01][0-9]|2[0-3]):[0-5][0-9]$")

    def says(self, kitchen: Kitchen) -> str:
        """In words."""
        what = f"{words.recipe(kitchen, self.product)} at {words.station(kitchen, self.station)}"
        if not self.quantity.value:
            return f"no par of {what} any more"
        return f"par of {what}: {words.amount(self.quantity)} by {self.by}"


class CloseCounter(Model):
    """What was left at a counter at the end of a day."""

    change: Literal["closing count"] = "closing count"
    station: StationId
    counts: tuple[Counted, ...] = Field(min_length=1)

    def says(self, kitchen: Kitchen) -> str:
        """In words, with what is missing to par."""
        pars = {par.product: par.quantity for par in kitchen.par_levels if par.station == self.station}
        told = "; ".join(_missing(kitchen, one, pars.get(one.product)) for one in self.counts)
        return f"closing count at {words.station(kitchen, self.station)}: {told}"


Change = Annotated[
    AddOrder
    | ChangeOrder
    | DropOrder
    | SmallerBatch
    | ExtraShift
    | StartEarlier
    | Absent
    | WeeklyShifts
    | MachineStopped
    | MachineBack
    | AddStock
    | SupplyMoved
    | SupplyThere
    | SwapIngredient
    | ReviseRecipe
    | AddRecipe
    | AllowBreak
    | HoldTask
    | FreeTask
    | SetPar
    | CloseCounter,
    Field(discriminator="change"),
]
CHANGES: TypeAdapter[Change] = TypeAdapter(Change)


def _own_allergens(recipe: Recipe) -> set[str]:
    """Without those of its components."""
    return set(recipe.allergens) | {word for step in recipe.steps for take in step.takes for word in take.allergens}


def _origin(change: ReviseRecipe | AddRecipe) -> str:
    if change.draft is None:
        return ""
    return f" (draft {change.draft}{f', trial {change.trial}' if change.trial is not None else ''})"


def _missing(kitchen: Kitchen, counted: Counted, par: Quantity | None) -> str:
    """``Basil custard: par 6 L − left 1.5 L = 4.5 L missing``."""
    name = words.recipe(kitchen, counted.product)
    if par is None:
        return f"{name}: {words.amount(counted.quantity)} left, no par"
    short = max(0.0, par.value - counted.quantity.value)
    told = f"{words.amount(Quantity(value=short, unit=par.unit))} missing" if short else "nothing missing"
    return f"{name}: par {words.amount(par)} \u2212 left {words.amount(counted.quantity)} = {told}"
