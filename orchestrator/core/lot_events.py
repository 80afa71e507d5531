"""What happened about lots in doubt, and who looked records through. Appended, never changed, as all of `events`."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId, DeviationId, EquipmentId, LotCode, TaskId
from orchestrator.core.models.base import Model
from orchestrator.core.models.deviation import Action, Answer, DeviationFacts


class LotHeld(Model):
    """A lot may not be used before somebody decides."""

    kind: Literal["lot_held"] = "lot_held"
    lot: LotCode
    at: AwareDatetime
    reason: str
    task: TaskId | None = None
    made_from: LotCode | None = None
    """In doubt because it was made from that lot, which is."""


class LotDecided(Model):
    """Somebody decided about a held lot."""

    kind: Literal["lot_decided"] = "lot_decided"
    lot: LotCode
    at: AwareDatetime
    decision: Literal["release", "rework", "discard"]
    reason: str
    person: CrewId
    second: CrewId | None = None
    """Who else looked at it, where a safety limit was broken."""
    by_code: str = ""
    """The local code, or whose licensed practice, that allows the release."""


class RecordLookedThrough(Model):
    """A named person looked a batch's record through, as far as it went then."""

    kind: Literal["record_looked_through"] = "record_looked_through"
    lot: LotCode
    at: AwareDatetime
    person: CrewId
    upto: int
    """Number of the last event that was on record when they were shown it: what is of later they have not seen."""
    note: str = ""


class DeviationOpened(Model):
    """Something was not as asked, and lots are in doubt."""

    kind: Literal["deviation_opened"] = "deviation_opened"
    deviation: DeviationId
    at: AwareDatetime
    facts: DeviationFacts


class DeviationSpread(Model):
    """More lots are in doubt, or a place has failed again."""

    kind: Literal["deviation_spread"] = "deviation_spread"
    deviation: DeviationId
    at: AwareDatetime
    lots: tuple[LotCode, ...] = ()
    again: bool = False
    """The place has failed again: every lot in it is asked about anew."""


class PlaceRecovered(Model):
    """A place that had failed is as it should be; its lots stay asked about until somebody has decided."""

    kind: Literal["place_recovered"] = "place_recovered"
    deviation: DeviationId
    at: AwareDatetime
    warmest_c: float | None = None
    core_at_most_c: float | None = None


class ActionTaken(Model):
    """A named person took a corrective action."""

    kind: Literal["action_taken"] = "action_taken"
    deviation: DeviationId
    action: Action


class LotAnswered(Model):
    """A named person decided about a lot in a place that failed; one that was moved is elsewhere from now on."""

    kind: Literal["lot_answered"] = "lot_answered"
    equipment: EquipmentId
    answer: Answer


class DeviationClosed(Model):
    """Every lot has its disposition and what was wrong has been put right; or the act it came from was taken back."""

    kind: Literal["deviation_closed"] = "deviation_closed"
    deviation: DeviationId
    at: AwareDatetime
    person: CrewId | None
    note: str = ""
    withdrawn: bool = False


DeviationEvent = DeviationOpened | DeviationSpread | PlaceRecovered | ActionTaken | LotAnswered | DeviationClosed


LotEvent = (
    LotHeld
    | LotDecided
    | RecordLookedThrough
    | DeviationOpened
    | DeviationSpread
    | PlaceRecovered
    | ActionTaken
    | LotAnswered
    | DeviationClosed
)
