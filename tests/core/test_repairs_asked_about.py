"""What a quick repair gave up without asking: somebody is asked once the full plan keeps it so."""

import pytest

from orchestrator.core.events import PlanAdopted, PlanProposed
from orchestrator.core.models import Plan
from tests.core.script import Script, in_a_planned_kitchen
from tests.core.test_decide_plans import handed_over, moved, offer
from tests.fakes.plans import small_plan


def planned_late(minutes: int, made: str) -> Plan:
    return handed_over(small_plan(), 10 + minutes, made)


def test_full_plan_as_late_as_the_repair_is_asked_about() -> None:
    script = in_a_planned_kitchen()
    agreed = script.state.plan
    script.give("Wed 07:30", "ask_replan", reason="drift")
    offer(script, "Wed 07:30", planned_late(25, "Wed 07:30"), provisional=True)
    assert script.state.agreed == agreed
    events = offer(script, "Wed 07:31", planned_late(25, "Wed 07:31"))
    assert [type(event) for event in events] == [PlanProposed]
    assert events[0].waits_for == ("SUN-CAFE would be 25 min late",)
    # The same again, while it waits: somebody has been asked already.
    assert offer(script, "Wed 07:32", planned_late(25, "Wed 07:32")) == ()


def test_full_plan_less_late_than_the_repair_is_worked_by_while_somebody_is_asked() -> None:
    script = in_a_planned_kitchen()
    agreed = script.state.plan
    script.give("Wed 07:30", "ask_replan", reason="drift")
    offer(script, "Wed 07:30", planned_late(25, "Wed 07:30"), provisional=True)
    better = planned_late(15, "Wed 07:31")
    adopted, proposed = offer(script, "Wed 07:31", better)
    assert isinstance(adopted, PlanAdopted)
    assert (adopted.provisional, adopted.person) == (True, None)
    assert isinstance(proposed, PlanProposed)
    assert proposed.waits_for == ("SUN-CAFE would be 15 min late",)
    assert script.state.plan == better
    assert script.state.agreed == agreed
    assert script.state.replan_reason == ""


def test_full_plan_later_than_the_repair_waits_and_the_repair_stands() -> None:
    script = in_a_planned_kitchen()
    repaired = planned_late(0, "Wed 07:30")
    offer(script, "Wed 07:30", repaired, provisional=True)
    events = offer(script, "Wed 07:31", planned_late(15, "Wed 07:31"))
    assert [type(event) for event in events] == [PlanProposed]
    assert script.state.plan == repaired


def test_repair_after_repair_is_still_compared_with_the_plan_that_was_good() -> None:
    script = in_a_planned_kitchen()
    agreed = script.state.plan
    for minute, late in enumerate((5, 20, 40)):
        offer(script, f"Wed 07:3{minute}", planned_late(late, f"Wed 07:3{minute}"), provisional=True)
    assert script.state.agreed == agreed
    events = offer(script, "Wed 07:34", planned_late(30, "Wed 07:34"))
    assert events[-1].waits_for == ("SUN-CAFE would be 30 min late",)


def test_what_a_person_adopts_is_good_from_then_on() -> None:
    script = in_a_planned_kitchen()
    offer(script, "Wed 07:30", planned_late(25, "Wed 07:30"), provisional=True)
    offer(script, "Wed 07:31", planned_late(25, "Wed 07:31"))
    assert script.state.proposal is not None
    script.give("Wed 07:35", "decide_plan", proposal=script.state.proposal.seq, adopt=True, person="manager")
    assert script.state.agreed is None
    later = offer(script, "Wed 07:40", moved(planned_late(25, "Wed 07:40"), "S1.simmer", minutes=-10, made="Wed 07:40"))
    assert [type(event) for event in later] == [PlanAdopted]


@pytest.mark.parametrize("person", ["manager", None])
def test_what_stands_after_it_was_asked_about_is_not_asked_about_again(person: str | None) -> None:
    script = in_a_planned_kitchen()
    offer(script, "Wed 06:00", planned_late(25, "Wed 06:00"), provisional=True)
    offer(script, "Wed 06:01", planned_late(25, "Wed 06:01"))
    assert script.state.proposal is not None
    if person is None:
        script.give("Wed 07:02", "tick")
    else:
        script.give("Wed 06:20", "decide_plan", proposal=script.state.proposal.seq, adopt=False, person=person)
    assert (script.state.proposal, script.state.agreed) == (None, None)
    assert offer(script, "Wed 07:03", planned_late(25, "Wed 07:03")) == ()


def test_declined_plan_leaves_the_question_open_while_another_stands() -> None:
    script = in_a_planned_kitchen()
    agreed = script.state.plan
    offer(script, "Wed 07:30", planned_late(0, "Wed 07:30"), provisional=True)
    offer(script, "Wed 07:31", planned_late(15, "Wed 07:31"))
    assert script.state.proposal is not None
    script.give("Wed 07:35", "decide_plan", proposal=script.state.proposal.seq, adopt=False, person="manager")
    assert script.state.agreed == agreed


def test_first_plan_from_a_repair_is_compared_with_nothing() -> None:
    script = Script()
    script.give("Wed 06:00", "import_kitchen", kitchen=script.kitchen)
    offer(script, "Wed 06:00", planned_late(25, "Wed 06:00"), provisional=True)
    assert script.state.agreed is None
    assert [type(event) for event in offer(script, "Wed 06:01", planned_late(20, "Wed 06:01"))] == [PlanAdopted]
