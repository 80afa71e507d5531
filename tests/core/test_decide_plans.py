"""The import, plans offered and decided, lots, machines, facts, alarms seen, and what time alone brings."""

from datetime import datetime, timedelta
from typing import Any

import pytest

from orchestrator.core.due import next_due
from orchestrator.core.effects import AskForPlan
from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import (
    AlarmAcknowledged,
    KitchenImported,
    MachineReturned,
    MachineStopped,
    PlanAdopted,
    PlanDeclined,
    PlanProposed,
    ReplanWanted,
    StopAssumed,
)
from orchestrator.core.ids import AlarmId, CommandId, CrewId, EquipmentId, LotCode, TaskId
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.models import Move, Plan
from orchestrator.core.models.alarm import AlarmStatus
from orchestrator.core.planning import plan_request
from orchestrator.core.state import TaskStatus
from tests.core.script import Script, cook, in_a_planned_kitchen, with_base_aged, with_base_chilling
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

EARLY, MANAGER = CrewId("early-cook"), CrewId("manager")


def moved(plan: Plan, *tasks: str, minutes: int = 0, who: str = "", made: str = "Wed 06:00") -> Plan:
    """The plan with tasks moved, or done by somebody else."""
    shift = timedelta(minutes=minutes)

    def changed(task: Any) -> Any:
        spans = tuple(
            s.model_copy(update={"start": s.start + shift, "end": s.end + shift, "crew": (who,) if who else s.crew})
            for s in task.spans
        )
        return task.model_copy(update={"start": task.start + shift, "end": task.end + shift, "spans": spans})

    found = tuple(changed(t) if t.id in tasks else t for t in plan.tasks)
    return plan.model_copy(update={"tasks": found, "made_at": at(made)})


def handed_over(plan: Plan, minutes: int, made: str) -> Plan:
    """The sorbet tempered and handed over later."""
    plan = moved(plan, "SUN-CAFE.S.temper", "SUN-CAFE.S.hand-over", minutes=minutes, made=made)
    tasks = tuple(
        t.model_copy(update={"end": t.end + timedelta(minutes=minutes)}) if t.id == "S1.harden.SUN-CAFE" else t
        for t in plan.tasks
    )
    off = minutes - 10
    late = {
        "ready_at": at("Sun 14:50") + timedelta(minutes=minutes),
        "late_min": max(0, off),
        "margin_min": max(0, -off),
    }
    outlooks = tuple(o.model_copy(update=late) if o.order == "SUN-CAFE" else o for o in plan.outlooks)
    return plan.model_copy(update={"tasks": tasks, "outlooks": outlooks})


def offer(script: Script, when: str | datetime, plan: Plan, *, provisional: bool = False) -> Any:
    return script.give(when, "offer_plan", plan=plan, provisional=provisional)


def test_import_takes_the_kitchen_over_once_and_asks_for_a_plan() -> None:
    script = Script()
    events = script.give("Wed 06:00", "import_kitchen", kitchen=script.kitchen)
    assert events == (
        KitchenImported(kitchen=script.kitchen),
        ReplanWanted(at=at("Wed 06:00"), reason="first plan"),
    )
    assert script.last.effects == (AskForPlan("first plan"),)
    assert script.refused("Wed 06:01", "import_kitchen", kitchen=script.kitchen).code is RefusalCode.WRONG_STATE


def test_offer_first_plan_is_adopted_at_once() -> None:
    script = Script()
    script.give("Wed 06:00", "import_kitchen", kitchen=script.kitchen)
    plan = small_plan(script.kitchen)
    assert offer(script, "Wed 06:00", plan) == (PlanAdopted(plan=plan, at=at("Wed 06:00"), person=None),)
    assert (script.state.revision, script.state.replan_reason) == (1, "")


def test_offer_plan_that_breaks_a_rule_is_stale() -> None:
    script = in_a_planned_kitchen()
    broken = moved(small_plan(), "S1.simmer", minutes=60)
    refusal = script.refused("Wed 06:00", "offer_plan", plan=broken)
    assert refusal.code is RefusalCode.STALE
    assert refusal.status.startswith("S1.simmer ends Wed 25 Nov 12:00, S1.chill starts Wed 25 Nov 11:00")


def test_offer_same_placement_changes_nothing() -> None:
    script = in_a_planned_kitchen()
    assert offer(script, "Wed 06:00", small_plan().model_copy(update={"method": "constraint model"})) == ()


def without_sorbet(plan: Plan) -> Plan:
    """The plan when S1, simmered by then, finds no ice bath any more; its order is not met."""
    gone = {"S1", "SUN-CAFE"}
    tasks = tuple(t for t in plan.tasks if t.id == "S1.simmer" or (t.lot not in gone and t.order not in gone))
    unmet = {"met": False, "ready_at": None, "late_min": 0, "margin_min": 0, "reason": "no place for S1"}
    return plan.model_copy(
        update={
            "tasks": tasks,
            "made_at": at("Wed 11:01"),
            "pegs": tuple(p for p in plan.pegs if p.lot != "S1"),
            "outlooks": tuple(o.model_copy(update=unmet) if o.order == "SUN-CAFE" else o for o in plan.outlooks),
            "given_up": (LotCode("S1"),),
        }
    )


def test_offer_that_gives_a_lot_up_holds_it_only_when_the_full_plan_says_so_too() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    cook(script, "S1.simmer", "Wed 10:30", "Wed 11:00")
    script.give("Wed 11:01", "stop_machine", equipment="ice-bath", until=at("Sun 12:00"))
    plan = without_sorbet(small_plan())
    repaired = offer(script, "Wed 11:02", plan, provisional=True)
    assert [type(e) for e in repaired if isinstance(e, LotHeld)] == []
    held = [e.lot for e in offer(script, "Wed 11:03", plan) if isinstance(e, LotHeld)]
    assert held == ["S1"]
    assert offer(script, "Wed 11:04", plan) == ()


def test_offer_move_beyond_the_hour_is_adopted_and_shown() -> None:
    script = in_a_planned_kitchen()
    plan = moved(small_plan(), "S1.simmer", minutes=-10)
    move = Move(
        task=TaskId("S1.simmer"),
        title="Simmer damsons",
        before=at("Wed 10:30"),
        after=at("Wed 10:20"),
        what="earlier",
        reason="it makes room for what else has changed",
    )
    assert offer(script, "Wed 06:00", plan) == (PlanAdopted(plan=plan, at=at("Wed 06:00"), person=None, moves=(move,)),)
    assert script.state.moves == (move,)


def test_offer_move_within_the_hour_waits_for_a_person() -> None:
    script = in_a_planned_kitchen()
    plan = moved(small_plan(), "S1.simmer", minutes=-10, made="Wed 09:35")
    with_base_chilling(script)
    event = offer(script, "Wed 09:35", plan)[0]
    assert isinstance(event, PlanProposed)
    assert event.waits_for == ("Simmer damsons (S1.simmer) starts within the hour and would be moved",)
    assert event.decide_by == at("Wed 10:20")


def _with_other_hands(task: str) -> Any:
    """What an offer at 6:30 that gives a task to the manager leads to."""
    crew = [c.model_dump(mode="json") for c in small_kitchen().crew]
    crew[3]["skills"] = ["stove"]
    script = in_a_planned_kitchen(crew=crew)
    return offer(script, "Wed 06:30", moved(small_plan(), task, who="manager"))[0]


def test_offer_other_person_within_two_hours_waits_for_a_person() -> None:
    plan = moved(small_plan(), "S1.simmer", who="manager")
    unskilled = in_a_planned_kitchen().refused("Wed 06:00", "offer_plan", plan=plan)
    assert unskilled.code is RefusalCode.STALE
    event = _with_other_hands("C1.cook")  # at 8:00
    assert isinstance(event, PlanProposed)
    assert [why for why in event.waits_for if "other people" not in why] == []
    assert len(event.waits_for) == 1
    assert [move.what for move in event.moves] == ["other people"]


def test_offer_other_person_hours_ahead_is_adopted_and_shown() -> None:
    event = _with_other_hands("S1.simmer")  # at 10:30
    assert isinstance(event, PlanAdopted)
    assert [move.what for move in event.moves] == ["other people"]


def test_offer_newly_late_order_waits_and_provisional_does_not() -> None:
    script = in_a_planned_kitchen()
    late = handed_over(small_plan(), 25, "Wed 06:00")
    event = offer(script, "Wed 06:00", late)[0]
    assert isinstance(event, PlanProposed)
    assert event.waits_for == ("SUN-CAFE would be 15 min late",)
    adopted = offer(script, "Wed 06:01", late, provisional=True)[0]
    assert isinstance(adopted, PlanAdopted)
    assert adopted.provisional
    assert script.state.proposal is not None


def proposed() -> Script:
    script = in_a_planned_kitchen()
    offer(script, "Wed 06:00", handed_over(small_plan(), 25, "Wed 06:00"))
    assert script.state.proposal is not None
    return script


def test_decide_plan_adopts_by_a_named_person() -> None:
    script = proposed()
    number = script.state.proposal.seq if script.state.proposal else 0
    nobody = script.refused("Wed 06:05", "decide_plan", proposal=number, adopt=True)
    assert nobody.code is RefusalCode.NOT_ALLOWED
    event = script.give("Wed 06:05", "decide_plan", proposal=number, adopt=True, person=MANAGER)[0]
    assert isinstance(event, PlanAdopted)
    assert (event.person, script.state.revision, script.state.proposal) == (MANAGER, 2, None)


def test_decide_plan_declines_and_the_present_plan_stands() -> None:
    script = proposed()
    number = script.state.proposal.seq if script.state.proposal else 0
    assert script.refused("Wed 06:05", "decide_plan", proposal=99, adopt=True, person=MANAGER).code is RefusalCode.STALE
    events = script.give("Wed 06:05", "decide_plan", proposal=number, adopt=False, person=MANAGER)
    assert events == (PlanDeclined(proposal=number, at=at("Wed 06:05"), person=MANAGER),)
    assert (script.state.revision, script.state.proposal) == (1, None)


def test_tick_past_decide_by_declines_for_nobody() -> None:
    script = proposed()
    proposal = script.state.proposal
    assert proposal is not None
    assert script.give(proposal.decide_by - timedelta(seconds=1), "tick") == ()
    events = script.give(proposal.decide_by, "tick")
    assert events == (PlanDeclined(proposal=proposal.seq, at=proposal.decide_by, person=None),)


def test_offer_plan_made_before_a_start_is_rebased_on_it() -> None:
    script = in_a_planned_kitchen()
    plan = moved(small_plan(), "S1.simmer", minutes=-10, made="Wed 07:55")
    script.give("Wed 07:58", "start_task", task="C1.cook", person=EARLY)
    event = offer(script, "Wed 07:59", plan)[0]
    assert isinstance(event, PlanAdopted)
    assert event.plan.task(TaskId("C1.cook")).start == at("Wed 07:58")
    assert script.of("C1.cook").status is TaskStatus.IN_HAND


def test_adopted_plan_marks_stock_as_in_its_place() -> None:
    stay = small_plan().task(TaskId("S1.harden.SUN-CAFE"))
    hold = stay.model_copy(update={"id": TaskId("S0.hold.rest"), "links": (), "start": at("Wed 06:00")})
    plan = small_plan().model_copy(update={"tasks": (*small_plan().tasks, hold)})
    script = in_a_planned_kitchen(plan)
    assert script.of("S0.hold.rest").status is TaskStatus.IN_HAND
    assert script.of("S0.hold.rest").started_at == at("Wed 06:00")


@pytest.mark.parametrize("discarded", [False, True])
def test_adopted_plan_marks_a_new_share_of_a_lot_as_in_its_place_unless_the_lot_was_thrown_away(
    discarded: bool,
) -> None:
    script = with_base_aged(in_a_planned_kitchen())
    if discarded:
        script.give("Wed 11:00", "report_problem", task="C1.age.B1", what="quality", hold_lot=True, person=EARLY)
        script.give("Wed 11:01", "decide_lot", lot="C1", decision="discard", reason="sour", person=MANAGER)
    share = small_plan().task(TaskId("C1.age.B1")).model_copy(update={"id": TaskId("C1.age.B9")})
    plan = small_plan().model_copy(update={"tasks": (*small_plan().tasks, share)})
    script.record(CommandId("plan-2"), (PlanAdopted(plan=plan, at=at("Wed 11:02"), person=None),))
    found = script.of("C1.age.B9")
    begun = (TaskStatus.IN_HAND, at("Wed 10:15"))
    assert (found.status, found.started_at) == ((TaskStatus.WAITING, None) if discarded else begun)


def test_ask_replan_is_on_record_and_asked() -> None:
    script = in_a_planned_kitchen()
    events = script.give("Wed 07:00", "ask_replan", reason="van is early")
    assert events == (ReplanWanted(at=at("Wed 07:00"), reason="van is early"),)
    assert script.last.effects == (AskForPlan("van is early"),)


def test_machine_stopped_comes_back_by_itself_at_its_instant() -> None:
    script = in_a_planned_kitchen()
    events = script.give(
        "Wed 07:00", "stop_machine", equipment="churn", until=at("Wed 09:00"), reason="belt", person=EARLY
    )
    assert events == (
        MachineStopped(
            equipment=EquipmentId("churn"), at=at("Wed 07:00"), until=at("Wed 09:00"), reason="belt", person=EARLY
        ),
        ReplanWanted(at=at("Wed 07:00"), reason="churn stopped"),
    )
    assert script.give("Wed 08:59", "tick") == ()
    assert script.give("Wed 09:10", "tick") == (
        MachineReturned(equipment=EquipmentId("churn"), at=at("Wed 09:00"), person=None),
        ReplanWanted(at=at("Wed 09:10"), reason="churn is back"),
    )
    assert script.refused("Wed 09:11", "machine_back", equipment="churn").status == "not stopped"


@pytest.mark.parametrize(
    ("what", "code"),
    [
        ({"equipment": "mixer"}, RefusalCode.UNKNOWN),
        ({"equipment": "churn", "until": at("Wed 06:59")}, RefusalCode.BAD_VALUE),
    ],
)
def test_stop_machine_unknown_or_in_the_past_is_refused(what: dict[str, Any], code: RefusalCode) -> None:
    assert in_a_planned_kitchen().refused("Wed 07:00", "stop_machine", **what).code is code


def test_alarm_is_seen_by_a_named_person_once() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:11", "tick")
    alarm = next(iter(script.state.alarms))
    assert script.refused("Wed 08:12", "acknowledge_alarm", alarm=alarm).code is RefusalCode.NOT_ALLOWED
    outcome = script.try_("Wed 08:12", "acknowledge_alarm", alarm=alarm, person=EARLY)
    assert outcome == script.last
    assert script.last.events == (AlarmAcknowledged(alarm=alarm, at=at("Wed 08:12"), person=EARLY),)
    assert script.state.alarms[alarm].status is AlarmStatus.ACKNOWLEDGED
    again = script.refused("Wed 08:13", "acknowledge_alarm", alarm=alarm, person=EARLY)
    assert again.code is RefusalCode.WRONG_STATE
    unknown = script.refused("Wed 08:13", "acknowledge_alarm", alarm="order_late:X", person=EARLY)
    assert unknown.code is RefusalCode.UNKNOWN


def test_warning_that_the_live_plan_runs_into_a_miss_asks_for_a_plan_once() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    asked = [script.give(at("Fri 12:00") + timedelta(hours=hours), "tick") for hours in range(22)]
    wanted = [event for events in asked for event in events]
    assert [(type(event), event.reason) for event in wanted if isinstance(event, ReplanWanted)] == [
        (ReplanWanted, "B1.churn would be late")
    ]


def test_warning_that_asks_for_a_plan_has_the_effect_of_asking() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.give("Sat 10:15", "tick")
    assert script.last.effects == (AskForPlan("B1.churn would be late"),)


def test_full_plan_that_saves_an_order_which_the_repair_just_gave_up_is_adopted_at_once() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 07:30", "ask_replan", reason="drift")
    late = handed_over(small_plan(), 25, "Wed 07:30")
    assert isinstance(offer(script, "Wed 07:30", late, provisional=True)[0], PlanAdopted)
    saved = moved(small_plan(), "C1.cook", minutes=-6, made="Wed 07:30")
    event = offer(script, "Wed 07:31", saved)[0]
    assert isinstance(event, PlanAdopted)
    assert not event.provisional


def test_full_plan_that_saves_an_order_hours_after_the_repair_waits_before_it_moves_people() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 07:00", "ask_replan", reason="drift")
    offer(script, "Wed 07:00", handed_over(small_plan(), 25, "Wed 07:00"), provisional=True)
    saved = moved(small_plan(), "C1.cook", minutes=-6, made="Wed 07:30")
    event = offer(script, "Wed 07:30", saved)[0]
    assert isinstance(event, PlanProposed)
    assert event.waits_for == ("Cook the custard base (C1.cook) starts within the hour and would be moved",)


def test_warning_soon_after_a_plan_was_adopted_does_not_ask_for_another() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    assert script.state.plan is not None
    script.now = at("Sat 10:00")
    script.record(CommandId("again"), (PlanAdopted(plan=script.state.plan, at=script.now, person=None),))
    assert script.give("Sat 10:15", "tick") == ()


def test_full_plan_that_comes_to_the_same_as_the_repair_brings_its_chances_and_moves_nothing() -> None:
    script = in_a_planned_kitchen()
    offer(script, "Wed 06:00", moved(small_plan(), "S1.simmer", minutes=-10), provisional=True)
    moves = script.state.moves
    assert moves
    repaired = script.state.plan
    assert repaired is not None
    first = repaired.outlooks[0].model_copy(update={"chance": 0.9})
    told = repaired.model_copy(update={"outlooks": (first, *repaired.outlooks[1:]), "simulated_runs": 2000})
    (event,) = offer(script, "Wed 06:01", told)
    assert isinstance(event, PlanAdopted)
    assert (event.plan.outlooks[0].chance, event.moves, event.provisional) == (0.9, moves, False)
    # Once they are told, the same plan again changes nothing.
    assert offer(script, "Wed 06:02", told) == ()


def test_machine_stopped_without_a_known_end_is_asked_about_again_when_it_was_taken_to_be_back() -> None:
    script = in_a_planned_kitchen()
    churn = EquipmentId("churn")
    script.give("Wed 07:00", "stop_machine", equipment=churn, reason="belt", person=EARLY)
    assert script.state.machines[churn].assumed == at("Wed 09:00")
    assert script.give("Wed 08:59", "tick") == ()
    assert plan_request(script.state, at("Wed 08:00")).stops[0].end == at("Wed 09:00")
    due = next_due(script.state, at("Wed 08:59"))
    assert due is not None
    assert due <= at("Wed 09:00")
    assert script.give("Wed 09:00", "tick") == (
        StopAssumed(equipment=churn, at=at("Wed 09:00"), until=at("Wed 11:00")),
        ReplanWanted(at=at("Wed 09:00"), reason="churn was taken to be back by now; nobody has said"),
    )
    assert script.last.effects == (AskForPlan("churn was taken to be back by now; nobody has said"),)
    assert plan_request(script.state, at("Wed 09:00")).stops[0].end == at("Wed 11:00")
    alarm = script.state.alarms[AlarmId("machine_stopped:churn")].facts
    assert (alarm.expected_at, alarm.assumed) == (at("Wed 11:00"), True)
    script.give("Wed 09:10", "stop_machine", equipment=churn, until=at("Wed 10:00"), person=EARLY)
    assert script.state.machines[churn].assumed is None
    assert [e.kind for e in script.give("Wed 10:00", "tick")][:1] == ["machine_returned"]
