"""What every reading of a resource has in common: its query, and how it says that there is nothing to read."""

from orchestrator.core.errors import Refusal

Query = dict[str, str]


class NotThere(LookupError):
    """The thing asked for does not exist; the message says what does."""


class Refused(Exception):
    """The kitchen, or its planner, gives no answer."""

    def __init__(self, refusal: Refusal) -> None:
        super().__init__(refusal.status)
        self.refusal = refusal
