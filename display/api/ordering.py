"""Orders handed in by a program: all of them become orders of the kitchen, or none."""

from pydantic import Field

from orchestrator.core.ids import CommandId, CrewId
from orchestrator.core.kitchen_commands import Basis, ChangeKitchen
from orchestrator.core.models import Model, Order
from orchestrator.core.models.change import AddOrder


class NewOrders(Model):
    """Orders to be added, in the name of somebody who may: a manager, where the kitchen has one."""

    command_id: CommandId = Field(min_length=1, max_length=100)
    """Made by the sender; sending the same again is harmless."""
    person: CrewId
    orders: tuple[Order, ...] = Field(min_length=1, max_length=300)
    reason: str = Field(default="", max_length=500)
    based_on: Basis | None = None
    """As a what-if handed it out: refused once the kitchen has moved since."""


def command_of(body: NewOrders) -> ChangeKitchen:
    """The command that the body stands for."""
    return ChangeKitchen(
        command_id=body.command_id,
        person=body.person,
        changes=tuple(AddOrder(order=order) for order in body.orders),
        reason=body.reason,
        based_on=body.based_on,
    )
