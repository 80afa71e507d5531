"""Orders from a table of text (CSV): all of them, or every fault with line, column and remedy, and none of them."""

import csv
import difflib
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

from orchestrator.core.changes import apply
from orchestrator.core.changes_orders import change_between
from orchestrator.core.errors import Refusal
from orchestrator.core.models import Order, OrderLine, PlanRequest, Recipe
from orchestrator.core.models.change import AddOrder, ChangeOrder
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.typed_amounts import NoAmount, typed_quantity

NEEDED: Final = ("order", "customer", "due", "product", "quantity")
COLUMNS: Final = (*NEEDED, "earliest", "weight")
MOST_LINES: Final = 1000
_EXAMPLE: Final = "2026-11-28 11:00"
_DELIMITERS: Final = (",", ";", "\t")


@dataclass(frozen=True, slots=True)
class TableFault:
    """One thing that is wrong in a table, and what would be right."""

    line: int
    """Of the text, the header being 1."""
    column: str
    says: str
    remedy: str


@dataclass(frozen=True, slots=True)
class OrderTable:
    """What a table asks for; nothing of it where anything is wrong."""

    changes: tuple[AddOrder | ChangeOrder, ...] = ()
    faults: tuple[TableFault, ...] = ()
    same: int = 0
    """Orders that are in the kitchen just as the table has them."""


def read_orders(text: str, request: PlanRequest, *, replace: bool = False) -> OrderTable:
    """Orders of a table with a header row; lines of the same order belong together.

    Args:
        text: Comma, semicolon or tab separated, as spreadsheets write it (RFC 4180). Columns in any order: order,
            customer, due, product, quantity; earliest and weight may be left out. Times without an offset are on the
            kitchen's clock.
        request: The kitchen, its orders and the present instant.
        replace: Whether orders that are there already become what the table says; else that is a fault.
    """
    return _Reader(text, request, replace).read()


class _Reader:
    def __init__(self, text: str, request: PlanRequest, replace: bool) -> None:
        self._text = text.removeprefix("\ufeff")
        self._request, self._replace = request, replace
        self._known = {order.id: order for order in request.kitchen.orders}
        self._products = {r.id: r for r in request.kitchen.recipes if r.makes == "product"}
        self._faults: list[TableFault] = []

    def read(self) -> OrderTable:
        rows = list(self._rows())
        orders: dict[str, list[tuple[int, dict[str, str]]]] = {}
        for line, row in rows:
            orders.setdefault(row["order"], []).append((line, row))
        if not rows and not self._faults:
            self._fault(1, "order", "there is no order below the header", "a line for each product of an order")
        told = [(lines[0][0], self._order(lines)) for lines in orders.values()]
        if self._faults:
            return OrderTable(faults=tuple(sorted(self._faults, key=lambda f: (f.line, f.column))))
        changes = tuple(self._changes((line, order) for line, order in told if order is not None))
        if self._faults:
            return OrderTable(faults=tuple(sorted(self._faults, key=lambda f: (f.line, f.column))))
        return OrderTable(changes=changes, same=len(orders) - len(changes))

    def _fault(self, line: int, column: str, says: str, remedy: str) -> None:
        self._faults.append(TableFault(line, column, says, remedy))

    def _rows(self) -> Iterator[tuple[int, dict[str, str]]]:
        head = self._text.split("\n", 1)[0]
        delimiter = max(_DELIMITERS, key=head.count)
        reader = csv.reader(io.StringIO(self._text), delimiter=delimiter, strict=True)
        names: list[str] | None = None
        try:
            for row in reader:
                cells = [cell.strip() for cell in row]
                if not any(cells):
                    continue
                if names is None:
                    names = self._header([cell.lower() for cell in cells], reader.line_num)
                    continue
                if not names:
                    return
                if reader.line_num > MOST_LINES:
                    self._fault(reader.line_num, "order", f"more than {MOST_LINES} lines", "several smaller tables")
                    return
                if len(cells) > len(names):
                    says = f"{len(cells)} cells under {len(names)} headings"
                    self._fault(reader.line_num, "order", says, "one cell a heading; put text with commas in quotes")
                    continue
                yield reader.line_num, {**dict.fromkeys(COLUMNS, ""), **dict(zip(names, cells, strict=False))}
        except csv.Error as error:
            self._fault(reader.line_num, "order", f"the line cannot be read: {error}", "quotes closed, one line a row")
        if names is None:
            self._fault(1, "order", "the table is empty", f"a header row: {', '.join(NEEDED)}")

    def _header(self, names: list[str], line: int) -> list[str]:
        for name in names:
            if name not in COLUMNS:
                near = difflib.get_close_matches(name, COLUMNS, n=1)
                remedy = f"did you mean {near[0]}?" if near else f"one of {', '.join(COLUMNS)}"
                self._fault(line, name or "(no name)", "there is no such column", remedy)
            elif names.count(name) > 1:
                self._fault(line, name, "the column comes twice", "one of them")
        for name in NEEDED:
            if name not in names:
                self._fault(line, name, "the column is missing", f"a header row: {', '.join(NEEDED)}")
        return [] if self._faults else names

    def _order(self, lines: Sequence[tuple[int, dict[str, str]]]) -> Order | None:
        """The order of some lines; what is written only in its first line holds for the others."""
        number, first = lines[0]
        before = len(self._faults)
        if not re.fullmatch(r"[A-Z0-9-]+", first["order"]):
            says = f"{first['order']!r} is no name of an order" if first["order"] else "the order has no name"
            self._fault(number, "order", says, "capital letters, digits and hyphens, such as SAT-STALL")
        for line, row in lines[1:]:
            for name in ("customer", "due", "earliest", "weight"):
                if row[name] and row[name] != first[name]:
                    says = f"{row[name]!r} is not what line {number} says of the same order"
                    self._fault(line, name, says, f"{first[name]!r}, or nothing")
        if not first["customer"]:
            self._fault(number, "customer", "the customer is missing", "for whom it is")
        due = self._instant(number, "due", first["due"])
        if not first["due"]:
            self._fault(number, "due", "the hand-over is missing", f"write it as {_EXAMPLE}")
        earliest = self._instant(number, "earliest", first["earliest"])
        weight = self._weight(number, first["weight"])
        made = [self._line(line, row) for line, row in lines]
        self._in_time(number, due, earliest)
        if len(self._faults) > before or due is None:
            return None
        told: dict[str, Any] = {"id": first["order"], "customer": first["customer"], "due": due, "weight": weight}
        return Order.model_validate({**told, "earliest": earliest, "lines": [line for line in made if line]})

    def _in_time(self, line: int, due: datetime | None, earliest: datetime | None) -> None:
        kitchen, now = self._request.kitchen, self._request.now
        if due is not None and not now < due <= kitchen.orders_until:
            told, first, last = (kitchen.when(i) for i in (due, now, kitchen.orders_until))
            self._fault(line, "due", f"{told} is not among the days that are planned", f"after {first}, by {last}")
        if due is not None and earliest is not None and earliest > due:
            self._fault(line, "earliest", "it lies after the hand-over is due", "an instant before that")

    def _instant(self, line: int, column: str, text: str) -> datetime | None:
        if not text:
            return None
        try:
            instant = datetime.fromisoformat(text)
        except ValueError:
            self._fault(line, column, f"{text!r} is not a date and time", f"write it as {_EXAMPLE}")
            return None
        if "T" not in text.upper() and " " not in text:
            self._fault(line, column, f"{text!r} has no time of day", f"write it as {_EXAMPLE}")
            return None
        if instant.tzinfo is None:
            instant = instant.replace(tzinfo=ZoneInfo(self._request.kitchen.time_zone))
        return instant.astimezone(UTC)

    def _weight(self, line: int, text: str) -> int:
        if not text:
            return 1
        if not re.fullmatch(r"[1-9][0-9]{0,3}", text):
            self._fault(line, "weight", f"{text!r} is no weight", "a whole number from 1 on, or nothing")
            return 1
        return int(text)

    def _line(self, line: int, row: dict[str, str]) -> OrderLine | None:
        recipe = self._product(line, row["product"])
        if not row["quantity"]:
            self._fault(line, "quantity", "the amount is missing", "a number, such as 2.5")
            return None
        if recipe is None:
            return None
        quantity = _quantity(row["quantity"], recipe.yields.unit)
        if quantity is None or quantity.unit is not recipe.yields.unit or quantity.value <= 0:
            says = f"{row['quantity']!r} is no amount of {recipe.name}"
            self._fault(line, "quantity", says, f"a number greater than 0, counted in {recipe.yields.unit}")
            return None
        return OrderLine(product=recipe.id, quantity=quantity)

    def _product(self, line: int, name: str) -> Recipe | None:
        wanted = name.casefold()
        for recipe in self._products.values():
            if wanted in (recipe.id.casefold(), recipe.name.casefold()):
                return recipe
        near = difflib.get_close_matches(name, self._products, n=1)
        remedy = f"did you mean {near[0]}?" if near else f"one of {', '.join(self._products)}"
        self._fault(line, "product", f"there is no product {name!r}" if name else "the product is missing", remedy)
        return None

    def _changes(self, orders: Iterable[tuple[int, Order]]) -> Iterator[AddOrder | ChangeOrder]:
        """What must be done to have these orders; faults where it cannot be."""
        for line, order in orders:
            known = self._known.get(order.id)
            if known is not None and known != order and not self._replace:
                remedy = "another name, or tick that orders which are there already are changed"
                self._fault(line, "order", f"there is an order {order.id} already", remedy)
                continue
            change = AddOrder(order=order) if known is None else change_between(known, order)
            refused = apply(self._request, [change]) if change is not None else None
            if isinstance(refused, Refusal):
                self._fault(line, "order", refused.status, refused.remedy)
            elif change is not None:
                yield change


def _quantity(text: str, unit: Unit) -> Quantity | None:
    """``2``, ``2.5``, ``2,5``, ``2 L``, ``500 ml`` or ``3 qt``; none for anything else.

    A bare number is metric: a table has no reader whose measures it could be in.
    """
    try:
        return typed_quantity(text, unit)
    except NoAmount:
        return None
