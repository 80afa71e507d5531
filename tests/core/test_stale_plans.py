"""A plan that waits for somebody: what has changed before they decide, and what becomes of food that it gives up."""

import pytest

from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import PlanAdopted, PlanProposed
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.state import LotStatus
from tests.core.script import cook, in_a_planned_kitchen, with_base_aged
from tests.core.test_decide_plans import MANAGER, moved, offer, proposed, without_sorbet
from tests.fakes.kitchens import at
from tests.fakes.plans import small_plan


def test_plan_that_waits_is_not_adopted_once_a_machine_of_it_has_stopped() -> None:
    script = proposed()
    assert script.state.proposal is not None
    number = script.state.proposal.seq
    script.give("Wed 07:00", "stop_machine", equipment="hob-1", until=at("Wed 09:00"), person=MANAGER)
    refusal = script.refused("Wed 07:01", "decide_plan", proposal=number, adopt=True, person=MANAGER)
    assert (refusal.code, refusal.thing) == (RefusalCode.STALE, "plan")
    assert refusal.status.startswith("C1.cook is on hob-1, which is stopped from Wed 25 Nov 07:00")
    assert refusal.remedy == "a plan made from present facts"
    # It can still be declined; the plan that is worked by stands.
    script.give("Wed 07:02", "decide_plan", proposal=number, adopt=False, person=MANAGER)
    assert (script.state.revision, script.state.proposal) == (1, None)


@pytest.mark.parametrize(
    ("tasks", "minutes", "more"),
    [(["B1.churn"], -120, ""), (["B1.churn"], 90, "; and 1 more"), (["B1.churn", "S1.churn"], 60, "; and 4 more")],
)
def test_refused_plan_names_three_rules_that_it_breaks_and_counts_the_rest(
    tasks: list[str], minutes: int, more: str
) -> None:
    plan = moved(small_plan(), *tasks, minutes=minutes)
    status = in_a_planned_kitchen().refused("Wed 06:00", "offer_plan", plan=plan).status
    named = status.removesuffix(more)
    assert status == named + more
    assert len(named.split("; ")) == 3


def test_food_that_a_person_gives_up_with_a_plan_is_held_until_somebody_decides_about_it() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    cook(script, "S1.simmer", "Wed 10:30", "Wed 11:00")
    script.give("Wed 11:01", "stop_machine", equipment="ice-bath", until=at("Sun 12:00"))
    (asked,) = offer(script, "Wed 11:02", without_sorbet(small_plan()))
    assert isinstance(asked, PlanProposed)
    assert "S1" not in script.state.lots
    assert script.state.proposal is not None
    told = {"proposal": script.state.proposal.seq, "adopt": True, "person": MANAGER}
    events = script.give("Wed 11:05", "decide_plan", **told)
    assert [type(event) for event in events] == [PlanAdopted, LotHeld]
    held = script.state.lots[events[1].lot]  # type: ignore[union-attr]
    assert (events[1].lot, held.status) == ("S1", LotStatus.ON_HOLD)  # type: ignore[union-attr]
    assert held.reason == "no plan finds a place for its next step in time"
