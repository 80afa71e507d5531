"""A counter's demand: par levels, the closing count, demand hour by hour, and what to make next."""

import re
from datetime import date
from urllib.parse import urlencode

from flask import Blueprint, Response, make_response, redirect, request
from werkzeug.wrappers import Response as WerkzeugResponse

from display import panels
from display.changing import address
from display.order_form import products
from display.panels import Showing
from display.request import Message, page, say, showing
from display.words import AsPrinted
from orchestrator.core.changes_demand import closing_doubt
from orchestrator.core.demand import hourly_orders, order_to_par
from orchestrator.core.ids import StationId
from orchestrator.core.models import Recipe, Station
from orchestrator.core.models.change import Change, CloseCounter, SetPar
from orchestrator.core.models.demand import Counted
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.typed_amounts import NoAmount, typed_amount
from orchestrator.core.views import make_next

pages = Blueprint("demand", __name__)

HOURS = range(6, 24)
_MOST = 10_000.0


def _preview(changes: list[Change]) -> WerkzeugResponse:
    return redirect(f"/changes?{urlencode(address(changes, '/demand'))}", 303)


@pages.get("/demand")
def demand_page() -> Response:
    """All of it."""
    return _page({}, {})


def _page(values: dict[str, str], faults: dict[str, str], status: int = 200) -> Response:
    picture = showing()
    kitchen, book = picture.kitchen, picture.snapshot.state.by_hand
    pars = {(par.station, par.product): par for par in kitchen.par_levels}
    counters = [station for station in kitchen.stations if any(par.station == station.id for par in kitchen.par_levels)]
    context = {"values": values, "faults": faults, "pars": pars, "counts": book.counts, "counters": counters}
    context["path"] = "/demand"  # where a page made by a form is opened again
    told = page("demand.html", **context, stations=kitchen.stations, products=products(picture), hours=HOURS)
    return make_response(told, status)


def _station(values: dict[str, str], faults: dict[str, str]) -> Station | None:
    found = next((s for s in showing().kitchen.stations if s.id == values.get("station")), None)
    if found is None:
        faults["station"] = showing().words("demand_station")
    return found


def _amounts(values: dict[str, str], faults: dict[str, str], fields: dict[str, Recipe]) -> dict[str, float]:
    """What stands in fields that are not empty; a number from 0 on."""
    found = {}
    for name, recipe in fields.items():
        text, unit = values.get(name, "").strip(), recipe.yields.unit
        if not text:
            continue
        try:
            value = typed_amount(text, unit, us=values.get("typed_in") == "us")
        except NoAmount:
            value = -1.0
        if not 0 <= value <= _MOST:
            faults[name] = showing().words(
                "demand_amount", text=AsPrinted(text), unit=showing().formats.typed_unit(unit)
            )
        elif unit is Unit.EACH and value != int(value):
            faults[name] = showing().words("demand_whole", text=AsPrinted(text))
        else:
            found[name] = value
    if not found and not faults:
        faults["form"] = showing().words("demand_nothing")
    return found


@pages.post("/demand/count")
def count() -> WerkzeugResponse:
    """What was left at closing: what is missing to par becomes an order for the morning."""
    picture, values, faults = showing(), request.form.to_dict(), dict[str, str]()
    station = _station(values, faults)
    known = {f"count_{recipe.id}": recipe for recipe in products(picture)}
    amounts = _amounts(values, faults, known)
    if faults or station is None:
        return _page({**values, "which": "count"}, faults, 422)
    counts = tuple(
        Counted(
            product=known[name].id,
            quantity=Quantity(value=value, unit=known[name].yields.unit),
            sure=values.get(f"sure_{name}") == "yes",
        )
        for name, value in amounts.items()
    )
    asked = _asked(picture, station, counts, values)
    if asked is not None:
        say(asked)
        return _page({**values, "which": "count"}, {}, 422)
    order = order_to_par(picture.kitchen, station.id, counts, picture.now)
    return _preview([CloseCounter(station=station.id, counts=counts), *([order] if order is not None else [])])


def _asked(picture: Showing, station: Station, counts: tuple[Counted, ...], values: dict[str, str]) -> Message | None:
    """The question about the first count of far more than its par, with its answers; none where all fit."""
    doubt = closing_doubt(picture.kitchen, CloseCounter(station=station.id, counts=counts))
    if doubt is None:
        return None
    w, f = picture.words, picture.formats
    one = next(one for one in counts if one.product == doubt.thing)
    name = next(recipe.name for recipe in products(picture) if recipe.id == one.product)
    field = f"count_{one.product}"
    kept = {key: text for key, text in values.items() if key != "form_token"}
    answers = [(w("ask_sure", typed=f.alone(one.quantity), unit="").strip(), {f"sure_{field}": "yes"})]
    if doubt.meant is not None:
        meant = Quantity(value=doubt.meant, unit=one.quantity.unit)
        answers.insert(0, (w("ask_meant", meant=f.alone(meant)), {field: f"{doubt.meant:g} {meant.unit}"}))
    says = w("ask_says", status=AsPrinted(f"{picture.tell.name(name)}: {picture.tell(doubt.status)}"))
    asks = tuple({"label": label, "action": request.path, "fields": {**kept, **more}} for label, more in answers)
    return Message("refused", says, asks=asks)


@pages.post("/demand/par")
def par() -> WerkzeugResponse:
    """What a counter is to have in the morning: only what is other than before."""
    picture, values, faults = showing(), request.form.to_dict(), dict[str, str]()
    station = _station(values, faults)
    known = {f"par_{recipe.id}": recipe for recipe in products(picture)}
    amounts = _amounts(values, faults, known)
    by = values.get("by") or "10:00"
    if not re.fullmatch(r"([01][0-9]|2[0-3]):[0-5][0-9]", by):
        faults["by"] = picture.words("demand_by")
    if faults or station is None:
        return _page({**values, "which": "par"}, faults, 422)
    changes = [change for name, value in amounts.items() if (change := _par(station.id, known[name], value, by))]
    if not changes:
        return _page({**values, "which": "par"}, {"form": picture.words("order_same")}, 422)
    return _preview(list(changes))


def _par(station: StationId, recipe: Recipe, value: float, by: str) -> SetPar | None:
    own = (p for p in showing().kitchen.par_levels if (p.station, p.product) == (station, recipe.id))
    before = next(own, None)
    if (before is None and not value) or (before is not None and (before.quantity.value, before.by) == (value, by)):
        return None
    quantity = Quantity(value=value, unit=recipe.yields.unit)
    return SetPar(station=station, product=recipe.id, quantity=quantity, by=by)


@pages.post("/demand/hours")
def hours() -> WerkzeugResponse:
    """A table of hours: each becomes an order that is handed over as its hour begins."""
    picture, values, faults = showing(), request.form.to_dict(), dict[str, str]()
    station = _station(values, faults)
    recipe = next((r for r in products(picture) if r.id == values.get("product")), None)
    if recipe is None:
        faults["product"] = picture.words("demand_product")
    try:
        day = date.fromisoformat(values.get("day", ""))
    except ValueError:
        faults["day"] = picture.words("demand_day")
        day = picture.now.date()
    amounts = _amounts(values, faults, {f"hour_{hour}": recipe for hour in HOURS} if recipe is not None else {})
    if faults or station is None or recipe is None:
        return _page({**values, "which": "hours"}, faults, 422)
    wanted = {int(name.removeprefix("hour_")): value for name, value in amounts.items()}
    orders = hourly_orders(picture.kitchen, station.id, recipe, day, wanted)
    if not orders:
        return _page({**values, "which": "hours"}, {"form": picture.words("demand_nothing")}, 422)
    return _preview(list(orders))


def _next(showing: Showing, _: str) -> str:
    snapshot = showing.snapshot
    return showing.render("panels/make_next.html", {"next": make_next(snapshot.state, snapshot.facts, snapshot.now)})


panels.register("make-next", _next)
