"""What must hold of the books of material of any kitchen, compared with what stands apart from them."""

from collections import defaultdict

from orchestrator.core.events import Recorded
from orchestrator.core.material import Books, books
from orchestrator.core.recall import gone_of, items_of
from orchestrator.core.state import LotStatus, State
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
