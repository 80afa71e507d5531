"""Starting, finishing, skipping and telling: given a kitchen, when a command comes, then these events."""

from datetime import timedelta

import pytest

from orchestrator.core.effects import AskForPlan
from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import (
    GateEvidence,
    ProblemReported,
    ReplanWanted,
    TaskExtended,
    TaskFinished,
    TaskSkipped,
    TaskStarted,
    TemperatureEntered,
    TrayFinished,
)
from orchestrator.core.ids import CrewId, EquipmentId, LotCode, TaskId
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.state import TaskStatus
from tests.core.script import Script, at_target, cook, in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchens import at

EARLY = CrewId("early-cook")
COOK, CHILL, AGE = TaskId("C1.cook"), TaskId("C1.chill"), TaskId("C1.age.B1")
CHURN, HARDEN = TaskId("B1.churn"), TaskId("B1.harden.SAT-STALL")


def test_start_first_task_of_the_plan_is_started_on_its_machine() -> None:
    script = in_a_planned_kitchen()
    events = script.give("Wed 08:00", "start_task", task=COOK, person=EARLY)
    assert events == (TaskStarted(task=COOK, at=at("Wed 08:00"), person=EARLY, equipment=EquipmentId("hob-1")),)
    assert script.of(COOK).status is TaskStatus.IN_HAND
    assert script.last.effects == ()


def test_start_without_a_plan_is_refused() -> None:
    script = in_a_planned_kitchen()
    assert script.refused("Wed 08:00", "start_task", task="C9.cook").code is RefusalCode.UNKNOWN


@pytest.mark.parametrize(
    ("task", "says", "remedy"),
    [
        (
            CHILL,
            "its turn has not come: Cook the custard base (C1.cook) is waiting",
            "finish Cook the custard base (C1.cook) first",
        ),
        (
            CHURN,
            "its turn has not come: Age the custard base (C1.age.B1) is waiting",
            "finish Chill the custard base (C1.chill) first",
        ),
        (AGE, "a stay begins by itself", "finish the task before it: the stay begins at that instant"),
    ],
)
def test_start_out_of_turn_is_refused_and_names_what_can_be_done_first(task: str, says: str, remedy: str) -> None:
    refusal = in_a_planned_kitchen().refused("Wed 08:00", "start_task", task=task)
    assert (refusal.code, refusal.status, refusal.remedy) == (RefusalCode.WRONG_STATE, says, remedy)


def test_start_twice_is_refused_and_names_the_status() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task=COOK)
    refusal = script.refused("Wed 08:01", "start_task", task=COOK)
    assert (refusal.code, refusal.thing, refusal.status) == (RefusalCode.WRONG_STATE, "C1.cook", "in hand")


def test_start_on_a_machine_in_use_is_refused() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task=COOK)
    refusal = script.refused("Wed 08:10", "start_task", task="S1.simmer")
    assert refusal.status == "Hob 1 is taken by Cook the custard base (C1.cook)"


def test_start_on_a_machine_of_another_kind_is_refused() -> None:
    refusal = in_a_planned_kitchen().refused("Wed 08:00", "start_task", task=COOK, equipment="ice-bath")
    assert (refusal.code, refusal.remedy) == (RefusalCode.BAD_VALUE, "a machine of the kind hob")


def test_start_on_a_stopped_machine_is_refused_until_it_is_back() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 07:00", "stop_machine", equipment="hob-1", until=at("Wed 09:00"))
    assert script.refused("Wed 08:00", "start_task", task=COOK).status == "Hob 1 is stopped until Wed 09:00"
    script.give("Wed 08:10", "machine_back", equipment="hob-1")
    script.give("Wed 08:11", "start_task", task=COOK)


def test_start_of_a_consumer_ends_the_stay_at_the_same_instant() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    events = script.give("Thu 09:00", "start_task", task=CHURN, person=EARLY)
    evidence = GateEvidence(says="Base at most 4 °C", met=True, celsius=3.2, measured_at=at("Wed 10:15"))
    assert events == (
        TaskStarted(task=CHURN, at=at("Thu 09:00"), person=EARLY, equipment=EquipmentId("churn"), gates=(evidence,)),
        TaskFinished(task=AGE, at=at("Thu 09:00"), person=EARLY),
    )


def test_start_before_a_safety_window_opens_is_refused_even_with_a_reason() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    refusal = script.refused("Wed 18:00", "start_task", task=CHURN, person=EARLY, override_reason="in a hurry")
    assert (refusal.code, refusal.status) == (RefusalCode.WRONG_STATE, "its window opens Wed 22:15")


def sorbet_resting(**probe: float) -> Script:
    script = in_a_planned_kitchen()
    cook(script, "S1.simmer", "Wed 10:30", "Wed 11:00")
    script.give("Wed 11:00", "start_task", task="S1.chill", person=EARLY)
    at_target(script, "S1.chill", "ice-bath-core", "ice-bath", 4)
    script.give("Wed 12:00", "finish_task", task="S1.chill", person=EARLY)
    if probe:
        script.reads("fridge-air", "fridge", measured_at=script.now, **probe)
    return script


def test_start_before_a_quality_window_opens_needs_a_person_and_a_reason() -> None:
    script = sorbet_resting(celsius=3.0)
    early = script.refused("Wed 15:00", "start_task", task="S1.churn", person="late-cook")
    assert (early.code, early.status) == (RefusalCode.NOT_ALLOWED, "its window opens Wed 16:00")
    nobody = script.refused("Wed 15:00", "start_task", task="S1.churn", override_reason="churn free now")
    assert nobody.code is RefusalCode.NOT_ALLOWED
    events = script.give(
        "Wed 15:00", "start_task", task="S1.churn", person="late-cook", override_reason="churn free now"
    )
    assert events[0].override_reason == "churn free now"


def test_start_with_a_quality_gate_shut_needs_a_person_and_a_reason() -> None:
    script = sorbet_resting(celsius=4.6)
    refusal = script.refused("Wed 16:00", "start_task", task="S1.churn", person="late-cook")
    assert (refusal.code, refusal.status) == (RefusalCode.GATE_SHUT, "Base at most 4 °C: 4.6 °C")
    script.give("Wed 16:00", "start_task", task="S1.churn", person="late-cook", override_reason="only the air is warm")


def test_start_with_a_safety_gate_shut_is_refused_even_with_a_reason() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.reads("fridge-air", "fridge", celsius=6.1, measured_at=at("Thu 08:59"))
    refusal = script.refused("Thu 09:00", "start_task", task=CHURN, person=EARLY, override_reason="must go on")
    assert (refusal.code, refusal.remedy) == (
        RefusalCode.GATE_SHUT,
        "measure the food by hand, or wait until the gate is met: a safety step may not start before",
    )


def test_start_with_no_reading_is_opened_by_a_measurement_by_hand() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.reads("fridge-air", "fridge", celsius=3.0, silent_since=at("Thu 08:50"))
    refusal = script.refused("Thu 09:00", "start_task", task=CHURN, person=EARLY)
    assert refusal.status == "Base at most 4 °C: no reading"
    script.give("Thu 09:00", "enter_temperature", task=CHURN, celsius=3.4, person=EARLY)
    assert script.refused("Thu 09:16", "start_task", task=CHURN, person=EARLY).status.endswith("no reading")
    events = script.give("Thu 09:15", "start_task", task=CHURN, person=EARLY)
    assert events[0].gates == (
        GateEvidence(says="Base at most 4 °C", met=True, celsius=3.4, measured_at=at("Thu 09:00")),
    )


def test_start_with_no_reading_may_be_confirmed_by_a_named_person() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.facts = {}
    script.give("Thu 09:00", "start_task", task=CHURN, person=EARLY, override_reason="felt cold, probe is out")
    assert script.of(CHURN).gates == (GateEvidence(says="Base at most 4 °C", met=None),)


def test_start_with_no_reading_and_a_gate_looked_at_needs_a_name_and_no_reason() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.facts = {}
    looked = {"task": CHURN, "checked": ["Base at most 4 °C"]}
    assert script.refused("Thu 09:00", "start_task", **looked).code is RefusalCode.NOT_ALLOWED
    script.give("Thu 09:00", "start_task", person=EARLY, **looked)
    assert script.of(CHURN).gates == (GateEvidence(says="Base at most 4 °C", met=True, checked=True),)


def test_start_with_a_gate_looked_at_never_overrules_a_reading() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.reads("fridge-air", "fridge", celsius=6.1, measured_at=at("Thu 08:59"))
    refusal = script.refused("Thu 09:00", "start_task", task=CHURN, person=EARLY, checked=["Base at most 4 °C"])
    assert (refusal.code, refusal.status) == (RefusalCode.GATE_SHUT, "Base at most 4 °C: 6.1 °C")


def test_start_of_a_run_on_an_unclean_machine_is_refused() -> None:
    script = with_base_aged(sorbet_resting(celsius=3.0))
    cook(script, CHURN, "Thu 09:00", "Thu 09:30", measured={"volume_l": 4.7})
    refusal = script.refused("Thu 09:40", "start_task", task="S1.churn", person=EARLY)
    assert (refusal.code, refusal.status) == (
        RefusalCode.GATE_SHUT,
        "Churn is not clean after Churn basil custard (egg, milk was in it)",
    )
    cook(script, "churn.clean.S1", "Thu 09:40", "Thu 10:00")
    script.give("Thu 10:00", "start_task", task="S1.churn", person=EARLY)


def test_start_after_a_clean_down_under_a_standing_clock_is_taken() -> None:
    script = with_base_aged(sorbet_resting(celsius=3.0))
    cook(script, CHURN, "Thu 09:00", "Thu 09:30", measured={"volume_l": 4.7})
    cook(script, "churn.clean.S1", "Thu 09:30", "Thu 09:30")
    events = script.give("Thu 09:30", "start_task", task="S1.churn", person=EARLY)
    assert (events[0].kind, events[0].task) == ("task_started", "S1.churn")


def test_start_by_somebody_unknown_is_refused() -> None:
    refusal = in_a_planned_kitchen().refused("Wed 08:00", "start_task", task=COOK, person="night-cook")
    assert (refusal.code, refusal.thing) == (RefusalCode.UNKNOWN, "night-cook")


def test_tapped_earlier_is_when_it_was_done() -> None:
    script = in_a_planned_kitchen()
    events = script.give("Wed 09:30", "start_task", task=COOK, tapped_at=at("Wed 08:02"))
    assert events[0].at == at("Wed 08:02")


@pytest.mark.parametrize(("tapped", "says"), [("Wed 08:03", "lies in the future"), ("Tue", "is more than 12 h old")])
def test_tapped_in_the_future_or_too_long_ago_is_refused(tapped: str, says: str) -> None:
    script = in_a_planned_kitchen()
    when = at("Wed 08:03") if tapped != "Tue" else at("Wed 08:00") - (at("Thu 00:01") - at("Wed 12:00"))
    refusal = script.refused("Wed 08:00", "start_task", task=COOK, tapped_at=when)
    assert (refusal.code, refusal.status) == (RefusalCode.BAD_VALUE, f"its time {says}")


def test_tapped_a_little_ahead_counts_as_now() -> None:
    events = in_a_planned_kitchen().give("Wed 08:00", "start_task", task=COOK, tapped_at=at("Wed 08:01"))
    assert events[0].at == at("Wed 08:00")


def test_done_task_refuses_every_act_but_a_report() -> None:
    script = in_a_planned_kitchen()
    cook(script, "S1.simmer", "Wed 10:30", "Wed 11:00")
    for kind, what in (
        ("start_task", {}),
        ("finish_task", {}),
        ("extend_task", {"minutes": 5}),
        ("skip_task", {"reason": "no"}),
        ("finish_tray", {"pieces": 4}),
        ("enter_temperature", {"celsius": 4}),
    ):
        refusal = script.refused("Wed 11:01", kind, task="S1.simmer", person=EARLY, **what)
        assert (refusal.code, refusal.status) == (RefusalCode.WRONG_STATE, "done")
    script.give("Wed 11:01", "report_problem", task="S1.simmer", what="quality", text="stones left in")
    assert script.of("S1.simmer").problems == ("quality: stones left in",)


def test_extend_moves_the_expected_end_and_asks_for_a_plan() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 10:30", "start_task", task="S1.simmer")
    events = script.give("Wed 10:50", "extend_task", task="S1.simmer", minutes=10)
    assert events == (
        TaskExtended(task=TaskId("S1.simmer"), at=at("Wed 10:50"), person=None, minutes=10),
        ReplanWanted(at=at("Wed 10:50"), reason="S1.simmer needs 10 min longer"),
    )
    assert script.of("S1.simmer").extended_min == 10


def test_problem_with_hold_puts_the_lot_on_hold() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 10:30", "start_task", task="S1.simmer")
    events = script.give(
        "Wed 10:40", "report_problem", task="S1.simmer", what="ingredient", text="mouldy", hold_lot=True
    )
    assert events[:2] == (
        ProblemReported(task=TaskId("S1.simmer"), at=at("Wed 10:40"), person=None, what="ingredient", text="mouldy"),
        LotHeld(lot=LotCode("S1"), at=at("Wed 10:40"), reason="ingredient: mouldy", task=TaskId("S1.simmer")),
    )


def test_skip_needs_a_person_and_its_turn() -> None:
    script = in_a_planned_kitchen()
    assert script.refused("Wed 08:00", "skip_task", task=COOK, reason="bought in").code is RefusalCode.NOT_ALLOWED
    refusal = script.refused("Wed 08:00", "skip_task", task=CHILL, reason="cold already", person=EARLY)
    assert refusal.status == "its turn has not come: C1.cook is waiting"


def test_skip_a_critical_step_holds_the_lot_and_starts_what_it_would_have_filled() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task=COOK)
    at_target(script, COOK, "hob-1-core", "hob-1", 83)
    script.give("Wed 08:40", "finish_task", task=COOK)
    events = script.give("Wed 08:45", "skip_task", task=CHILL, reason="no ice", person=EARLY)
    assert events == (
        TaskSkipped(task=CHILL, at=at("Wed 08:45"), person=EARLY, reason="no ice"),
        TaskStarted(task=AGE, at=at("Wed 08:45"), person=EARLY, equipment=EquipmentId("fridge")),
        LotHeld(
            lot=LotCode("C1"),
            at=at("Wed 08:45"),
            reason="critical step left out: Chill the custard base",
            task=CHILL,
        ),
        ReplanWanted(at=at("Wed 08:45"), reason="C1.chill was skipped"),
    )


def test_skip_a_clean_down_is_refused() -> None:
    refusal = in_a_planned_kitchen().refused(
        "Thu 09:35", "skip_task", task="churn.clean.S1", reason="in a hurry", person=EARLY
    )
    assert (refusal.code, refusal.remedy) == (RefusalCode.NOT_ALLOWED, "do it: clean-downs are never traded away")


def test_temperature_by_hand_above_the_ceiling_holds_the_lot() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task=COOK)
    events = script.give("Wed 08:30", "enter_temperature", task=COOK, celsius=87.0, person=EARLY)
    reason = "Cook the custard base: 87.0 °C by hand, never above 85 °C"
    assert events[:2] == (
        TemperatureEntered(task=COOK, at=at("Wed 08:30"), person=EARLY, celsius=87.0),
        LotHeld(lot=LotCode("C1"), at=at("Wed 08:30"), reason=reason, task=COOK),
    )


def test_tray_of_work_without_trays_is_refused_and_with_trays_counted() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 10:30", "start_task", task="S1.simmer")
    assert script.refused("Wed 10:40", "finish_tray", task="S1.simmer", pieces=8).status == "it is not made in trays"
    recipes = [r.model_dump(mode="json") for r in script.kitchen.recipes]
    recipes[2]["steps"][0] |= {"duration": None, "cycle": {"pieces": 8, "each": 15}}
    baking = in_a_planned_kitchen(recipes=recipes, plan=script.state.plan)
    baking.give("Wed 10:30", "start_task", task="S1.simmer")
    events = baking.give("Wed 10:45", "finish_tray", task="S1.simmer", pieces=8, person=EARLY)
    assert events == (TrayFinished(task=TaskId("S1.simmer"), at=at("Wed 10:45"), person=EARLY, pieces=8),)
    baking.give("Wed 11:00", "finish_tray", task="S1.simmer", pieces=7)
    assert baking.of("S1.simmer").pieces == 15
    # Another screen still showed 8 as made: its tray is one of these.
    late = baking.refused("Wed 11:00", "finish_tray", task="S1.simmer", pieces=7, made_before=8)
    assert (late.code, late.status) == (RefusalCode.STALE, "15 are counted already, not 8")
    baking.give("Wed 11:15", "finish_tray", task="S1.simmer", pieces=8, made_before=15)
    earlier = baking.state.acts[-2].seq
    assert baking.refused("Wed 11:16", "undo", act=earlier, person=EARLY).status == "S1.simmer has a later entry: tray"


def test_repeated_command_gives_no_events() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task=COOK, command_id="tap-1")
    seq = script.state.seq
    assert script.give("Wed 08:01", "start_task", task=COOK, command_id="tap-1") == ()
    assert (script.state.seq, script.last.effects) == (seq, ())


def test_command_before_any_kitchen_is_refused() -> None:
    script = in_a_planned_kitchen()
    script.state = type(script.state)()
    assert script.refused("Wed 08:00", "tick").remedy == "import a kitchen first"


def test_start_well_before_its_time_asks_at_once_for_a_plan_that_brings_what_must_follow_forward_too() -> None:
    script = in_a_planned_kitchen()
    assert script.state.adopted_at is not None
    early = script.state.adopted_at + timedelta(minutes=10)  # a plan so young is not asked for anew by a warning alone
    events = script.give(early, "start_task", task=COOK, person=EARLY)
    assert events[1:] == (ReplanWanted(at=early, reason="C1.chill would be late"),)
    assert script.last.effects == (AskForPlan("C1.chill would be late"),)
