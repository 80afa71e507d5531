"""Evolving: total over all events, never touching the state before."""

from typing import get_args

import pytest

from orchestrator.core.events import EVENTS, AlarmRaised, Event, PlanProposed, Recorded, ReplanWanted
from orchestrator.core.evolve import evolve
from orchestrator.core.evolve.tasks import MOST_ACTS
from orchestrator.core.ids import AlarmId, CommandId
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, AlarmStatus, Priority
from orchestrator.core.seen import MOST_SEEN
from orchestrator.core.state import State
from tests.core.all_events import ALL_EVENTS
from tests.core.script import in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchens import at
from tests.fakes.plans import small_plan


def recorded(state: State, event: Event, command: str = "c") -> Recorded:
    return Recorded(seq=state.seq + 1, at=at("Wed 07:00"), command_id=CommandId(command), event=event)


def test_all_events_are_in_the_list_of_examples() -> None:
    kinds = set(get_args(get_args(Event)[0]))
    assert {type(event) for event in ALL_EVENTS} == kinds


@pytest.mark.parametrize("event", ALL_EVENTS, ids=lambda event: event.kind)
def test_evolve_any_event_from_nothing_and_from_a_day_counts_it(event: Event) -> None:
    for state in (State(), with_base_aged(in_a_planned_kitchen()).state):
        after = evolve(state, recorded(state, event, "any"))
        assert after.seq == state.seq + 1
        assert after.seen["any"] == after.seq


@pytest.mark.parametrize("event", ALL_EVENTS, ids=lambda event: event.kind)
def test_evolve_leaves_the_state_before_as_it_was(event: Event) -> None:
    script = with_base_aged(in_a_planned_kitchen())
    state = script.state
    copies = {name: dict(getattr(state, name)) for name in ("tasks", "lots", "machines", "alarms", "facts", "seen")}
    evolve(state, recorded(state, event))
    assert {name: dict(getattr(state, name)) for name in copies} == copies


@pytest.mark.parametrize("seq", [0, 2, 3])
def test_evolve_with_a_gap_or_a_repeat_raises(seq: int) -> None:
    event = Recorded(
        seq=seq, at=at("Wed 07:00"), command_id=CommandId("c"), event=ReplanWanted(at=at("Wed 07:00"), reason="x")
    )
    with pytest.raises(ValueError, match="a gap or a repeat"):
        evolve(State(), event)


def test_seen_keeps_the_newest_commands_only() -> None:
    state = State()
    for number in range(MOST_SEEN + 3):
        state = evolve(state, recorded(state, ReplanWanted(at=at("Wed 07:00"), reason="x"), f"c{number}"))
    assert len(state.seen) == MOST_SEEN
    assert "c2" not in state.seen
    assert state.seen["c3"] == 4


def test_acts_keep_the_newest_only() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook")
    for number in range(MOST_ACTS):
        script.give("Wed 08:01", "enter_temperature", task="C1.cook", celsius=20 + number / 2)
    assert len(script.state.acts) == MOST_ACTS
    assert {act.what for act in script.state.acts} == {"temperature"}


def test_act_of_one_command_holds_all_that_it_changed() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.give("Thu 09:00", "start_task", task="B1.churn")
    act = script.state.acts[-1]
    assert (act.what, act.task, set(act.before)) == ("started", "B1.churn", {"B1.churn", "C1.age.B1"})


def test_plan_adopted_keeps_records_and_clears_the_wish_and_the_proposal() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    plan = small_plan()
    proposed = PlanProposed(plan=plan, at=script.now, moves=(), waits_for=("x",), decide_by=at("Wed 12:00"))
    script.record(CommandId("p"), (proposed, ReplanWanted(at=script.now, reason="later")))
    tasks = script.state.tasks
    adopted = next(event for event in ALL_EVENTS if event.kind == "plan_adopted")
    script.record(CommandId("q"), (adopted.model_copy(update={"plan": plan}),))
    assert script.state.tasks == tasks
    assert (script.state.proposal, script.state.replan_reason, script.state.revision) == (None, "", 2)


def alarm_script(*kinds: str) -> State:
    """The alarm after these events, in this order."""
    state = State()
    by_kind = {event.kind: event for event in ALL_EVENTS}
    for kind in kinds:
        state = evolve(state, recorded(state, by_kind[f"alarm_{kind}"]))
    return state


@pytest.mark.parametrize(
    ("kinds", "status"),
    [
        # The states of ANSI/ISA-18.2; 'normal' is having no record (from memory).
        (("raised",), AlarmStatus.UNACKNOWLEDGED),
        (("raised", "acknowledged"), AlarmStatus.ACKNOWLEDGED),
        (("raised", "acknowledged", "escalated"), AlarmStatus.UNACKNOWLEDGED),
        (("raised", "returned"), AlarmStatus.RETURNED_UNACKNOWLEDGED),
        (("raised", "returned", "acknowledged"), None),
        (("raised", "acknowledged", "returned"), None),
        (("raised", "returned", "raised"), AlarmStatus.UNACKNOWLEDGED),
    ],
)
def test_alarm_life_after_isa_18_2(kinds: tuple[str, ...], status: AlarmStatus | None) -> None:
    alarm = alarm_script(*kinds).alarms.get(AlarmId("order_late:SAT-STALL"))
    assert (alarm.status if alarm else None) == status


def test_alarm_escalated_keeps_when_it_was_raised() -> None:
    facts = AlarmFacts(kind=AlarmKind.ORDER_LATE, priority=Priority.WARNING)
    state = State()
    raised = AlarmRaised(alarm=AlarmId("order_late:SAT-STALL"), at=at("Wed 06:10"), facts=facts)
    state = evolve(state, recorded(state, raised))
    escalated = next(event for event in ALL_EVENTS if event.kind == "alarm_escalated")
    alarm = evolve(state, recorded(state, escalated)).alarms[AlarmId("order_late:SAT-STALL")]
    assert (alarm.raised_at, alarm.escalated_at) == (at("Wed 06:10"), escalated.at)


def test_replay_of_the_log_through_json_gives_the_same_state() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    state = State()
    for record in script.log:
        state = evolve(state, Recorded.model_validate_json(record.model_dump_json()))
    assert state == script.state
    assert EVENTS.validate_json(EVENTS.dump_json(script.log[-1].event)) == script.log[-1].event
