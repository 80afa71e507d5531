"""A counter's demand for programs: par levels, closing counts, demand by the hour, and what to make next."""

from datetime import date
from typing import Annotated, Final

from pydantic import AwareDatetime, Field
from pydantic.config import JsonDict

from display.api.handing_in import Handed, kitchen_of, known_station
from display.api.reading import Query
from orchestrator.core.changes_refusals import bad, unknown
from orchestrator.core.demand import hourly_orders, order_to_par, ordered_to_par
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CrewId, RecipeId, StationId
from orchestrator.core.kitchen_commands import ChangeKitchen
from orchestrator.core.models import Model
from orchestrator.core.models.change import Change, CloseCounter, SetPar
from orchestrator.core.models.demand import Counted
from orchestrator.core.quantities import Quantity
from orchestrator.core.views import make_next
from orchestrator.core.views.make_next import NextView
from orchestrator.gateway.door import Gateway, Snapshot

Hour = Annotated[int, Field(ge=0, le=23)]
HOUR_NAMES: Final[JsonDict] = {"propertyNames": {"pattern": "^(1?[0-9]|2[0-3])$"}}
"""An hour as a key in JSON is text; the schema made from `Hour` alone would allow any."""
Amount = Annotated[float, Field(ge=0, le=10_000)]


class LastCount(Model):
    """What was left when it was counted last."""

    quantity: Quantity
    at: AwareDatetime
    by: CrewId


class ParTold(Model):
    """What a counter is to have of a product in the morning, and what is known of it."""

    station: StationId
    product: RecipeId
    quantity: Quantity
    by: str
    """When it must be there, on the kitchen's clock."""
    counted: LastCount | None
    ordered: bool
    """Whether an order that brings it to par is under way."""


def par_levels(gateway: Gateway, _: dict[str, str], __: Query) -> list[ParTold]:
    """All of them, with the last count of each. Raises: NotThere."""
    snapshot = gateway.snapshot()
    kitchen, counts = kitchen_of(snapshot), snapshot.state.by_hand.counts
    found = []
    for par in kitchen.par_levels:
        last = counts.get((par.station, par.product))
        counted = LastCount(quantity=last.quantity, at=last.at, by=last.by) if last is not None else None
        ordered = ordered_to_par(kitchen, par.station, par.product, snapshot.now)
        found.append(ParTold(**par.model_dump(), counted=counted, ordered=ordered))
    return found


def next_to_make(gateway: Gateway, _: dict[str, str], __: Query) -> list[NextView]:
    """Products for which something speaks, the strongest first. Raises: NotThere."""
    snapshot = gateway.snapshot()
    kitchen_of(snapshot)
    return list(make_next(snapshot.state, snapshot.facts, snapshot.now))


class Counts(Handed):
    """What was left at a counter; what is missing to par becomes an order for the morning, unless told otherwise."""

    station: StationId
    counts: tuple[Counted, ...] = Field(min_length=1, max_length=300)
    order: bool = True
    """False: only the count is put down. Orders are for a manager, where the kitchen has one."""


def counted(snapshot: Snapshot, body: Counts) -> ChangeKitchen | Refusal:
    """The command that the body stands for; or why it cannot be."""
    kitchen = kitchen_of(snapshot)
    refused = known_station(kitchen, body.station)
    if refused is not None:
        return refused
    changes: list[Change] = [CloseCounter(station=body.station, counts=body.counts)]
    order = order_to_par(kitchen, body.station, body.counts, snapshot.now) if body.order else None
    return body.as_change((*changes, *([order] if order is not None else [])))


class Level(Model):
    """Of one product."""

    product: RecipeId
    quantity: Quantity
    """Nothing: it has no par any more."""
    by: str = Field(default="10:00", pattern=r"^([01][0-9]|2[0-3]):[0-5][0-9]$")
    """When it must be there, on the kitchen's clock."""


class Levels(Handed):
    """What a counter is to have in the morning; products that are not named stay as they are."""

    station: StationId
    levels: tuple[Level, ...] = Field(min_length=1, max_length=300)


def levelled(snapshot: Snapshot, body: Levels) -> ChangeKitchen | Refusal:
    """The command that the body stands for; or why it cannot be."""
    refused = known_station(kitchen_of(snapshot), body.station)
    if refused is not None:
        return refused
    return body.as_change(tuple(SetPar(station=body.station, **level.model_dump()) for level in body.levels))


class Hours(Handed):
    """What is wanted of a product, hour by hour of a day: each hour becomes an order, handed over as it begins."""

    station: StationId
    product: RecipeId
    day: date
    """On the kitchen's clock."""
    hours: dict[Hour, Amount] = Field(min_length=1, json_schema_extra=HOUR_NAMES)
    """Hour of the day, 0 to 23, to amount in the product's own unit."""


def by_the_hour(snapshot: Snapshot, body: Hours) -> ChangeKitchen | Refusal:
    """The command that the body stands for; or why it cannot be."""
    kitchen = kitchen_of(snapshot)
    refused = known_station(kitchen, body.station)
    if refused is not None:
        return refused
    products = {recipe.id: recipe for recipe in kitchen.recipes if recipe.makes == "product"}
    if body.product not in products:
        return unknown("product", body.product, products)
    orders = hourly_orders(kitchen, body.station, products[body.product], body.day, body.hours)
    if not orders:
        return bad(body.product, "nothing is wanted in any hour", "an amount in one hour at least")
    return body.as_change(orders)
