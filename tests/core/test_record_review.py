"""How long a record waits to be looked through: working days counted out by hand on a calendar of November 2026.

Source, from memory: 21 CFR 117.165(a)(4)(i), within 7 working days of being made. Wed 25 November 2026 plus seven
working days (26, 27, 30 November, 1, 2, 3, 4 December) is Fri 4 December. That a working day is one from Monday to
Friday is ours, see docs/decisions/core.md.
"""

from datetime import date, timedelta
from random import Random

import pytest

from display.batch_record import entries
from orchestrator.core.days_events import DaysMoved
from orchestrator.core.ids import CommandId, CrewId, LotCode
from orchestrator.core.record_review import Review, last_day, reviews, working_days
from tests.core.doubt_script import failing
from tests.core.script import Script, in_a_planned_kitchen
from tests.core.stock_script import churned_and_tempered
from tests.fakes.kitchens import at

COOK, MANAGER, LOT = CrewId("early-cook"), CrewId("manager"), LotCode("C1")
WED = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("made", "days", "last"),
    [
        (WED, 7, date(2026, 12, 4)),
        (WED, 1, date(2026, 11, 26)),
        (date(2026, 11, 27), 1, date(2026, 11, 30)),  # a Friday
        (date(2026, 11, 28), 7, date(2026, 12, 8)),  # a Saturday waits from Monday on
        (date(2026, 12, 24), 2, date(2026, 12, 28)),  # Christmas counts: nobody is told of time that they lack
    ],
)
def test_last_day_is_so_many_days_from_monday_to_friday_after(made: date, days: int, last: date) -> None:
    assert last_day(made, days) == last
    assert working_days(made, last) == days


def test_working_days_are_those_of_a_count_day_by_day() -> None:
    chance = Random(117)
    for _ in range(500):
        first = WED + timedelta(days=chance.randrange(-400, 400))
        length = chance.randrange(-5, 60)
        counted = sum((first + timedelta(days=k)).isoweekday() <= 5 for k in range(1, length + 1))
        assert working_days(first, first + timedelta(days=length)) == counted


def begun() -> Script:
    script = in_a_planned_kitchen()
    script.give("Wed 08:00", "start_task", task="C1.cook", person=COOK)
    return script


def on(script: Script, day: date) -> Review | None:
    now = at("Wed 20:00") + timedelta(days=(day - WED).days)
    return reviews(script.state, now).get(LOT)


@pytest.mark.parametrize(
    ("day", "waited", "left", "over"),
    [
        (WED, 0, 7, False),
        (date(2026, 11, 27), 2, 5, False),
        (date(2026, 11, 29), 2, 5, False),  # a Sunday
        (date(2026, 12, 4), 7, 0, False),
        (date(2026, 12, 5), 7, 0, True),
        (date(2026, 12, 7), 8, 0, True),
    ],
)
def test_record_waits_from_its_first_entry_on(day: date, waited: int, left: int, over: bool) -> None:
    assert on(begun(), day) == Review(at("Wed 08:00"), date(2026, 12, 4), waited, left, over=over, looked=False)


def test_number_of_days_is_the_kitchens() -> None:
    script = in_a_planned_kitchen(warnings={"record_review_days": 2})
    script.give("Wed 08:00", "start_task", task="C1.cook", person=COOK)
    found = on(script, WED)
    assert found is not None
    assert found.by == date(2026, 11, 27)


def test_record_that_was_looked_through_waits_no_more_until_something_is_entered() -> None:
    script = begun()
    script.give("Wed 09:00", "look_through", lot=LOT, person=MANAGER)
    assert on(script, WED) is None
    script.give("Thu 09:00", "extend_task", task="C1.cook", minutes=5, person=COOK)
    assert on(script, WED) == Review(at("Thu 09:00"), date(2026, 12, 7), 0, 8, over=False, looked=True)


def test_who_signed_what_they_had_seen_leaves_what_came_after_it() -> None:
    script = begun()
    upto = script.state.seq
    script.give("Wed 08:30", "extend_task", task="C1.cook", minutes=5, person=COOK)
    script.give("Wed 09:00", "look_through", lot=LOT, upto=upto, person=MANAGER)
    found = on(script, WED)
    assert found is not None
    assert (found.since, found.looked) == (at("Wed 08:30"), True)


def test_act_that_was_taken_back_is_an_entry_too() -> None:
    script = begun()
    act = script.state.acts[-1].seq
    script.give("Wed 08:05", "look_through", lot=LOT, person=MANAGER)
    script.give("Wed 08:10", "undo", act=act, person=COOK)
    found = on(script, WED)
    assert found is not None
    assert found.since == at("Wed 08:10")


def test_lot_that_has_left_the_plan_still_waits() -> None:
    script = begun()
    assert script.state.plan is not None
    tasks = tuple(task.id for task in script.state.plan.tasks if task.lot == LOT)
    gone = DaysMoved(at=at("Thu 09:00"), planning_start=at("Thu 09:00"), horizon_days=5, lots=(LOT,), tasks=tasks)
    script.record(CommandId("days"), (gone,))
    assert on(script, WED) is not None


@pytest.mark.parametrize("story", [churned_and_tempered, failing, begun])
def test_what_is_unseen_is_what_the_log_says_that_nobody_has_looked_through(story: object) -> None:
    script: Script = story()  # type: ignore[operator]
    told = entries(script.state, script.log)
    assert told
    first = {lot: found[0] for lot, found in told.items()}
    assert {lot: found[0] for lot, found in script.state.unseen.items()} == first
    assert {lot: found[-1] for lot, found in script.state.unseen.items()} == {k: v[-1] for k, v in told.items()}
