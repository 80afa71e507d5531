"""One order as a form: what was typed becomes an order, or each fault stands beside its field."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from display.forms import FormFault, Tapped
from display.panels import Showing
from display.words import AsPrinted
from orchestrator.core.changes import apply
from orchestrator.core.changes_orders import change_between
from orchestrator.core.errors import Refusal
from orchestrator.core.models import Order, Recipe
from orchestrator.core.models.change import AddOrder, ChangeOrder
from orchestrator.core.planning import plan_request
from orchestrator.core.quantities import Unit
from orchestrator.core.typed_amounts import NoAmount, typed_amount

ROWS: Final = 3
"""Empty rows of products to begin with, and more by a button."""
MOST_ROWS: Final = 40
_MOST: Final = 100_000.0


@dataclass(slots=True)
class OrderForm:
    """What stands in the fields, what is wrong with each, and the change that it makes."""

    values: dict[str, str]
    rows: int
    faults: dict[str, str] = field(default_factory=dict)
    change: AddOrder | ChangeOrder | None = None


def empty(picture: Showing, order: Order | None = None) -> OrderForm:
    """A form to begin with: empty, or an order as it is."""
    if order is None:
        return OrderForm({"weight": "1"}, ROWS)
    local = picture.formats.local
    values = {"customer": order.customer, "id": str(order.id), "weight": str(order.weight)}
    values |= {"due": f"{local(order.due):%Y-%m-%dT%H:%M}"}
    values |= {"earliest": f"{local(order.earliest):%Y-%m-%dT%H:%M}"} if order.earliest else {}
    for number, line in enumerate(order.lines):
        values[f"product_{number}"] = str(line.product)
        values[f"quantity_{number}"] = picture.formats.typed(line.quantity.value, line.quantity.unit)
    return OrderForm(values, max(ROWS, len(order.lines) + 1))


def products(picture: Showing) -> list[Recipe]:
    """What can be ordered."""
    return [recipe for recipe in picture.kitchen.recipes if recipe.makes == "product"]


def read(picture: Showing, fields: Mapping[str, str], before: Order | None) -> OrderForm:
    """What was sent. With a fault there is no change; nothing that was typed is lost."""
    rows = min(max(int(fields["rows"]) if fields.get("rows", "").isdigit() else ROWS, ROWS), MOST_ROWS)
    made = OrderForm({name: value for name, value in fields.items() if isinstance(value, str)}, rows)
    if fields.get("more"):
        made.rows = min(rows + ROWS, MOST_ROWS)
        return made
    order = _order(picture, Tapped(fields, picture, None), made, before)
    if order is None:
        return made
    made.change = AddOrder(order=order) if before is None else change_between(before, order)
    if made.change is None:
        made.faults["form"] = picture.words("order_same")
        return made
    refused = apply(plan_request(picture.snapshot.state, picture.now), [made.change])
    if isinstance(refused, Refusal):
        made.change = None
        made.faults["form"] = picture.words("order_refused", status=refused.status, remedy=refused.remedy)
    return made


def _order(picture: Showing, form: Tapped, made: OrderForm, before: Order | None) -> Order | None:
    def told(name: str, read: Any) -> Any:
        try:
            return read()
        except FormFault as fault:
            made.faults[name] = f"{fault.says} {fault.remedy}"
            return None

    customer = told("customer", lambda: form.need("customer"))
    due = told("due", lambda: form.instant("due") if form.need("due") else None)
    earliest = told("earliest", lambda: form.instant("earliest"))
    weight = told("weight", lambda: int(form.number("weight", 1, 1000, example="1", whole=True)))
    lines = _lines(picture, form, made, before)
    _in_time(picture, made, due if before is None or due != before.due else None, earliest, due)
    name = str(before.id) if before is not None else _name(picture, form, made, customer, due)
    if made.faults:
        return None
    order = {"id": name, "customer": customer, "due": due, "earliest": earliest, "weight": weight, "lines": lines}
    return Order.model_validate(order)


def _in_time(
    picture: Showing, made: OrderForm, new_due: datetime | None, earliest: datetime | None, due: datetime | None
) -> None:
    kitchen, f, w = picture.kitchen, picture.formats, picture.words
    if new_due is not None and not picture.now < new_due <= kitchen.orders_until:
        span = {"start": f.when(picture.now, picture.now), "end": f.when(kitchen.orders_until, picture.now)}
        made.faults["due"] = w("order_due_out", time=f.when(new_due, picture.now), **span)
    if due is not None and earliest is not None and earliest > due:
        made.faults["earliest"] = w("order_earliest_late")


def _lines(picture: Showing, form: Tapped, made: OrderForm, before: Order | None) -> list[dict[str, object]]:
    known = {str(recipe.id): recipe for recipe in products(picture)}
    lines: list[dict[str, object]] = []
    for number in range(made.rows):
        product, quantity = form.text(f"product_{number}"), form.text(f"quantity_{number}")
        if not product and not quantity:
            continue
        if product not in known:
            made.faults[f"line_{number}"] = picture.words("order_line_product")
            continue
        unit = known[product].yields.unit
        amount = _as_before(picture, before, product, quantity) or _amount(quantity, unit, us=form.us)
        if amount is None:
            told = picture.formats.typed_unit(unit)
            made.faults[f"line_{number}"] = picture.words("order_line_amount", text=quantity or "–", unit=told)
            continue
        lines.append({"product": product, "quantity": {"value": amount, "unit": unit}})
    if not lines and not any(name.startswith("line_") for name in made.faults):
        made.faults["line_0"] = picture.words("order_line_none")
    return lines


def _as_before(picture: Showing, before: Order | None, product: str, text: str) -> float | None:
    """The amount of an order as it is, where its field was left as it stood: rounded for reading, it is not another."""
    lines = before.lines if before is not None else ()
    kept = (line.quantity for line in lines if line.product == product)
    return next((one.value for one in kept if picture.formats.typed(one.value, one.unit) == text), None)


def _amount(text: str, unit: Unit, *, us: bool) -> float | None:
    try:
        value = typed_amount(text, unit, us=us)
    except NoAmount:
        return None
    return value if 0 < value <= _MOST else None


def _name(picture: Showing, form: Tapped, made: OrderForm, customer: str | None, due: datetime | None) -> str:
    """As typed, in capitals; else made from the day and the customer."""
    taken = {*(str(order.id) for order in picture.kitchen.orders), *map(str, picture.snapshot.state.past.orders)}
    typed = form.text("id").upper()
    if typed and not re.fullmatch(r"[A-Z0-9-]{1,40}", typed):
        made.faults["id"] = picture.words("order_name_bad")
    elif typed in taken:
        made.faults["id"] = picture.words("order_name_taken", name=AsPrinted(typed))
    if typed or due is None or customer is None:
        return typed
    stem = re.sub(r"[^A-Z0-9]+", "-", customer.upper()).strip("-")[:24] or "ORDER"
    name = f"{picture.formats.local(due):%a}-{stem}".upper()
    if f"{name}" not in taken:
        return name
    return next(f"{name}-{n}" for n in range(2, len(taken) + 3) if f"{name}-{n}" not in taken)
