"""Orders from a table: read as spreadsheets write it, or every fault with line, column and remedy."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchestrator.core.changes import apply
from orchestrator.core.models import Order, PlanRequest
from orchestrator.core.models.change import AddOrder, ChangeOrder
from orchestrator.core.order_table import OrderTable, read_orders
from tests.fakes.kitchens import at, small_kitchen

REQUEST = PlanRequest(kitchen=small_kitchen(), now=at("Wed 07:00"))
HEAD = "order,customer,due,product,quantity"
MANY = "one cell a heading; put text with commas in quotes"
GOOD = f"""{HEAD}
FRI-PARTY,Birthday,2026-11-27 15:00,basil-custard,2
FRI-PARTY,,,Damson sorbet,1.5 L
SUN-CLUB,Rowing club,2026-11-29T12:30,basil-custard,500 ml
"""


def orders(table: OrderTable) -> list[Order]:
    assert table.faults == ()
    return [change.order for change in table.changes if isinstance(change, AddOrder)]


def faults(text: str, *, replace: bool = False) -> list[tuple[int, str, str]]:
    told = read_orders(text, REQUEST, replace=replace)
    assert told.changes == ()
    return [(fault.line, fault.column, fault.remedy) for fault in told.faults]


def test_table_becomes_orders_lines_of_one_together() -> None:
    party, club = orders(read_orders(GOOD, REQUEST))
    assert (party.id, party.customer, party.due, party.weight) == ("FRI-PARTY", "Birthday", at("Fri 15:00"), 1)
    assert [(line.product, str(line.quantity.value), line.quantity.unit) for line in party.lines] == [
        ("basil-custard", "2.0", "L"),
        ("damson-sorbet", "1.5", "L"),
    ]
    assert (club.due, club.lines[0].quantity.value) == (at("Sun 12:30"), 0.5)
    assert isinstance(apply(REQUEST, read_orders(GOOD, REQUEST).changes), PlanRequest)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_table_as_spreadsheets_write_it_is_read_the_same(delimiter: str, end: str) -> None:
    # RFC 4180: CRLF between lines, quotes round cells with delimiters, quotes doubled inside; a byte order mark and
    # semicolons are what spreadsheets write where the comma is the decimal sign.
    rows = [["due", "order", "customer", "quantity", "product", "weight", "earliest"]]
    rows += [
        ["2026-11-27 15:00", "FRI-PARTY", 'The "Old, Bridge"; café', "2,5", "BASIL CUSTARD", "3", "2026-11-27 12:00"]
    ]
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter, lineterminator=end).writerows(rows)
    (order,) = orders(read_orders("\ufeff" + text.getvalue() + end, REQUEST))
    assert (order.customer, order.lines[0].quantity.value, order.weight) == ('The "Old, Bridge"; café', 2.5, 3)
    assert (order.due, order.earliest) == (at("Fri 15:00"), at("Fri 12:00"))


def test_every_fault_is_told_at_once_and_nothing_taken_over() -> None:
    text = f"""{HEAD},weight
fri party,Birthday,2026-11-27 15:00,basil-custard,2,1
SAT-CLUB,,27/11/2026 15:00,basil-custrad,two,0
SUN-CLUB,Club,2026-12-24 15:00,damson-sorbet,2 kg,
SUN-CLUB,Other club,,damson-sorbet,,
"""
    assert faults(text) == [
        (2, "order", "capital letters, digits and hyphens, such as SAT-STALL"),
        (3, "customer", "for whom it is"),
        (3, "due", "write it as 2026-11-28 11:00"),
        (3, "product", "did you mean basil-custard?"),
        (3, "weight", "a whole number from 1 on, or nothing"),
        (4, "due", "after Wed 25 Nov 07:00, by Wed 23 Dec 06:00"),
        (4, "quantity", "a number greater than 0, counted in L"),
        (5, "customer", "'Club', or nothing"),
        (5, "quantity", "a number, such as 2.5"),
    ]


@pytest.mark.parametrize(
    ("text", "line", "column", "remedy"),
    [
        ("", 1, "order", "a header row: order, customer, due, product, quantity"),
        (HEAD, 1, "order", "a line for each product of an order"),
        ("order,customer,due,product\n", 1, "quantity", "a header row: order, customer, due, product, quantity"),
        (f"{HEAD},wieght\n", 1, "wieght", "did you mean weight?"),
        (f"{HEAD},due\n", 1, "due", "one of them"),
        (f"{HEAD}\nA,B,2026-11-27 15:00,basil-custard,2,9\n", 2, "order", MANY),
        (f'{HEAD}\nA,"B,2026-11-27 15:00,basil-custard,2\n', 2, "order", "quotes closed, one line a row"),
        (f"{HEAD}\nA,B,2026-11-27,basil-custard,2\n", 2, "due", "write it as 2026-11-28 11:00"),
        (f"{HEAD}\nA,B,2026-11-27 15:00,basil-custard,-2\n", 2, "quantity", "a number greater than 0, counted in L"),
        (f"{HEAD}\nA,B,2026-11-27 15:00,basil-custard,nan\n", 2, "quantity", "a number greater than 0, counted in L"),
        (f"{HEAD}\nA,B,2026-11-27 15:00,custard-base,2\n", 2, "product", "one of basil-custard, damson-sorbet"),
    ],
)  # fmt: skip
def test_table_that_cannot_be_read_says_where_and_what_would_be_right(
    text: str, line: int, column: str, remedy: str
) -> None:
    assert (line, column, remedy) in faults(text)


def test_order_that_is_there_already_is_a_fault_unless_it_may_be_changed() -> None:
    known = next(order for order in REQUEST.kitchen.orders if order.id == "SAT-STALL")
    line = known.lines[0]
    same = f"{HEAD}\nSAT-STALL,{known.customer},{known.due:%Y-%m-%d %H:%M},{line.product},{line.quantity.value}\n"
    told = read_orders(same, REQUEST)
    assert (told.changes, told.faults, told.same) == ((), (), 1)
    other = f"{HEAD}\nSAT-STALL,{known.customer},2026-11-28 11:30,{line.product},1\n"
    assert faults(other) == [(2, "order", "another name, or tick that orders which are there already are changed")]
    (change,) = read_orders(other, REQUEST, replace=True).changes
    assert isinstance(change, ChangeOrder)
    assert (change.due, change.customer) == (at("Sat 11:30"), None)


@given(
    st.text(max_size=300)
    | st.text(alphabet='",;\t\n\rA1- :abcdeglnoprstuy', max_size=300).map(lambda t: f"{HEAD}\n{t}")
)
def test_whatever_text_comes_it_is_read_or_every_fault_has_its_place(text: str) -> None:
    told = read_orders(text, REQUEST)
    assert not (told.changes and told.faults)
    assert told.changes or told.faults or told.same
    assert all(fault.line >= 0 and fault.column and fault.says and fault.remedy for fault in told.faults)
