"""What benches plan: the example kitchen, the same with more orders, and planted kitchens of any size."""

from datetime import timedelta
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

from orchestrator.core.ids import OrderId
from orchestrator.core.models import CrewMember, Equipment, Order, PlanRequest
from orchestrator.kitchen import read_kitchen
from tests.planner.planted import Planted, planted

Thing = TypeVar("Thing", Equipment, CrewMember, Order)
MORE = ("SAT-CAFE", "SUN-STALL")
"""Orders of the example that come a second time, three hours later: about twenty batches in all."""


def example_request() -> PlanRequest:
    """The example kitchen's five days, from its planning start."""
    read = read_kitchen(Path(__file__).parents[2] / "config")
    return PlanRequest(kitchen=read, now=read.planning_start)


def larger_request() -> PlanRequest:
    """The example kitchen with more orders."""
    request = example_request()
    orders = request.kitchen.orders
    more = tuple(
        order.model_copy(update={"id": OrderId(f"{order.id}-2"), "due": order.due + timedelta(hours=3)})
        for order in orders
        if order.id in MORE
    )
    kitchen = request.kitchen.model_copy(update={"orders": (*orders, *more)})
    return request.model_copy(update={"kitchen": kitchen})


def grown_request(kitchens: int) -> PlanRequest:
    """So many kitchens of the larger one under one roof: their machines, crew and orders, for the same recipes."""
    request = larger_request()
    kitchen = request.kitchen
    equipment, crew, orders = list(kitchen.equipment), list(kitchen.crew), list(kitchen.orders)
    for more in range(2, kitchens + 1):
        equipment += [_again(machine, more) for machine in kitchen.equipment]
        crew += [_again(member, more) for member in kitchen.crew]
        orders += [_again(order, more) for order in kitchen.orders]
    grown = {"equipment": tuple(equipment), "crew": tuple(crew), "orders": tuple(orders)}
    return request.model_copy(update={"kitchen": kitchen.model_copy(update=grown)})


def _again(thing: Thing, number: int) -> Thing:
    """The same under another name; an order some minutes later, so that not all are due at once."""
    told: dict[str, object] = {"id": f"{thing.id}.{number}"}
    if isinstance(thing, Order):
        told["due"] = thing.due + timedelta(minutes=10 * number)
    else:
        told["name"] = f"{thing.name} {number}"
    return thing.model_copy(update=told)


@lru_cache(maxsize=4)
def planted_kitchen(batches: int, seed: int) -> Planted:
    """As `tests.planner.planted.planted`, made once: 400 batches take some seconds."""
    return planted(batches, seed)
