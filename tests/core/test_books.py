"""The books of lots by themselves: accounts written by hand, and shares that can be added up on paper."""

import pytest

from orchestrator.core.ids import TaskId
from orchestrator.core.material import Account, Books, Part
from orchestrator.core.quantities import Unit

LITRE = Unit.LITRE


def part(lot: str, into: str, value: float, *, to_order: bool = False, task: str = "") -> Part:
    return Part(lot, into, TaskId(task or f"{into}.{lot}"), None, value, value, LITRE, to_order)


def account(lot: str, start: float, *parts: Part, lost: float = 0.0) -> Account:
    left = start - sum(one.value for one in parts) - lost
    return Account(lot, LITRE, start, "measured", parts, 0.0, lost, left)


def books_of(*accounts: Account) -> Books:
    into: dict[str, tuple[Part, ...]] = {}
    for one in accounts:
        for taken in one.parts:
            into[taken.into] = (*into.get(taken.into, ()), taken)
    return Books({one.lot: one for one in accounts}, into)


def test_order_that_takes_of_a_lot_twice_has_both_shares() -> None:
    taken = (part("B1", "SAT", 1.0, to_order=True, task="SAT.a"), part("B1", "SAT", 2.0, to_order=True, task="SAT.b"))
    book = books_of(account("B1", 4.0, *taken))
    assert book.shares("B1") == pytest.approx({"B1/SAT": 0.75, "B1": 0.25})
    assert book.accounts["B1"].left == pytest.approx(1.0)


def test_lot_that_goes_two_ways_into_one_order_is_counted_along_each() -> None:
    # 4 L of C1: half into B1, a quarter into S1; B1 goes out whole, of S1 half does.
    book = books_of(
        account("C1", 4.0, part("C1", "B1", 2.0), part("C1", "S1", 1.0)),
        account("B1", 5.0, part("B1", "SAT", 5.0, to_order=True)),
        account("S1", 6.0, part("S1", "SAT", 3.0, to_order=True)),
    )
    assert book.shares("C1") == pytest.approx({"C1": 0.25, "B1": 0.0, "B1/SAT": 0.5, "S1": 0.125, "S1/SAT": 0.125})
    assert book.forward("C1") == ("B1", "S1", "SAT")
    assert book.back("SAT") == ("B1", "S1", "C1")


def test_next_to_nothing_is_no_way_that_food_went() -> None:
    book = books_of(account("C1", 4.0, part("C1", "B1", 1e-9)), account("B1", 5.0))
    assert (book.forward("C1"), book.back("B1")) == ((), ())
    assert book.shares("C1") == pytest.approx({"C1": 1.0})


def test_lot_of_which_nothing_was_made_keeps_its_share_to_itself() -> None:
    assert books_of(account("C1", 0.0)).shares("C1") == {"C1": 1.0}
    assert books_of(account("C1", 1.0)).shares("X9") == {}
