"""Last instants on record: what they are of, what is news, and what alarms and screens say by them."""

from dataclasses import replace
from datetime import datetime
from typing import Any

from orchestrator.core.alarms import alarm_id, conditions
from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import AlarmRaised, InstantsFound, Recorded
from orchestrator.core.evolve import evolve
from orchestrator.core.found import latest_start
from orchestrator.core.ids import CommandId, EquipmentId, OrderId, TaskId
from orchestrator.core.latest import latest_that_keeps
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Priority
from orchestrator.core.models.questions import LatestReturn, LatestStart
from orchestrator.core.state import MachineStop, State
from orchestrator.core.views.task import task_view
from tests.core.script import Script, in_a_planned_kitchen
from tests.fakes.kitchens import at
from tests.fakes.plans import small_plan
from tests.fakes.states import base_ageing

CHURN, COOK = TaskId("B1.churn"), TaskId("C1.cook")


def start(task: TaskId, when: str | datetime, *, exact: bool = True) -> LatestStart:
    return LatestStart(task=task, at=at(when) if isinstance(when, str) else when, exact=exact)


def back(when: str | None, **of: Any) -> LatestReturn:
    return LatestReturn(equipment=EquipmentId("churn"), at=at(when) if when else None, **of)


def found(state: State, *what: LatestStart | LatestReturn, revision: int | None = None) -> State:
    event = InstantsFound(
        at=at("Wed 06:10"),
        revision=state.revision if revision is None else revision,
        starts=tuple(one for one in what if isinstance(one, LatestStart)),
        returns=tuple(one for one in what if isinstance(one, LatestReturn)),
    )
    return evolve(state, Recorded(seq=state.seq + 1, at=event.at, command_id=CommandId("found"), event=event))


def given(script: Script, when: str, *starts: LatestStart) -> list[InstantsFound]:
    events = script.give(when, "record_instants", revision=script.state.revision, starts=starts)
    return [event for event in events if isinstance(event, InstantsFound)]


def test_instants_go_on_record_once_and_again_when_they_say_something_new() -> None:
    script = in_a_planned_kitchen()
    first = start(COOK, "Wed 09:00")
    assert len(given(script, "Wed 06:30", first)) == 1
    assert latest_start(script.state, COOK) == first
    assert given(script, "Wed 06:40", first) == []
    assert given(script, "Wed 06:41", start(COOK, at("Wed 09:04"))) == []
    assert len(given(script, "Wed 06:42", start(COOK, at("Wed 09:05")))) == 1
    assert len(given(script, "Wed 06:43", start(COOK, at("Wed 09:04")))) == 1
    assert latest_start(script.state, COOK) == start(COOK, at("Wed 09:04"))


def test_instants_of_another_plan_are_refused_and_those_on_record_go_with_their_plan() -> None:
    script = in_a_planned_kitchen()
    given(script, "Wed 06:30", start(COOK, "Wed 09:00"))
    refusal = script.refused("Wed 06:31", "record_instants", revision=script.state.revision + 1)
    assert refusal.code is RefusalCode.STALE
    plan = small_plan(script.kitchen).model_copy(update={"made_at": at("Wed 06:32")})
    tasks = tuple(t.model_copy(update={"title": f"{t.title} again"}) for t in plan.tasks)
    adopted = {"kind": "plan_adopted", "plan": plan.model_copy(update={"tasks": tasks}), "at": at("Wed 06:32")}
    record = Recorded.model_validate(
        {"seq": script.state.seq + 1, "at": at("Wed 06:32"), "command_id": "x", "event": {**adopted, "person": None}}
    )
    assert evolve(script.state, record).instants is None
    assert found(script.state, start(COOK, "Wed 10:00"), revision=99).instants == script.state.instants


def test_instants_are_added_to_those_known_and_returns_not_looked_at_stay() -> None:
    state = found(base_ageing(), start(CHURN, "Fri 19:00"), back("Fri 18:00", order=OrderId("SUN-CAFE")))
    event = InstantsFound(at=at("Wed 06:20"), revision=state.revision, starts=(start(COOK, "Wed 09:00"),))
    after = evolve(state, Recorded(seq=state.seq + 1, at=event.at, command_id=CommandId("far"), event=event)).instants
    assert after is not None
    assert state.instants is not None
    assert after.starts == {CHURN: start(CHURN, "Fri 19:00"), COOK: start(COOK, "Wed 09:00")}
    assert after.returns == state.instants.returns


def test_latest_that_keeps_is_the_instant_found_while_it_is_ahead() -> None:
    state = base_ageing()
    now, until = at("Thu 09:00"), at("Sat 10:15")

    def keeps(live: Any) -> bool:
        return bool(live[CHURN].start <= until)

    assert latest_that_keeps(state, now, CHURN, keeps, until) == until
    state = found(state, start(CHURN, "Fri 19:00"))
    assert latest_that_keeps(state, now, CHURN, keeps, until) == at("Fri 19:00")
    # Past: that plan is no longer to be had; what a projection finds is.
    assert latest_that_keeps(state, at("Fri 19:01"), CHURN, keeps, until) == until


def test_stopped_machine_must_be_back_by_the_first_instant_after_which_something_is_lost() -> None:
    state = base_ageing()
    state = replace(state, machines={EquipmentId("churn"): MachineStop(at("Thu 07:00"), at("Thu 09:30"), "belt", None)})
    told = (
        back("Sat 06:00", order=OrderId("SAT-STALL")),
        back("Fri 18:00", order=OrderId("SUN-CAFE")),
        back(None, task=CHURN),
    )
    alarm = alarm_id(AlarmKind.MACHINE_STOPPED, "churn")
    assert conditions(found(state, *told), {}, at("Thu 07:00"))[alarm].save_by == at("Fri 18:00")
    assert conditions(found(state, back(None, task=CHURN)), {}, at("Thu 07:00"))[alarm].save_by is None


def test_instants_found_after_an_alarm_was_raised_are_written_into_it() -> None:
    facts = AlarmFacts(
        kind=AlarmKind.MACHINE_STOPPED,
        priority=Priority.WARNING,
        equipment=EquipmentId("churn"),
        save_by=at("Sat 10:15"),
    )
    alarm = alarm_id(AlarmKind.MACHINE_STOPPED, "churn")
    state = base_ageing()
    raised = AlarmRaised(alarm=alarm, at=at("Thu 07:00"), facts=facts)
    state = evolve(state, Recorded(seq=state.seq + 1, at=raised.at, command_id=CommandId("raised"), event=raised))
    after = found(state, back("Fri 18:00", order=OrderId("SUN-CAFE")))
    assert after.alarms[alarm].facts == facts.model_copy(update={"save_by": at("Fri 18:00")})
    assert found(state, start(CHURN, "Fri 19:00")).alarms == state.alarms


def test_task_shows_its_latest_start_while_it_waits() -> None:
    state = found(base_ageing(), start(CHURN, "Fri 19:00", exact=False), start(COOK, "Wed 09:00"))
    shown = task_view(state, {}, at("Thu 09:00"), CHURN)
    assert (shown.latest_start, shown.latest_is_exact) == (at("Fri 19:00"), False)
    assert task_view(state, {}, at("Thu 09:00"), COOK).latest_start is None
    assert task_view(base_ageing(), {}, at("Thu 09:00"), CHURN).latest_start is None
