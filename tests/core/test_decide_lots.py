"""Deciding about lots: facts and time that hold them, people who decide what becomes of them."""

from typing import Any

import pytest

from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import FactRecorded, ReplanWanted
from orchestrator.core.ids import CrewId, LotCode, ProbeId, TaskId
from orchestrator.core.lot_events import LotDecided, LotHeld
from orchestrator.core.models import Life, Plan, ProbeFact
from orchestrator.core.state import LotStatus, TaskStatus
from orchestrator.core.windows import start_bounds
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged, with_base_chilling
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

EARLY, MANAGER = CrewId("early-cook"), CrewId("manager")


def fact(**what: Any) -> ProbeFact:
    return ProbeFact.model_validate({"probe": "hob-1-core", "equipment": "hob-1", **what})


def test_fact_is_recorded_only_when_its_meaning_changes() -> None:
    script = in_a_planned_kitchen()
    first = fact(celsius=20.0)
    assert script.give("Wed 07:00", "record_fact", fact=first) == (FactRecorded(fact=first, at=at("Wed 07:00")),)
    assert script.give("Wed 07:01", "record_fact", fact=fact(celsius=21.0)) == ()
    silent = fact(celsius=21.0, silent_since=at("Wed 07:01"))
    assert script.give("Wed 07:11", "record_fact", fact=silent) == (FactRecorded(fact=silent, at=at("Wed 07:11")),)
    refusal = script.refused("Wed 07:12", "record_fact", fact=fact().model_copy(update={"probe": ProbeId("x")}))
    assert refusal.code is RefusalCode.UNKNOWN


def test_fact_of_a_ceiling_passed_holds_the_lot_once() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook")
    broken = fact(task="C1.cook", celsius=86.2, ceiling_broken_at=at("Wed 08:31"))
    events = script.give("Wed 08:31", "record_fact", fact=broken)
    reason = "Cook the custard base: the ceiling of 85 °C was passed Wed 08:31"
    assert events == (
        FactRecorded(fact=broken, at=at("Wed 08:31")),
        LotHeld(lot=LotCode("C1"), at=at("Wed 08:31"), reason=reason, task=TaskId("C1.cook")),
        ReplanWanted(at=at("Wed 08:31"), reason="lot C1 went on hold"),
    )
    script.released("Wed 08:35", "C1", "probe touched the pan")
    again = broken.model_copy(update={"reached_at": at("Wed 08:36")})
    assert script.give("Wed 08:36", "record_fact", fact=again) == (FactRecorded(fact=again, at=at("Wed 08:36")),)
    assert script.state.lots[LotCode("C1")].status is LotStatus.FREE


def test_fact_of_a_cooling_leg_missed_holds_the_lot() -> None:
    # Two-leg cooling: FDA Food Code 2022 3-501.14(A), 57 to 21 °C within 2 h, to 5 °C within 6 h in total.
    script = in_a_planned_kitchen()
    with_base_chilling(script)
    missed = ProbeFact.model_validate(
        {"probe": "ice-bath-core", "equipment": "ice-bath", "task": "C1.chill", "cooling": "first leg missed"}
    )
    events = script.give("Wed 10:46", "record_fact", fact=missed)
    assert events[1] == LotHeld(
        lot=LotCode("C1"),
        at=at("Wed 10:46"),
        reason="Chill the custard base: cooling: first leg missed",
        task=TaskId("C1.chill"),
    )


def held() -> Script:
    script = in_a_planned_kitchen()
    script.give("Wed 10:30", "start_task", task="S1.simmer")
    script.give("Wed 10:40", "report_problem", task="S1.simmer", what="quality", hold_lot=True)
    return script


@pytest.mark.parametrize(
    ("decision", "status", "task"),
    [
        ("release", LotStatus.FREE, TaskStatus.IN_HAND),
        ("rework", LotStatus.REWORK, TaskStatus.IN_HAND),
        ("discard", LotStatus.DISCARDED, TaskStatus.SKIPPED),
    ],
)
def test_decide_lot_by_a_named_person_with_a_reason(decision: Any, status: LotStatus, task: TaskStatus) -> None:
    script = held()
    nobody = script.refused("Wed 10:50", "decide_lot", lot="S1", decision=decision, reason="tasted")
    assert nobody.code is RefusalCode.NOT_ALLOWED
    events = script.give("Wed 10:50", "decide_lot", lot="S1", decision=decision, reason="tasted", person=MANAGER)
    assert events == (
        LotDecided(lot=LotCode("S1"), at=at("Wed 10:50"), decision=decision, reason="tasted", person=MANAGER),
        ReplanWanted(at=at("Wed 10:50"), reason=f"lot S1: {decision}"),
    )
    assert script.state.lots[LotCode("S1")].status is status
    assert script.of("S1.simmer").status is task
    again = script.refused("Wed 10:51", "decide_lot", lot="S1", decision=decision, reason="x", person=MANAGER)
    assert again.code is RefusalCode.WRONG_STATE


def test_decide_lot_unknown_or_free_is_refused() -> None:
    script = in_a_planned_kitchen()
    for lot, code in (("Z9", RefusalCode.UNKNOWN), ("S1", RefusalCode.WRONG_STATE)):
        refusal = script.refused("Wed 07:00", "decide_lot", lot=lot, decision="discard", reason="x", person=MANAGER)
        assert refusal.code is code


def test_tick_past_the_safety_limit_of_a_stay_holds_the_lot_until_released() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    ahead = script.give("Sat 10:15", "tick")
    assert ahead == (ReplanWanted(at=at("Sat 10:15"), reason="B1.churn would be late"),)
    events = script.give("Sat 10:16", "tick")
    assert events[0] == LotHeld(
        lot=LotCode("C1"),
        at=at("Sat 10:16"),
        reason="Age the custard base: longer than its safety limit, Sat 10:15",
        task=TaskId("C1.age.B1"),
    )
    assert script.give("Sat 10:17", "tick") == ()
    script.released("Sat 10:20", "C1", "kept at 1 °C")
    assert script.give("Sat 10:21", "tick") == ()
    script.give("Sat 10:25", "start_task", task="B1.churn", person=EARLY)


def test_tick_past_the_safety_limit_of_a_link_holds_the_lot() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook", person=EARLY)
    script.reads("hob-1-core", "hob-1", task="C1.cook", celsius=83.0, met_at=at("Wed 08:30"))
    script.give("Wed 08:40", "finish_task", task="C1.cook", person=EARLY)
    assert script.give("Wed 08:55", "tick") == ()
    assert script.refused("Wed 08:56", "start_task", task="C1.chill").status == "its safety window closed Wed 08:55"
    assert script.give("Wed 08:56", "tick")[0] == LotHeld(
        lot=LotCode("C1"),
        at=at("Wed 08:56"),
        reason="Chill the custard base did not follow by its safety limit, Wed 08:55",
        task=TaskId("C1.chill"),
    )


def _with_life(most: int) -> Plan:
    """The plan made by hand; the base, chilled Wednesday 10:15, must be churned within so many minutes."""
    plan = small_plan(small_kitchen())
    life = Life(lot=LotCode("C1"), after=TaskId("C1.chill"), most=most)
    tasks = tuple(t.model_copy(update={"lives": (life,)}) if t.id == "B1.churn" else t for t in plan.tasks)
    return plan.model_copy(update={"tasks": tasks})


def test_tick_past_the_life_of_what_goes_in_holds_its_lot() -> None:
    script = with_base_aged(in_a_planned_kitchen(_with_life(1440)))
    churn = script.state.plan.task(TaskId("B1.churn")) if script.state.plan is not None else None
    assert churn is not None
    # Sooner than the 72 hours of its ageing.
    window = start_bounds(script.state, churn)
    assert (window.closes, window.cls, window.closed_by) == (at("Thu 10:15"), "safety", "C1.chill")
    script.give("Thu 10:15", "tick")
    assert script.refused("Thu 10:16", "start_task", task="B1.churn").status == "its safety window closed Thu 10:15"
    assert script.give("Thu 10:16", "tick")[0] == LotHeld(
        lot=LotCode("C1"),
        at=at("Thu 10:16"),
        reason="Churn basil custard did not begin within the life of C1, Thu 10:15",
        task=TaskId("B1.churn"),
    )


def test_tick_past_the_life_of_what_has_gone_into_a_mix_holds_the_mix() -> None:
    plan = small_plan(small_kitchen())
    life = Life(lot=LotCode("C1"), until=at("Wed 20:00"))
    tasks = tuple(t.model_copy(update={"lives": (life,)}) if t.id == "S1.churn" else t for t in plan.tasks)
    script = with_base_aged(in_a_planned_kitchen(plan.model_copy(update={"tasks": tasks})))
    script.give("Wed 10:30", "start_task", task="S1.simmer", person=EARLY)
    script.give("Wed 11:00", "finish_task", task="S1.simmer", person=EARLY)
    held = [event for event in script.give("Wed 20:01", "tick") if isinstance(event, LotHeld)]
    # The churn would take what was begun as S1: that is too old by now, and nothing of C1 is left to go in.
    assert [(event.lot, event.task) for event in held] == [("S1", "S1.churn")]
