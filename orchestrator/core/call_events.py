"""What has happened about calls: who was told when about what, and whether it reached them."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.ids import AlarmId, CalleeId, CrewId
from orchestrator.core.models.base import Model
from orchestrator.core.models.calls import CallPlan, CallWhy, ChannelFault


class CallPlanTaken(Model):
    """From now on these people are called: the kitchen's file says something else than before."""

    kind: Literal["call_plan_taken"] = "call_plan_taken"
    plan: CallPlan
    at: AwareDatetime


class ChannelsChecked(Model):
    """Under other names than before no address was found."""

    kind: Literal["channels_checked"] = "channels_checked"
    at: AwareDatetime
    unset: tuple[str, ...]
    """Names of the environment or the secrets file; never what stands there."""


class CallAbout(Model):
    """One alarm of a call."""

    alarm: AlarmId
    why: CallWhy
    title: str = ""
    """Of the alarm when the call was made."""
    passed: tuple[CalleeId, ...] = ()
    """Whose turn it would have been, but for their quiet hours; they are told at the end of these."""


class CallMade(Model):
    """Somebody is being called; on record before anything is sent."""

    kind: Literal["call_made"] = "call_made"
    at: AwareDatetime
    to: CalleeId
    about: tuple[CallAbout, ...] = ()
    """Empty: a test."""
    person: CrewId | None = None
    """Who asked for a test."""


class CallDelivered(Model):
    """At least one channel took the message. Whether anybody read it, nobody knows."""

    kind: Literal["call_delivered"] = "call_delivered"
    call: int
    """Sequence number of the event that made it."""
    at: AwareDatetime
    reached: tuple[str, ...]
    faults: tuple[ChannelFault, ...] = ()


class CallFailed(Model):
    """No channel took the message; it is tried again."""

    kind: Literal["call_failed"] = "call_failed"
    call: int
    at: AwareDatetime
    faults: tuple[ChannelFault, ...]


class CallGaveUp(Model):
    """It is not tried any more: the time for it is over, or nobody need be told any longer."""

    kind: Literal["call_gave_up"] = "call_gave_up"
    call: int
    at: AwareDatetime
    faults: tuple[ChannelFault, ...] = ()


CallEvent = CallPlanTaken | ChannelsChecked | CallMade | CallDelivered | CallFailed | CallGaveUp
