"""What every reading of a resource has in common: its query, and how it says that there is nothing to read."""

from orchestrator.core.errors import Refusal
from orchestrator.core.models import Model


class Query(Model):
    """What may be said after the question mark: nothing, unless a resource has fields of its own.

    Their types and descriptions are those of the OpenAPI document.
    """


class NotThere(LookupError):
    """The thing asked for does not exist; the message says what does."""


class Refused(Exception):
    """The kitchen, or its planner, gives no answer."""

    def __init__(self, refusal: Refusal) -> None:
        super().__init__(refusal.status)
        self.refusal = refusal
