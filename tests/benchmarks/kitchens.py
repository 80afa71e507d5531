"""What benches plan: the example kitchen, the same with more orders, and planted kitchens of any size."""

from datetime import timedelta
from functools import lru_cache
from pathlib import Path

from orchestrator.core.ids import OrderId
from orchestrator.core.models import PlanRequest
from orchestrator.kitchen import read_kitchen
from tests.planner.planted import Planted, planted

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


@lru_cache(maxsize=4)
def planted_kitchen(batches: int, seed: int) -> Planted:
    """As `tests.planner.planted.planted`, made once: 400 batches take some seconds."""
    return planted(batches, seed)
