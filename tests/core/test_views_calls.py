"""Who would be called tonight, by what is known of the channels; what stands meanwhile; and when it is said."""

from datetime import timedelta

import pytest

from orchestrator.core.call_events import CallGaveUp
from orchestrator.core.calls import due_calls
from orchestrator.core.models.calls import CallFault, CallPlan, ChannelFault
from orchestrator.core.views import calls_view, tonight_view
from orchestrator.core.views.calls import CallsView, Reach, StandsView, TonightView, Verdict
from tests.fakes.call_house import call_plan, callee
from tests.fakes.call_states import calling_kitchen, tried, warm_freezer, without_address
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at


def tonight(gateway: KitchenGateway) -> TonightView:
    return tonight_view(gateway.state, gateway.facts, gateway.now)


def view(gateway: KitchenGateway) -> CallsView:
    return calls_view(gateway.state, gateway.facts, gateway.now)


@pytest.mark.parametrize(
    ("when", "say"),
    [("Thu 19:59", False), ("Thu 20:00", True), ("Thu 23:00", True), ("Fri 05:59", True), ("Fri 06:00", False)],
)
def test_nobody_on_the_list_is_said_from_an_hour_before_the_last_leave_until_somebody_comes(
    when: str, say: bool
) -> None:
    found = tonight(calling_kitchen(at(when), CallPlan()))
    assert (found.verdict, found.empty_list, found.say) == (Verdict.NOBODY, True, say)


def test_what_stands_in_the_cold_meanwhile_is_named_by_place() -> None:
    found = tonight(calling_kitchen(at("Wed 20:30")))
    assert (found.start, found.end) == (at("Wed 21:00"), at("Thu 06:00"))
    assert found.stands == (StandsView(equipment="fridge", name="Fridge", lots=("C1", "S1"), litres=10.0),)


def test_channel_counts_once_it_has_reached_somebody_and_no_longer_once_it_fails() -> None:
    gateway = calling_kitchen(at("Wed 20:30"))
    assert (tonight(gateway).verdict, tonight(gateway).say) == (Verdict.UNSURE, True)
    tried(gateway, "role:Owner")
    assert (tonight(gateway).verdict, tonight(gateway).reached) == (Verdict.SOMEBODY, ("role:Owner",))
    assert not tonight(gateway).say
    tried(gateway, "role:Owner", CallFault.REFUSED, 401)
    assert tonight(gateway).verdict is Verdict.UNSURE
    tried(gateway, "manager", CallFault.NO_ANSWER)
    tried(gateway, "late-cook", CallFault.NO_ANSWER)
    assert (tonight(gateway).verdict, tonight(gateway).empty_list) == (Verdict.NOBODY, False)


def test_channel_that_reached_somebody_long_ago_counts_as_untried() -> None:
    gateway = calling_kitchen(at("Wed 20:30"))
    tried(gateway, "role:Owner")
    gateway.now += timedelta(days=30)
    assert view(gateway).people[1].reach is Reach.REACHED
    gateway.now += timedelta(seconds=1)
    assert view(gateway).people[1].reach is Reach.UNTRIED


def test_practice_and_calls_no_longer_needed_say_nothing_of_a_channel() -> None:
    gateway = calling_kitchen(at("Wed 20:30"))
    for fault in (CallFault.PRACTICE, CallFault.OVER):
        tried(gateway, "role:Owner", fault)
    assert view(gateway).people[1].reach is Reach.UNTRIED


def test_channel_without_address_reaches_nobody() -> None:
    gateway = calling_kitchen(at("Wed 20:30"), call_plan(callee("Owner")))
    tried(gateway, "role:Owner")
    without_address(gateway, "CALL_OWNER")
    found = view(gateway)
    assert found.tonight.verdict is Verdict.NOBODY
    (channel,) = found.people[0].channels
    assert (channel.reach, channel.secret) == (Reach.UNSET, "CALL_OWNER")


def test_until_when_only_what_is_critical_calls_is_the_first_end_of_all_quiet_hours() -> None:
    quiet = call_plan(callee("manager", ("22:00", "06:00")), callee("Owner", ("21:00", "05:00")))
    gateway = calling_kitchen(at("Wed 22:30"), quiet)
    tried(gateway, "manager")
    assert tonight(gateway).others_quiet_until == at("Thu 06:00")  # the owner is not known to be reached
    tried(gateway, "role:Owner")
    assert tonight(gateway).others_quiet_until == at("Thu 05:00")
    gateway.now = at("Wed 21:30")
    assert tonight(gateway).others_quiet_until is None


def test_call_that_reached_nobody_is_said_by_day_too_until_the_alarm_is_seen() -> None:
    gateway = calling_kitchen(at("Thu 10:00"))
    tried(gateway, "role:Owner")
    warm_freezer(gateway)
    gateway.now += timedelta(minutes=5)
    gateway.happen(*due_calls(gateway.state, gateway.now))
    fault = ChannelFault(channel="Phone", fault=CallFault.REFUSED, code=503)
    gateway.happen(CallGaveUp(call=gateway.state.seq, at=gateway.now, faults=(fault,)))
    assert [(call.to, call.faults) for call in tonight(gateway).unreached] == [("manager", (fault,))]
    assert tonight(gateway).say
    (turn,) = view(gateway).turns
    assert (turn.to, turn.at, turn.held_back) == ("role:Owner", gateway.now, False)


def test_kitchen_that_is_not_there_has_no_view() -> None:
    from orchestrator.core.state import State

    with pytest.raises(KeyError, match="kitchen"):
        calls_view(State(), {}, at("Wed 06:00"))
