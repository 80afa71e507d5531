"""Which rescue cards fit a step: by what people report, what alarms say, and what a deviation is about."""

from orchestrator.core.ids import TaskId
from orchestrator.core.models.rescue import RescueCard, Sign
from orchestrator.core.rescue import cards_for, signs
from tests.core.doubt_script import failing, tempering
from tests.core.script import Script, in_a_planned_kitchen, with_base_chilling


def _card(name: str, *when: str, process: str = "chill") -> RescueCard:
    told = {"id": name, "title": name, "process": [process], "look_for": ["signs"], "discard_when": ["in doubt"]}
    return RescueCard.model_validate({**told, "when": when})


def _signs(script: Script, task: str) -> frozenset[Sign]:
    assert script.state.plan is not None
    return signs(script.state, script.state.plan.task(TaskId(task)))


def test_card_fits_once_its_problem_is_reported_at_the_step_and_stands_first_then() -> None:
    cards = (_card("slow", "target missed"), _card("off", "quality"), _card("elsewhere", "quality", process="churn"))
    script = with_base_chilling(in_a_planned_kitchen(cards=cards))
    assert script.state.plan is not None
    task = script.state.plan.task(TaskId("C1.chill"))
    assert [(c.id, fits) for c, fits in cards_for(script.state, task)] == [("slow", False), ("off", False)]
    script.give("Wed 09:00", "report_problem", task="C1.chill", what="quality", text="smells")
    assert [(c.id, fits) for c, fits in cards_for(script.state, task)] == [("off", True), ("slow", False)]
    assert _signs(script, "S1.chill") == frozenset()


def test_missed_target_is_a_sign_at_its_step_alone() -> None:
    script = with_base_chilling(in_a_planned_kitchen())
    script.reads("ice-bath-core", "ice-bath", task="C1.chill", celsius=30.0, cooling="first leg missed")
    script.give("Wed 10:46", "tick")
    assert _signs(script, "C1.chill") == {Sign.TARGET_MISSED}
    assert _signs(script, "C1.cook") == frozenset()


def test_warm_store_is_a_sign_for_what_is_in_it() -> None:
    script = failing()
    assert Sign.STORE_WARM in _signs(script, "B1.harden.SAT-STALL")
    assert Sign.STORE_WARM not in _signs(script, "S1.harden.SUN-CAFE")


def test_gate_that_is_shut_is_a_sign_and_problems_of_another_step_are_none() -> None:
    script = tempering(in_a_planned_kitchen())
    assert script.state.plan is not None
    task = script.state.plan.task(TaskId("SAT-STALL.B.hand-over"))
    assert signs(script.state, task) == frozenset()
    assert signs(script.state, task, gate_shut=True) == {Sign.GATE_SHUT}
