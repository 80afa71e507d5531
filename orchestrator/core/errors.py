"""Why a command is not carried out: returned, not raised."""

from enum import StrEnum

from orchestrator.core.models.base import Model


class RefusalCode(StrEnum):
    """Kinds of refusal, for programs."""

    UNKNOWN = "unknown"
    """No such task, lot, alarm, machine or person."""
    WRONG_STATE = "wrong_state"
    """The thing is there, but not in a state that allows the act."""
    GATE_SHUT = "gate_shut"
    """A start gate is not met; a named person with a reason may override a quality gate."""
    NOT_ALLOWED = "not_allowed"
    """This person may not do that, or a person must be named."""
    BAD_VALUE = "bad_value"
    """A measured value is missing or cannot be."""
    DOUBTFUL = "doubtful"
    """A value that can be, but hardly is what was meant: it is asked about, and taken once somebody is sure."""
    STALE = "stale"
    """Built on facts that have since changed."""
    UNAVAILABLE = "unavailable"
    """The record cannot be kept just now (disk full, log locked, engine stopped): nothing was done."""


class Refusal(Model):
    """Names the thing, its present status and what would be accepted."""

    code: RefusalCode
    thing: str
    """Id of the task, lot, alarm, machine or order."""
    status: str
    """Its present status, in words."""
    remedy: str
    """What would be accepted."""
    meant: float | None = None
    """Of what is doubtful: what was most likely meant, in the kitchen's unit."""
    field: str = ""
    """Of what is doubtful, where a command tells several values that can be: which of them."""
