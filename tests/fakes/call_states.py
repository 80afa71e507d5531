"""The small kitchen with a call plan, at night and by day, with calls that reached people and calls that did not."""

from dataclasses import replace
from datetime import datetime

from orchestrator.core.call_events import CallDelivered, CallGaveUp, CallMade, ChannelsChecked
from orchestrator.core.events import AlarmRaised
from orchestrator.core.ids import AlarmId, CalleeId, CrewId
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Priority
from orchestrator.core.models.calls import CallFault, CallPlan, ChannelFault
from tests.fakes.call_house import call_plan, callee
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.states import base_ageing

PEOPLE = call_plan(callee("manager", ("22:00", "06:00")), callee("Owner"), callee("late-cook"))
FREEZER = AlarmId("store_warm:freezer")


def calling_kitchen(now: datetime, plan: CallPlan = PEOPLE) -> KitchenGateway:
    """The base ages in the fridge; nothing has been called yet."""
    state = base_ageing()
    assert state.kitchen is not None
    kitchen = state.kitchen.model_copy(update={"calls": plan})
    return KitchenGateway(replace(state, kitchen=kitchen), now)


def tried(gateway: KitchenGateway, to: str, fault: CallFault | None = None, code: int | None = None) -> None:
    """A manager's test call, and how it ended."""
    made = CallMade(at=gateway.now, to=CalleeId(to), person=CrewId("manager"))
    gateway.happen(made)
    seq = gateway.state.seq
    if fault is None:
        gateway.happen(CallDelivered(call=seq, at=gateway.now, reached=("Phone",)))
    else:
        faults = (ChannelFault(channel="Phone", fault=fault, code=code),)
        gateway.happen(CallGaveUp(call=seq, at=gateway.now, faults=faults))


def warm_freezer(gateway: KitchenGateway, name: str = "Freezer") -> None:
    """A freezer is too warm, and nobody has seen it."""
    facts = AlarmFacts(
        kind=AlarmKind.STORE_WARM, priority=Priority.CRITICAL, missed=True, title=name, celsius=-9.0, limit_c=-15.0
    )
    alarm = AlarmId(f"store_warm:{name.lower()}")
    gateway.happen(AlarmRaised(alarm=alarm, at=gateway.now, facts=facts))


def without_address(gateway: KitchenGateway, *names: str) -> None:
    """No address was found under these names."""
    gateway.happen(ChannelsChecked(at=gateway.now, unset=names))
