"""What must hold of the books of material of any kitchen, compared with what stands apart from them."""

from collections import defaultdict

from orchestrator.core.events import Recorded
from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.material import Account, Books, batch_of, books, yielded
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.recall import gone_of, items_of
from orchestrator.core.state import LotStatus, State, TaskStatus
from tests.fakes.stay_books import measured_by_log, moved_by_stays

EPS = 1e-6


def closes(state: State, log: list[Recorded]) -> Books:
    """Everything that must hold of the books of any kitchen, whatever has happened."""
    book = books(state)
    for account in book.accounts.values():
        assert abs(account.gap) < EPS, account
        assert account.left > -EPS or account.how in ("received", "left over"), account
        assert account.lost == 0 or state.lots[account.lot].status is LotStatus.DISCARDED
    given = {(p.lot, p.into, p.task): p.value for a in book.accounts.values() for p in (*a.parts, *a.leaves)}
    taken = {(p.lot, p.into, p.task): p.value for parts in book.into.values() for p in parts}
    assert given == taken
    for lot in book.accounts:
        for other in book.forward(lot):
            assert lot in book.back(other), f"{lot} goes into {other}, which does not know it"
        for other in book.back(lot):
            assert lot in book.forward(other), f"{other} is in {lot}, and does not know it"
        assert abs(sum(book.shares(lot).values()) - 1.0) < EPS
        items = items_of(state, lot)
        assert items is not None
        assert abs(sum(item.share for item in items) + gone_of(state, lot) - 1.0) < EPS
    _as_food_stood(book, log)
    _as_measured(state, book, log)
    _by_weight(state, book)
    return book


def _as_food_stood(book: Books, log: list[Recorded]) -> None:
    """What left its place for somebody is what they took."""
    asked: dict[tuple[str, str], float] = defaultdict(float)
    for part in (
        part
        for account in book.accounts.values()
        if account.how not in ("received", "left over")
        for part in account.parts
    ):
        asked[part.lot, part.into] += part.asked
    for (lot, consumer), amount in moved_by_stays(log).items():
        assert abs(asked[lot, consumer] - amount) < 1e-3, f"{lot} for {consumer}: {asked[lot, consumer]} {amount}"


def _as_measured(state: State, book: Books, log: list[Recorded]) -> None:
    entered = measured_by_log(log)
    assert state.plan is not None
    for account in (a for a in book.accounts.values() if a.how == "measured"):
        ends = [entered[t.id] for t in state.plan.tasks if t.lot == account.lot and t.id in entered]
        assert account.start in [value for end in ends for value in end.values()]


KG = {Unit.KILOGRAM: 1.0, Unit.LITRE: 1.0}
"""A litre is weighed as a kilogram, throughout: what balances by one density balances by any. Pieces have no weight."""


class Scales:
    """What everything weighs, from what was put in: ingredients by their recipes, components by what they weigh."""

    def __init__(self, state: State, book: Books) -> None:
        self.state, self.book = state, book
        self._per_unit: dict[str, float] = {}

    def put_in(self, lot: str) -> tuple[float, float]:
        """Kilograms of ingredients and of other lots that have gone into a batch."""
        state, batch = self.state, batch_of(self.state, lot)
        assert batch is not None
        assert state.kitchen is not None
        recipe = state.kitchen.made_by(batch.recipe, batch.revision)
        fresh = 0.0
        for step in recipe.steps if recipe is not None else ():
            begun = state.record(TaskId(f"{lot}.{step.id}")).status in (TaskStatus.IN_HAND, TaskStatus.DONE)
            if begun and step.per == "batch":
                fresh += batch.scale * sum(_kg(take.amount) for take in step.takes if take.ingredient is not None)
        parts = (
            p for p in self.book.into.get(lot, ()) if self.book.accounts[p.lot].how not in ("received", "left over")
        )
        return fresh, sum(part.value * self.per_unit(part.lot) for part in parts)

    def left_over(self, account: Account) -> float:
        """Kilograms of by-products."""
        return sum(part.value * KG.get(part.unit, 0.0) for part in account.leaves)

    def per_unit(self, lot: str) -> float:
        """Kilograms of one litre, kilogram or piece of a lot: what went in, less what was left over of it, spread
        over what came out and what was lost on the way."""
        if lot not in self._per_unit:
            account = self.book.accounts[lot]
            if account.how in ("on hand", "received", "left over"):
                self._per_unit[lot] = KG.get(account.unit, 0.0)
            else:
                came = account.start + self.lost(account)
                self._per_unit[lot] = (sum(self.put_in(lot)) - self.left_over(account)) / came if came > EPS else 0.0
        return self._per_unit[lot]

    def lost(self, account: Account) -> float:
        """What stayed in machines, and the measured loss beyond it, in the lot's own unit."""
        given = yielded(self.state, LotCode(account.lot))
        return 0.0 if given is None else given.in_machines + given.difference


def _kg(amount: Quantity) -> float:
    return amount.value * KG.get(amount.unit, 0.0)


def _by_weight(state: State, book: Books) -> None:
    """Material in = material out + measured loss, in kilograms: batch by batch, and of the whole kitchen.

    All that ever was put in is in some lot's place, with a customer, thrown away, left over, lost on the way or
    counted as missing; each once.
    """
    scales = Scales(state, book)
    came_in = gone_to = 0.0
    for account in book.accounts.values():
        unit = scales.per_unit(account.lot)
        ends = account.left + account.lost + sum(p.value for p in account.parts if p.to_order) - account.corrected
        if account.how == "on hand":
            came_in += account.start * unit
            gone_to += ends * unit
        elif account.how not in ("received", "left over"):
            fresh, lots = scales.put_in(account.lot)
            into_lots = sum(p.value for p in account.parts if not p.to_order) * unit
            out = ends * unit + into_lots + scales.left_over(account)
            loss = scales.lost(account) * unit
            assert abs(fresh + lots - out - loss) < 1e-5, f"{account.lot}: {fresh + lots} kg in, {out} out, {loss} lost"
            came_in += fresh
            gone_to += ends * unit + scales.left_over(account) + loss
    assert abs(came_in - gone_to) < 1e-4, f"{came_in} kg were put in, {gone_to} kg are accounted for"
