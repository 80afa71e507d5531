"""A record is looked through by a named person, a manager where there is one; again as often as it changes.

Sources, from memory: Codex Alimentarius CXC 1-1969, HACCP principles 6 and 7 (records of monitoring are reviewed, and
signed by a responsible reviewing official); 21 CFR 117.165(a)(4) (monitoring and corrective action records are reviewed
by, or under the oversight of, a preventive controls qualified individual within 7 working days of being made, or within
a reasonable time that is justified in writing) and 117.305 (a record has date, time and signature or initials). Who is
qualified, and within which time, is for the kitchen and its code: nothing here says that either is met.
"""

from dataclasses import replace
from typing import Any

from orchestrator.core.days_events import DaysMoved
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CommandId, CrewId, LotCode
from orchestrator.core.lot_events import RecordLookedThrough
from tests.core.script import Script, in_a_planned_kitchen
from tests.fakes.kitchens import at, small_kitchen

COOK, MANAGER = CrewId("early-cook"), CrewId("manager")
LOT = LotCode("C1")


def begun(**changes: Any) -> Script:
    script = in_a_planned_kitchen(**changes)
    script.give("Wed 08:00", "start_task", task="C1.cook", person=COOK)
    return script


def longer(script: Script, when: str) -> None:
    """One entry more."""
    script.give(when, "extend_task", task="C1.cook", minutes=5, person=COOK)


def told(script: Script) -> list[tuple[CrewId, int, str]]:
    return [(one.person, one.upto, one.note) for one in script.state.looked.get(LOT, ())]


def test_a_manager_signs_with_a_remark_and_what_they_had_seen_goes_on_record() -> None:
    script = begun()
    seen = script.state.seq
    longer(script, "Wed 08:10")
    (event,) = script.give("Wed 08:20", "look_through", lot=LOT, upto=seen, note="  weights asked for ", person=MANAGER)
    assert event == RecordLookedThrough(
        lot=LOT, at=at("Wed 08:20"), person=MANAGER, upto=seen, note="weights asked for"
    )


def test_it_is_done_again_and_all_looks_stay() -> None:
    script = begun()
    first = script.state.seq
    script.give("Wed 08:20", "look_through", lot=LOT, person=MANAGER)
    longer(script, "Wed 08:30")
    last = script.state.seq
    script.give("Wed 08:40", "look_through", lot=LOT, person=MANAGER)
    assert told(script) == [(MANAGER, first, ""), (MANAGER, last, "")]


def test_nothing_of_the_plan_or_of_the_lot_is_changed_by_it() -> None:
    script = begun()
    before = script.state
    decision = script.try_("Wed 08:20", "look_through", lot=LOT, person=MANAGER)
    assert not isinstance(decision, Refusal)
    assert decision.effects == ()
    after = replace(script.state, looked=before.looked, unseen=before.unseen, seq=before.seq, seen=before.seen)
    assert after == before


def test_nobody_in_particular_cannot_sign_and_a_cook_cannot_where_there_is_a_manager() -> None:
    script = begun()
    nobody = script.refused("Wed 08:20", "look_through", lot=LOT)
    assert (nobody.code, nobody.status) == (
        RefusalCode.NOT_ALLOWED,
        "nobody is named to have looked it through",
    )
    cook = script.refused("Wed 08:20", "look_through", lot=LOT, person=COOK)
    assert cook.status == "Early cook may read it, not sign that it was looked through"
    assert cook.remedy == "ask Manager"
    assert told(script) == []


def test_lot_that_has_left_the_plan_is_still_looked_through() -> None:
    script = begun()
    assert script.state.plan is not None
    tasks = tuple(task.id for task in script.state.plan.tasks if task.lot == LOT)
    gone = DaysMoved(at=at("Wed 09:00"), planning_start=at("Wed 09:00"), horizon_days=5, lots=(LOT,), tasks=tasks)
    script.record(CommandId("days"), (gone,))
    assert LOT not in {batch.lot for batch in script.state.plan.batches}
    script.give("Wed 09:10", "look_through", lot=LOT, person=MANAGER)
    assert [who for who, _, _ in told(script)] == [MANAGER]


def test_in_a_kitchen_without_a_manager_anybody_by_name_signs() -> None:
    script = begun(crew=[one.model_dump() | {"manager": False} for one in small_kitchen().crew])
    script.give("Wed 08:20", "look_through", lot=LOT, person=COOK)
    assert [who for who, _, _ in told(script)] == [COOK]


def test_what_has_no_record_yet_or_lies_ahead_is_refused_and_says_what_to_do() -> None:
    script = begun()
    unknown = script.refused("Wed 08:20", "look_through", lot="X9", person=MANAGER)
    assert (unknown.code, unknown.status) == (RefusalCode.UNKNOWN, "no such lot")
    empty = script.refused("Wed 08:20", "look_through", lot="S1", person=MANAGER)
    assert (empty.code, empty.status) == (RefusalCode.WRONG_STATE, "nothing is on its record yet")
    ahead = script.refused("Wed 08:20", "look_through", lot=LOT, upto=script.state.seq + 1, person=MANAGER)
    assert (ahead.code, ahead.remedy) == (RefusalCode.BAD_VALUE, "load the page again")
