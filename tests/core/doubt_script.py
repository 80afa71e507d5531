"""Stories of lots in doubt: food that was churned, tempered, reported, and freezers that fail with it."""

from typing import Any

from orchestrator.core.models.deviation import Deviation
from orchestrator.core.models.probe_fact import Spell
from tests.core.script import Script, in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchens import EQUIPMENT, at

EARLY, LATE, COUNTER, MANAGER = "early-cook", "late-cook", "counter-hand", "manager"


def only(script: Script) -> Deviation:
    (deviation,) = script.state.deviations.values()
    return deviation


def churned(script: Script) -> Script:
    """The base went into basil custard B1, which hardens in the freezer since Thursday 09:30."""
    with_base_aged(script)
    script.reads("fridge-air", "fridge", celsius=3.0, measured_at=at("Thu 08:59"))
    script.give("Thu 09:00", "start_task", task="B1.churn", person=EARLY)
    script.give("Thu 09:30", "finish_task", task="B1.churn", person=EARLY, measured={"volume_l": 4.9})
    script.reads("freezer-air", "freezer", celsius=-18.5, measured_at=script.now)
    return script


def tempering(script: Script) -> Script:
    """B1 is out for Saturday's stall."""
    churned(script)
    script.give("Sat 10:20", "start_task", task="SAT-STALL.B.temper", person=COUNTER)
    return script


def hold(script: Script, when: str, task: str, what: str = "quality") -> None:
    script.give(when, "report_problem", task=task, what=what, hold_lot=True, person=EARLY)


def warm(script: Script, since: str, celsius: float = -9.0) -> None:
    fact = {"celsius": celsius, "worst_c": celsius, "outside_since": at(since)}
    script.reads("freezer-air", "freezer", measured_at=script.now, **fact)


def cold_again(script: Script, since: str, until: str, worst_c: float = -9.0) -> None:
    spell = Spell(since=at(since), until=at(until), worst_c=worst_c)
    script.reads("freezer-air", "freezer", celsius=-18.0, measured_at=at(until), spell=spell)


def failing() -> Script:
    """The freezer is warmer than −15 °C since Thursday 14:00; its grace of 20 minutes has passed."""
    script = churned(in_a_planned_kitchen())
    warm(script, "Thu 14:00")
    script.give("Thu 14:20", "tick")
    return script


def answer(script: Script, when: str, what: str, **more: Any) -> Any:
    told = {"lot": "B1", "equipment": "freezer", "answer": what, "person": EARLY, **more}
    return script.try_(when, "answer_lot", **told)


def two_freezers(capacity: str = "30 L") -> Script:
    script = churned(in_a_planned_kitchen(equipment=with_second_freezer(capacity)))
    script.reads("freezer-air", "freezer", celsius=-9.0, worst_c=-9.0, outside_since=at("Thu 14:00"))
    script.give("Thu 14:20", "tick")
    script.give("Thu 14:21", "enter_temperature", task="B1.harden.SAT-STALL", celsius=-15.8, person=EARLY)
    return script


def with_second_freezer(capacity: str) -> list[dict[str, Any]]:
    freezer = next(e for e in EQUIPMENT if e["id"] == "freezer")
    return [*EQUIPMENT, {**freezer, "id": "freezer-2", "name": "Second freezer", "capacity": capacity}]
