"""What has happened to deliveries that nobody has received."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.models.base import Model


class DeliveryOverdue(Model):
    """A delivery should be there and nobody has received it: from now on plans take it to come then."""

    kind: Literal["delivery_overdue"] = "delivery_overdue"
    ingredient: str
    at: AwareDatetime
    told: AwareDatetime
    """When it was to come."""
    expected_at: AwareDatetime
    """When it is taken to come; past that without a word, as long again."""
