"""From a change by hand to the plan that follows it: asked for, made, offered, adopted or waiting for a person."""

from datetime import datetime, timedelta

from orchestrator.core.commands import COMMANDS
from orchestrator.core.decide import Decision, decide
from orchestrator.core.events import Event, KitchenImported, PlanAdopted, Recorded
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import CommandId
from orchestrator.core.planning import plan_request
from orchestrator.core.state import State
from orchestrator.planner.plan import make_plan
from tests.fakes.tiny import START, at, tiny_request

PARTY = {
    "id": "FRI-PARTY",
    "customer": "Birthday",
    "due": at(2, "15:00"),
    "lines": [{"product": "basil-custard", "quantity": "2 L"}],
}


def recorded(state: State, *events: Event, by: str) -> State:
    for event in events:
        state = evolve(state, Recorded(seq=state.seq + 1, at=START, command_id=CommandId(by), event=event))
    return state


def opened() -> State:
    request = tiny_request()
    plan = make_plan(request, effort="repair", seconds=1).plan
    assert plan is not None
    return recorded(
        State(), KitchenImported(kitchen=request.kitchen), PlanAdopted(plan=plan, at=START, person=None), by="first"
    )


def given(state: State, now: datetime, kind: str, **told: object) -> State:
    name = f"{kind}-{state.seq}"
    command = COMMANDS.validate_python({"kind": kind, "command_id": name, **told})
    outcome = decide(state, command, now, {})
    assert isinstance(outcome, Decision), outcome
    return recorded(state, *outcome.events, by=name)


def changed_and_planned(state: State, now: datetime, *changes: dict[str, object]) -> State:
    """A manager's change, and the plan that the planner makes of it, offered."""
    state = given(state, now, "change_kitchen", changes=list(changes), person="counter-hand", reason="asked for")
    assert state.replan_reason.startswith("changed by hand")
    plan = make_plan(plan_request(state, now), effort="full", seconds=2, deterministic=True).plan
    assert plan is not None
    return given(state, now, "offer_plan", plan=plan)


def test_order_added_by_hand_is_made_by_the_plan_that_follows() -> None:
    state = changed_and_planned(opened(), START, {"change": "add order", "order": PARTY})
    assert state.proposal is None
    assert state.plan is not None
    assert {o.order: (o.met, o.late_min) for o in state.plan.outlooks} == {
        "SAT-STALL": (True, 0),
        "FRI-PARTY": (True, 0),
    }
    assert any(task.order == "FRI-PARTY" for task in state.plan.tasks)
    assert state.replan_reason == ""


def test_order_dropped_by_hand_is_no_longer_made_and_comes_back_when_it_is_added_again() -> None:
    before = opened()
    assert before.kitchen is not None
    order = before.kitchen.orders[0]
    state = changed_and_planned(before, START, {"change": "drop order", "order": order.id})
    assert state.plan is not None
    assert (state.plan.batches, state.plan.pegs, state.plan.outlooks) == ((), (), ())
    state = changed_and_planned(state, START, {"change": "add order", "order": order})
    assert state.plan is not None
    assert [outlook.met for outlook in state.plan.outlooks] == [True]


def test_smaller_order_is_a_smaller_batch_in_the_plan_that_follows_and_in_those_after_it() -> None:
    less = {"change": "smaller batch", "order": "SAT-STALL", "product": "basil-custard", "quantity": "2 L"}
    state = changed_and_planned(opened(), START, less)
    sizes = [b.size.value for b in state.plan.batches if b.recipe == "basil-custard"] if state.plan else []
    assert sizes == [2.0]
    assert state.by_hand.shrunk == frozenset()
    again = make_plan(plan_request(state, START + timedelta(minutes=1)), effort="repair", seconds=1).plan
    assert again is not None
    assert [b.size.value for b in again.batches if b.recipe == "basil-custard"] == [2.0]


def test_absence_takes_its_work_from_the_person_who_is_away() -> None:
    before = opened()
    assert before.plan is not None
    first = min((t for t in before.plan.tasks if t.spans), key=lambda t: t.start)
    away = {"crew": first.spans[0].crew[0], "start": START, "end": first.end + timedelta(hours=1)}
    state = changed_and_planned(before, START, {"change": "absent", **away})
    plan = state.proposal.plan if state.proposal is not None else state.plan
    assert plan is not None
    overlaps = [
        task.id
        for task in plan.tasks
        for span in task.spans
        if away["crew"] in span.crew and span.start < away["end"] and away["start"] < span.end
    ]
    assert overlaps == []
