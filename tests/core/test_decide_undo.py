"""Taking back acts: what goes back with them, and what forbids it."""

import pytest

from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import ActUndone, PlanAdopted, ReplanWanted, TaskFinished, TaskStarted
from orchestrator.core.ids import CommandId, CrewId, LotCode, TaskId
from orchestrator.core.state import LotStatus, TaskRecord, TaskStatus
from tests.core.script import Script, at_target, cook, in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchens import at

EARLY, MANAGER = CrewId("early-cook"), CrewId("manager")


def last_act(script: Script) -> int:
    return script.state.acts[-1].seq


def test_undo_a_start_makes_the_task_wait_again() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook", person=EARLY)
    act = last_act(script)
    events = script.give("Wed 08:01", "undo", act=act, person=EARLY)
    assert events == (
        ActUndone(act=act, at=at("Wed 08:01"), person=EARLY),
        ReplanWanted(at=at("Wed 08:01"), reason="an act on C1.cook was taken back"),
    )
    assert script.of("C1.cook") == TaskRecord()
    assert script.state.acts == ()


def test_undo_needs_a_person() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook")
    assert script.refused("Wed 08:01", "undo", act=last_act(script)).code is RefusalCode.NOT_ALLOWED


def test_undo_a_start_brings_the_stay_back_that_it_ended() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    stay = script.of("C1.age.B1")
    script.give("Thu 09:00", "start_task", task="B1.churn", person=EARLY)
    assert script.of("C1.age.B1").status is TaskStatus.DONE
    script.give("Thu 09:02", "undo", act=last_act(script), person=EARLY)
    assert script.of("C1.age.B1") == stay
    assert script.of("B1.churn").status is TaskStatus.WAITING


def test_undo_a_finish_takes_the_stay_back_that_it_began_and_the_hold() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook", person=EARLY)
    at_target(script, "C1.cook", "hob-1-core", "hob-1", 83)
    script.give("Wed 08:40", "finish_task", task="C1.cook", person=EARLY)
    script.give("Wed 08:45", "start_task", task="C1.chill", person=EARLY)
    script.give("Wed 10:15", "finish_task", task="C1.chill", person=EARLY, override_reason="no probe")
    assert script.state.lots[LotCode("C1")].status is LotStatus.ON_HOLD
    assert script.of("C1.age.B1").status is TaskStatus.IN_HAND
    script.give("Wed 10:16", "undo", act=last_act(script), person=EARLY)
    assert script.state.lots == {}
    assert script.of("C1.age.B1").status is TaskStatus.WAITING
    assert script.of("C1.chill").status is TaskStatus.IN_HAND


def test_undo_after_a_new_plan_divided_the_lot_anew_takes_every_share_back() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook", person=EARLY)
    at_target(script, "C1.cook", "hob-1-core", "hob-1", 83)
    script.give("Wed 08:40", "finish_task", task="C1.cook", person=EARLY)
    script.give("Wed 08:45", "skip_task", task="C1.chill", person=EARLY, reason="ice is out")
    skipped = last_act(script)
    plan = script.state.plan
    assert plan is not None
    rest = plan.task(TaskId("C1.age.B1")).model_copy(update={"id": TaskId("C1.age.rest")})
    divided = plan.model_copy(update={"tasks": (*plan.tasks, rest)})
    script.record(CommandId("again"), (PlanAdopted(plan=divided, at=script.now, person=None),))
    assert script.of("C1.age.rest").status is TaskStatus.IN_HAND  # nobody tapped that: the plan divides what is there
    script.give("Wed 08:46", "undo", act=skipped, person=EARLY)
    assert script.of("C1.chill").status is TaskStatus.WAITING
    assert {script.of(f"C1.age.{share}").status for share in ("B1", "rest")} == {TaskStatus.WAITING}
    assert script.state.lots == {}


def test_undo_after_half_an_hour_is_refused() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook")
    refusal = script.refused("Wed 08:31", "undo", act=last_act(script), person=EARLY)
    assert refusal.remedy == "only acts of the last 30 min can be taken back"
    script.give("Wed 08:30", "undo", act=last_act(script), person=EARLY)


@pytest.mark.parametrize("act", [0, 1, 99])
def test_undo_what_is_no_act_is_refused(act: int) -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook")
    assert script.refused("Wed 08:01", "undo", act=act, person=EARLY).code is RefusalCode.WRONG_STATE


def test_undo_what_a_later_act_rests_on_is_refused_until_that_is_taken_back() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 10:30", "start_task", task="S1.simmer", person=EARLY)
    started = last_act(script)
    script.give("Wed 10:50", "finish_task", task="S1.simmer", person=EARLY)
    finished = last_act(script)
    script.give("Wed 10:52", "start_task", task="S1.chill", person=EARLY)
    chilling = last_act(script)
    assert (
        script.refused("Wed 10:53", "undo", act=started, person=EARLY).status == "S1.simmer has a later entry: finished"
    )
    assert script.refused("Wed 10:53", "undo", act=finished, person=EARLY).status == "S1.chill has begun since"
    for act in (chilling, finished, started):
        script.give("Wed 10:54", "undo", act=act, person=EARLY)
    assert script.of("S1.simmer") == TaskRecord()


def test_undo_a_finish_whose_machine_holds_another_task_is_refused() -> None:
    script = in_a_planned_kitchen()
    cook(script, "S1.simmer", "Wed 08:00", "Wed 08:25")
    finished = last_act(script)
    script.give("Wed 08:26", "start_task", task="C1.cook", person=EARLY)
    refusal = script.refused("Wed 08:27", "undo", act=finished, person=EARLY)
    assert refusal.status == "C1.cook is on hob-1 by now"


def test_undo_after_somebody_decided_about_the_lot_is_refused() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 10:30", "start_task", task="S1.simmer", person=EARLY)
    script.give("Wed 10:40", "report_problem", task="S1.simmer", what="quality", hold_lot=True, person=EARLY)
    reported = last_act(script)
    script.give("Wed 10:45", "decide_lot", lot="S1", decision="release", reason="tastes good", person=MANAGER)
    refusal = script.refused("Wed 10:46", "undo", act=reported, person=EARLY)
    assert refusal.status == "lot S1 was decided about since"


def test_undo_twice_is_refused() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook")
    act = last_act(script)
    script.give("Wed 08:01", "undo", act=act, person=EARLY)
    assert script.refused("Wed 08:02", "undo", act=act, person=EARLY).code is RefusalCode.WRONG_STATE


def test_undo_of_a_command_that_changed_a_task_twice_goes_back_to_before_it() -> None:
    script = in_a_planned_kitchen()
    both = (
        TaskStarted(task=TaskId("C1.cook"), at=script.now, person=EARLY, equipment=None),
        TaskFinished(task=TaskId("C1.cook"), at=script.now, person=EARLY),
    )
    script.record(CommandId("both"), both)
    script.give("Wed 06:01", "undo", act=last_act(script), person=EARLY)
    assert script.of("C1.cook") == TaskRecord()
