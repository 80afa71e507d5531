"""What is past its date and still there: food made here, left over or received, of which nobody has disposed.

A use-by is about safety: past it food is neither used nor served. A best-before is about quality: past it a manager
judges. Source: Regulation (EU) No 1169/2011, Articles 24(1) and 2(2)(r), and Codex CXS 1-1985, section 2; both from
memory. The dates themselves are the kitchen's and its suppliers'; local code decides.
"""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Final

from orchestrator.core.alarms.look import Look
from orchestrator.core.ids import EquipmentId, LotCode
from orchestrator.core.lives import Clocks
from orchestrator.core.material import accounts_here
from orchestrator.core.models import PlannedTask, Recipe, TaskKind
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.pantry import Pantry
from orchestrator.core.plan_index import Same
from orchestrator.core.quantities import Quantity
from orchestrator.core.state import LotStatus, State, TaskStatus

_LEAST_KEPT: Final = 0.0005
"""Of what is weighed at the door or left over: half a gram is nothing."""
_LEAST_MADE: Final = 0.005
"""Litres, kilograms or pieces of a batch that a count does not tell apart."""
_OVER: Final = (TaskStatus.DONE, TaskStatus.SKIPPED)


@dataclass(frozen=True, slots=True)
class Dated:
    """Food that is there, with its dates."""

    lot: LotCode
    name: str
    left: Quantity
    place: EquipmentId | None
    use_by: datetime | None
    best_before: datetime | None
    since: datetime | None = None
    """When a named person last decided that it is free."""

    def past_use_by(self, now: datetime) -> bool:
        """Whether it may not be used any more; released after it only by a named code, see `core.decide.lots`."""
        return _past(self.use_by, self.since, now)

    def past_best_before(self, now: datetime) -> bool:
        """Whether somebody must judge it; no more where it may not be used at all."""
        return _past(self.best_before, self.since, now) and not self.past_use_by(now)


def _past(until: datetime | None, decided: datetime | None, now: datetime) -> bool:
    return until is not None and until <= now and (decided is None or decided < until)


def dated(look: Look, *, held: bool = False) -> Iterator[Dated]:
    """All food with a date of which something is left; what is on hold, discarded or reworked is asked about elsewhere.

    Nothing that is still being made: its windows tell of it.

    Args:
        look: At the kitchen.
        held: With what is on hold.
    """
    there = (LotStatus.FREE, LotStatus.ON_HOLD) if held else (LotStatus.FREE,)
    for left in _kept(Same(look.state.pantry)):
        if _status(look.state, LotCode(left.lot.id)) in there:
            yield _of_pantry(look.state, left)
    yield from _made(look, there)


def dated_lot(look: Look, lot: LotCode) -> Dated | None:
    """The same of one lot, on hold or not; none where nothing of it is there, or it has no date."""
    return next((one for one in dated(look, held=True) if one.lot == lot), None)


def instants(look: Look) -> Iterator[datetime]:
    """When dates pass."""
    for one in dated(look):
        yield from (until for until in (one.use_by, one.best_before) if until is not None)


def best_before(recipe: Recipe, made: datetime | None, use_by: datetime | None) -> datetime | None:
    """Until when what was made then is at its best; never later than the use-by."""
    if recipe.best_before is None or made is None:
        return None
    best = made + timedelta(minutes=recipe.best_before)
    return best if use_by is None else min(best, use_by)


@dataclass(frozen=True, slots=True)
class _Left:
    lot: IngredientLot
    value: float


@lru_cache(maxsize=4)
def _kept(same: Same[Pantry]) -> tuple[_Left, ...]:
    """Ingredients and by-products with a date, as far as something is left of them: added up once for each state of
    the pantry, for years of deliveries stay in it."""
    pantry, used = same.thing, dict[str, float]()
    for use in (use for uses in pantry.uses.values() for use in uses):
        if use.lot in pantry.lots and use.quantity.unit is pantry.lots[use.lot].quantity.unit:
            used[use.lot] = used.get(use.lot, 0.0) + use.quantity.value
    found = []
    for lot in pantry.lots.values():
        left = lot.quantity.value + pantry.counted.get(lot.id, 0.0) - used.get(lot.id, 0.0)
        if lot.use_by is not None and left > _LEAST_KEPT:
            found.append(_Left(lot, left))
    return tuple(found)


def _status(state: State, lot: LotCode) -> LotStatus:
    record = state.lots.get(lot)
    return record.status if record is not None else LotStatus.FREE


def _decided(state: State, lot: LotCode) -> datetime | None:
    record = state.lots.get(lot)
    return record.since if record is not None and record.by is not None else None


def _of_pantry(state: State, left: _Left) -> Dated:
    lot = left.lot
    return Dated(
        lot=LotCode(lot.id),
        name=lot.ingredient,
        left=Quantity(value=left.value, unit=lot.quantity.unit),
        place=lot.place,
        use_by=lot.use_by,
        best_before=None,
        since=_decided(state, LotCode(lot.id)),
    )


def _made(look: Look, there: Collection[LotStatus]) -> Iterator[Dated]:
    """Stock on hand and batches whose work is over."""
    clocks = look.clocks()
    lots = dict.fromkeys((*look.kitchen.stock, *look.plan.batches))
    for lot in (lot for lot in lots if _status(look.state, lot) in there):
        account = accounts_here(look.state).get(lot)
        tasks = [look.plan.tasks[task] for task in look.plan.lot_tasks.get(lot, ())]
        made = _made_at(look, lot, tasks)
        if account is None or made is None or account.left <= _LEAST_MADE:
            continue
        found = _with_dates(look, clocks, lot, made)
        if found is not None:
            name, use_by, best = found
            yield Dated(
                lot=lot,
                name=name,
                left=Quantity(value=account.left, unit=account.unit),
                place=_place(look, lot, tasks),
                use_by=use_by,
                best_before=best,
                since=_decided(look.state, lot),
            )


def _with_dates(
    look: Look, clocks: Clocks, lot: LotCode, made: datetime
) -> tuple[str, datetime | None, datetime | None] | None:
    made_by = look.recipe_of(lot)
    recipe = look.kitchen.recipes.get(made_by) if made_by is not None else None
    if recipe is None:
        return None
    use_by = clocks.use_by(lot)
    best = best_before(recipe, made, use_by)
    return None if use_by is None and best is None else (recipe.name, use_by, best)


def _made_at(look: Look, lot: LotCode, tasks: Iterable[PlannedTask]) -> datetime | None:
    """When its last work was over; none while some is not. What is done for an order makes the lot no younger."""
    stock = look.kitchen.stock.get(lot)
    if stock is not None:
        return stock.made
    work = [task for task in tasks if task.kind is TaskKind.WORK and task.order is None]
    if not work or any(look.status(task) not in _OVER for task in work):
        return None
    return max(look.live[task.id].end for task in work)


def _place(look: Look, lot: LotCode, tasks: Iterable[PlannedTask]) -> EquipmentId | None:
    """Where it stands; of several places the first."""
    machines = (look.machine(task) for task in tasks if look.status(task) is TaskStatus.IN_HAND)
    stock = look.kitchen.stock.get(lot)
    return next((m.id for m in machines if m is not None), stock.place if stock is not None else None)
