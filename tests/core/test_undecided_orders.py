"""Orders long past their time: nothing is dropped by itself, and somebody is asked, once for all of them.

How long after its time is the kitchen's own figure; that an alarm asks for one action is ANSI/ISA-18.2, from memory.
"""

from typing import Any

from orchestrator.core.alarms import conditions, look
from orchestrator.core.alarms.undecided_orders import undecided
from orchestrator.core.due import next_due
from orchestrator.core.events import AlarmEscalated, AlarmRaised
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import AlarmFacts, Help, Priority
from tests.core.script import Script, in_a_planned_kitchen
from tests.fakes.kitchens import at

ALL = AlarmId("orders_undecided:all")
MANAGER = "manager"


def asked(script: Script, when: str) -> AlarmFacts | None:

    return conditions(script.state, script.facts, at(when)).get(ALL)


def change(script: Script, when: str, **what: Any) -> None:
    script.give(when, "change_kitchen", person=MANAGER, changes=(what,), reason="the customer was asked")


def test_order_a_day_past_its_time_is_put_before_the_manager_with_what_hangs_on_it() -> None:
    """The stall's custard was due on Saturday at eleven, and nothing of it was begun: cook, chill, churn, temper, hand
    over wait for it, and for nobody else."""
    script = in_a_planned_kitchen()
    assert asked(script, "Sun 10:59") is None
    facts = asked(script, "Sun 11:00")
    assert facts is not None
    assert (facts.orders, facts.title, facts.tasks) == (("SAT-STALL",), "Market stall", 5)
    assert (facts.priority, facts.helps) == (Priority.WARNING, (Help.DROP_OR_MOVE, Help.TELL_CUSTOMER))


def test_somebody_looks_at_the_very_instant() -> None:

    script = in_a_planned_kitchen()
    script.give("Sun 10:59", "tick")
    due = next_due(script.state, at("Sun 10:59"))
    assert due is not None
    assert due <= at("Sun 11:00")


def test_kitchen_says_how_long_after_its_time() -> None:
    script = in_a_planned_kitchen(warnings={"order_undecided": 120})
    assert asked(script, "Sat 12:59") is None
    assert asked(script, "Sat 13:00") is not None


def test_two_orders_are_one_alarm_told_again_for_the_second_and_gone_once_both_are_decided() -> None:
    script = in_a_planned_kitchen()

    def told(when: str) -> list[str]:
        script.give(when, "tick")
        changes = [event for event in script.last.events if isinstance(event, AlarmRaised | AlarmEscalated)]
        return [event.kind for event in changes if event.alarm == ALL]

    assert told("Sun 11:00") == ["alarm_raised"]
    assert told("Mon 14:59") == []
    assert told("Mon 15:00") == ["alarm_escalated"]
    facts = script.state.alarms[ALL].facts
    # Of the sorbet: simmer, chill, clean the churn, churn, temper, hand over.
    assert (facts.orders, facts.tasks) == (("SAT-STALL", "SUN-CAFE"), 11)
    seen = look(script.state, script.facts, script.now)
    assert seen is not None
    assert [(one.order.id, one.tasks) for one in undecided(seen)] == [("SAT-STALL", 5), ("SUN-CAFE", 6)]
    change(script, "Mon 15:10", change="drop order", order="SAT-STALL")
    known = asked(script, "Mon 15:11")
    assert known is not None
    assert known.orders == ("SUN-CAFE",)
    change(script, "Mon 15:12", change="change order", order="SUN-CAFE", due="2026-12-01T15:00:00Z")
    assert asked(script, "Mon 15:13") is None


def test_work_that_others_wait_for_too_is_not_counted_as_hanging_on_it() -> None:
    """The base is for the stall alone until the café, too, gets of its custard."""
    script = in_a_planned_kitchen()
    plan = script.state.plan
    assert plan is not None
    custard = next(peg for peg in plan.pegs if peg.order == "SAT-STALL")
    shared = custard.model_copy(update={"order": "SUN-CAFE"})
    both = in_a_planned_kitchen(plan.model_copy(update={"pegs": (*plan.pegs, shared)}))
    facts = asked(both, "Sun 11:00")
    assert facts is not None
    assert facts.tasks == 2  # temper and hand over


def test_nothing_is_dropped_by_itself() -> None:

    script = in_a_planned_kitchen()
    script.give(at("Sun+6 11:00"), "tick")
    assert script.state.kitchen is not None
    assert [order.id for order in script.state.kitchen.orders] == ["SAT-STALL", "SUN-CAFE"]
