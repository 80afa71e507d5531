"""Which lots there are, what of them is still free, and who is meant to take it."""

import re
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from orchestrator.core.ids import LotCode, OrderId, RecipeId, TaskId
from orchestrator.core.models import Actual, Batch, Kitchen, Peg, PlanRequest, Recipe, StockLot
from orchestrator.core.quantities import Quantity
from orchestrator.planner.sizes import EPS, batch_steps, terminal_stay

_FOREVER = datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Need:
    """So much of a recipe for one consumer, taken at ``due`` at the latest."""

    recipe: RecipeId
    quantity: float
    due: datetime
    batch: LotCode | None = None
    order: OrderId | None = None

    @property
    def consumer(self) -> str:
        """The order or batch that takes it."""
        return str(self.batch or self.order)


@dataclass(slots=True)
class Ledger:
    """Batches and pegs, as they grow while needs are met."""

    request: PlanRequest
    lost: frozenset[LotCode]
    batches: dict[LotCode, Batch] = field(default_factory=dict)
    pegs: list[Peg] = field(default_factory=list)
    free: dict[LotCode, float] = field(default_factory=dict)
    """What nobody is meant to take yet, of stock and batches, held ones excluded."""
    spare: list[LotCode] = field(default_factory=list)
    """Codes of batches that are formed anew: the first to be used again."""

    @property
    def kitchen(self) -> Kitchen:
        """The kitchen asked about."""
        return self.request.kitchen

    def recipe(self, recipe: RecipeId) -> Recipe:
        """The recipe of that id."""
        return next(r for r in self.kitchen.recipes if r.id == recipe)

    def made_by(self, batch: Batch) -> Recipe:
        """The recipe in the revision that a batch is made by; as it is now, where that is not known."""
        return self.kitchen.made_by(batch.recipe, batch.revision) or self.recipe(batch.recipe)

    def stock(self, lot: LotCode) -> StockLot | None:
        """The stock lot of that code, if it is one."""
        return next((s for s in self.kitchen.stock if s.lot == lot), None)

    def recipe_of(self, lot: LotCode) -> RecipeId | None:
        """What a lot is."""
        if lot in self.batches:
            return self.batches[lot].recipe
        stock = self.stock(lot)
        return stock.recipe if stock else None

    def pegged(self, recipe: RecipeId, *, batch: LotCode | None = None, order: OrderId | None = None) -> float:
        """How much of a recipe is already meant for a consumer."""
        mine = (p for p in self.pegs if p.batch == batch and p.order == order and self.recipe_of(p.lot) == recipe)
        return sum(peg.quantity.value for peg in mine)

    def peg(self, lot: LotCode, need: Need, quantity: float) -> None:
        """Mean so much of a lot for a consumer, adding to what it has of it already."""
        unit = self.recipe(need.recipe).yields.unit
        self.free[lot] -= quantity
        for index, known in enumerate(self.pegs):
            if (known.lot, known.batch, known.order) == (lot, need.batch, need.order):
                total = Quantity(value=known.quantity.value + quantity, unit=unit)
                self.pegs[index] = known.model_copy(update={"quantity": total})
                return
        amount = Quantity(value=quantity, unit=unit)
        self.pegs.append(Peg(lot=lot, batch=need.batch, order=need.order, quantity=amount))

    def next_code(self, recipe: Recipe) -> LotCode:
        """The next free lot code of a recipe: one of a batch that is formed anew, else one above the highest used."""
        again = next((lot for lot in self.spare if re.fullmatch(rf"{recipe.code}\d+", lot)), None)
        if again is not None:
            self.spare.remove(again)
            return again
        # Batches that were given up have left the plan, but what happened to them has not.
        before = self.request.previous.tasks if self.request.previous else ()
        told = [str(actual.task).split(".")[0] for actual in self.request.actuals]
        known = [*self.batches, *self.request.used, *(s.lot for s in self.kitchen.stock)]
        codes = [*known, *(t.lot for t in before if t.lot), *told]
        numbers = [int(m.group(1)) for code in codes if (m := re.fullmatch(rf"{recipe.code}(\d+)", code))]
        return LotCode(f"{recipe.code}{max(numbers, default=0) + 1}")

    def there(self, lot: LotCode, size: float) -> float:
        """How much there is of a lot in all, what was taken of it included: its size, put right by counts."""
        return max(0.0, size + self.request.counted.get(lot, 0.0))

    def take_free(self, need: Need) -> float:
        """Meet a need from what is free, oldest first.

        Returns:
            What is still needed.
        """
        left = need.quantity
        for lot in self._usable(need):
            part = min(left, self.free[lot])
            if part > EPS:
                self.peg(lot, need, part)
                left -= part
        return left if left > EPS else 0.0

    def _usable(self, need: Need) -> list[LotCode]:
        stock = [s for s in self.kitchen.stock if s.recipe == need.recipe and self.free.get(s.lot, 0.0) > EPS]
        fit = [s for s in stock if last_use(self.recipe(s.recipe), s) >= need.due]
        codes = [s.lot for s in sorted(fit, key=lambda s: (s.made, s.lot))]
        begun = {str(actual.task).split(".")[0] for actual in self.request.actuals}
        own = [b for b in self.batches.values() if b.recipe == need.recipe and self.free.get(b.lot, 0.0) > EPS]
        own.sort(key=lambda b: b.lot not in begun)
        return codes + [b.lot for b in own if _keeps_until(self, b) >= need.due]


class Pegged:
    """The pegs of a ledger by what is taken and by who takes it, once all of them are there."""

    def __init__(self, ledger: Ledger) -> None:
        """Read them once."""
        self._of_lot: dict[LotCode, list[Peg]] = {}
        self._by: dict[tuple[LotCode | None, OrderId | None], list[Peg]] = {}
        self._recipes = {peg.lot: ledger.recipe_of(peg.lot) for peg in ledger.pegs}
        for peg in ledger.pegs:
            self._of_lot.setdefault(peg.lot, []).append(peg)
            self._by.setdefault((peg.batch, peg.order), []).append(peg)

    def of_lot(self, lot: LotCode) -> list[Peg]:
        """Who takes of a lot."""
        return self._of_lot.get(lot, [])

    def taken(self, recipe: RecipeId, batch: LotCode | None = None, order: OrderId | None = None) -> list[Peg]:
        """What a batch or an order takes of a recipe."""
        return [peg for peg in self.by(batch, order) if self._recipes[peg.lot] == recipe]

    def by(self, batch: LotCode | None = None, order: OrderId | None = None) -> list[Peg]:
        """All that a batch or an order takes."""
        return self._by.get((batch, order), [])


def last_use(recipe: Recipe, stock: StockLot) -> datetime:
    """Until when a stock lot may be taken."""
    if stock.use_by is not None:
        return stock.use_by
    stay = terminal_stay(recipe)
    most = stay.stay.most if stay is not None and stay.stay is not None else recipe.shelf_life
    return stock.made + timedelta(minutes=most if most is not None else 525_600)


def actuals_of(request: PlanRequest) -> dict[TaskId, Actual]:
    """What has happened, by task."""
    return {actual.task: actual for actual in request.actuals}


def _took(request: PlanRequest, peg: Peg) -> bool:
    """Whether the consumer has begun the task that takes this lot."""
    actuals = actuals_of(request)
    if request.previous is None:
        return False
    stays = {t.id for t in request.previous.tasks if t.lot == peg.lot and str(t.id).endswith(f".{peg.consumer}")}
    if stays:
        # The stay of food that was thrown away is over as well, and nobody took from it.
        takers = (t for t in request.previous.tasks if t.id in actuals)
        return any(link.after in stays for t in takers for link in t.links)
    takers = (t for t in request.previous.tasks if t.lot == peg.batch and (peg.batch or t.order == peg.order))
    return any(t.id in actuals and any(str(k.after).split(".")[0] == peg.lot for k in t.links) for t in takers)


def _peg_stands(ledger: Ledger, peg: Peg) -> bool:
    request = ledger.request
    recipe = ledger.recipe_of(peg.lot)
    if recipe is None:
        return False
    if peg.order is not None and all(order.id != peg.order for order in request.kitchen.orders):
        return False
    if peg.batch is not None and peg.batch not in ledger.batches:
        return False
    if peg.lot in ledger.lost or peg.lot in request.held_lots:
        return _took(request, peg)
    return peg.batch is None or peg.batch not in ledger.lost or _took(request, peg)


def _keeps_until(ledger: Ledger, batch: Batch) -> datetime:
    """Until when a batch that is made, or planned, may be taken."""
    recipe = ledger.made_by(batch)
    stay = terminal_stay(recipe)
    kept = stay.stay.most if stay is not None and stay.stay is not None else None
    most = min((m for m in (kept, recipe.shelf_life) if m is not None), default=None)
    work = [step for step in batch_steps(recipe) if step.stay is None]
    previous = ledger.request.previous
    if most is None or previous is None or not work:
        return _FOREVER
    last = TaskId(f"{batch.lot}.{work[-1].id}")
    made = actuals_of(ledger.request).get(last) or next((t for t in previous.tasks if t.id == last), None)
    return _FOREVER if made is None else made.end + timedelta(minutes=most)


def opening_ledger(
    request: PlanRequest, lost: frozenset[LotCode], released: frozenset[LotCode] = frozenset()
) -> Ledger:
    """Batches and pegs of the adopted plan that still stand, and what is free of them and of the stock.

    Args:
        request: With the adopted plan, if there is one.
        lost: Lots that are no more.
        released: Batches that are formed anew.
    """
    ledger = Ledger(request, lost)
    known = {recipe.id for recipe in request.kitchen.recipes}
    if request.previous is not None:
        released |= _outdated(request)
        kept = (b for b in request.previous.batches if b.recipe in known and b.lot not in released)
        ledger.batches = {b.lot: b for b in kept}
        ledger.spare = [b.lot for b in request.previous.batches if b.lot in released]
        ledger.pegs = [peg for peg in request.previous.pegs if peg.lot not in released and _peg_stands(ledger, peg)]
    _give_up_what_is_not_there(ledger)
    used: dict[LotCode, float] = {}
    for peg in ledger.pegs:
        used[peg.lot] = used.get(peg.lot, 0.0) + peg.quantity.value
    shut = {*lost, *request.held_lots}
    for stock in request.kitchen.stock:
        usable = (
            stock.lot not in shut
            and stock.recipe in known
            and last_use(ledger.recipe(stock.recipe), stock) > (request.now)
        )
        same = stock.recipe in known and stock.quantity.unit is ledger.recipe(stock.recipe).yields.unit
        left = ledger.there(stock.lot, stock.quantity.value) - used.get(stock.lot, 0.0)
        ledger.free[stock.lot] = max(0.0, left) if usable and same else 0.0
    for batch in ledger.batches.values():
        left = ledger.there(batch.lot, batch.size.value) - used.get(batch.lot, 0.0)
        ledger.free[batch.lot] = max(0.0, left) if batch.lot not in shut else 0.0
    _use_what_is_made(ledger)
    return ledger


def _outdated(request: PlanRequest) -> frozenset[LotCode]:
    """Batches that nobody has begun, of a recipe that has a new revision since: they are made by that."""
    now = {recipe.id: recipe.revision for recipe in request.kitchen.recipes}
    begun = {str(actual.task).split(".")[0] for actual in request.actuals}
    before = request.previous.batches if request.previous is not None else ()
    return frozenset(b.lot for b in before if b.lot not in begun and now.get(b.recipe, b.revision) != b.revision)


def _give_up_what_is_not_there(ledger: Ledger) -> None:
    """Where a count found less than is promised, the last to be promised get less; what they took they have."""
    for lot, more in ledger.request.counted.items():
        stock, batch = ledger.stock(lot), ledger.batches.get(lot)
        size = batch.size.value if batch is not None else stock.quantity.value if stock is not None else 0.0
        over = sum(peg.quantity.value for peg in ledger.pegs if peg.lot == lot) - ledger.there(lot, size)
        if more >= 0 or over <= EPS:
            continue
        kept: list[Peg] = []
        for peg in reversed(ledger.pegs):
            less = min(over, peg.quantity.value) if peg.lot == lot and not _took(ledger.request, peg) else 0.0
            over -= less
            left = peg.quantity.value - less
            if left > EPS:
                amount = Quantity(value=left, unit=peg.quantity.unit)
                kept.append(peg.model_copy(update={"quantity": amount}) if less > 0 else peg)
        ledger.pegs = kept[::-1]


def _use_what_is_made(ledger: Ledger) -> None:
    """A batch that nobody has begun makes way where food already begun serves all its consumers, as after a release."""
    begun = {str(actual.task).split(".")[0] for actual in ledger.request.actuals}
    promised: dict[RecipeId, float] = {}
    for batch in reversed(list(ledger.batches.values())):
        mine = [peg for peg in ledger.pegs if peg.lot == batch.lot]
        if batch.lot in begun or not mine:
            continue
        made = [b for b in ledger.batches.values() if b.recipe == batch.recipe and b.lot in begun]
        wanted = sum(peg.quantity.value for peg in mine)
        left = sum(max(0.0, ledger.free[b.lot]) for b in made) - promised.get(batch.recipe, 0.0)
        if left < wanted - EPS:
            continue
        promised[batch.recipe] = promised.get(batch.recipe, 0.0) + wanted
        ledger.pegs = [peg for peg in ledger.pegs if peg.lot != batch.lot]
        ledger.free[batch.lot] += wanted
