"""A lot more on hand as a form: what was bought or found, or each fault beside its field."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from display.forms import FormFault, Tapped
from display.panels import Showing
from display.words import AsPrinted
from orchestrator.core.changes import apply
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import EquipmentId, LotCode
from orchestrator.core.models import Recipe
from orchestrator.core.models.change import AddStock, Change
from orchestrator.core.models.kitchen import StockLot
from orchestrator.core.planning import plan_request
from orchestrator.core.quantities import Quantity
from orchestrator.core.typed_amounts import NoAmount, typed_amount


@dataclass(slots=True)
class StockForm:
    """What stands in the fields, what is wrong with each, and the change that it makes."""

    values: dict[str, str] = field(default_factory=dict)
    faults: dict[str, str] = field(default_factory=dict)
    change: AddStock | None = None


def empty(picture: Showing) -> StockForm:
    """A form to begin with: made now."""
    return StockForm({"made": f"{picture.formats.local(picture.now):%Y-%m-%dT%H:%M}"})


def read(picture: Showing, fields: Mapping[str, str], so_far: Sequence[Change]) -> StockForm:
    """What was sent. With a fault there is no change; nothing that was typed is lost.

    Args:
        picture: The kitchen that it is for.
        fields: ``recipe``, ``lot``, ``quantity``, ``made`` and, if it is known, ``place``.
        so_far: Changes before it, which it may not contradict.
    """
    made, form = StockForm(dict(fields)), Tapped(fields, picture, None)
    recipe = next((r for r in picture.kitchen.recipes if r.id == form.text("recipe")), None)
    if recipe is None:
        made.faults["recipe"] = picture.words("stock_form_recipe")
    code = form.text("lot").upper()
    if not code:
        made.faults["lot"] = picture.words("stock_form_lot")
    amount, since = _amount(picture, form, made, recipe), _made(picture, form, made)
    if made.faults or recipe is None or amount is None or since is None:
        return made
    place = EquipmentId(form.text("place")) if form.text("place") else None
    quantity = Quantity(value=amount, unit=recipe.yields.unit)
    lot = StockLot(lot=LotCode(code), recipe=recipe.id, quantity=quantity, made=since, place=place)
    made.change = AddStock(lot=lot)
    told = apply(plan_request(picture.snapshot.state, picture.now), (*so_far, made.change))
    if isinstance(told, Refusal):
        made.change = None
        made.faults["form"] = picture.words("order_refused", status=told.status, remedy=told.remedy)
    return made


def _amount(picture: Showing, form: Tapped, made: StockForm, recipe: Recipe | None) -> float | None:
    text = form.text("quantity")
    try:
        value = typed_amount(text, recipe.yields.unit, us=form.us) if recipe is not None else 0.0
    except NoAmount:
        value = 0.0
    if 0 < value <= 100_000:
        return value
    unit = picture.formats.typed_unit(recipe.yields.unit) if recipe is not None else ""
    made.faults["quantity"] = picture.words("stock_form_amount", text=AsPrinted(text or "–"), unit=unit)
    return None


def _made(picture: Showing, form: Tapped, made: StockForm) -> datetime | None:
    try:
        since = form.instant("made") if form.need("made") else None
    except FormFault as fault:
        made.faults["made"] = f"{fault.says} {fault.remedy}"
        return None
    if since is not None and since > picture.now:
        made.faults["made"] = picture.words("stock_form_ahead", time=picture.formats.when(picture.now, picture.now))
    return since
