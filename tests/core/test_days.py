"""The planned days go on: what is over leaves the plan, and nothing of it leaves the books, the traces or the record.

What must hold is compared before and after, in kitchens made by chance and lived through by chance; that material is
conserved across it is the conservation of mass. There is nothing to cite.
"""

from collections import Counter
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from orchestrator.core import rota
from orchestrator.core.adoption import still_holds
from orchestrator.core.days import DAYS_BACK, moved, moves_at
from orchestrator.core.days_events import DaysMoved
from orchestrator.core.due import next_due
from orchestrator.core.evolve import days as evolve_days
from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.material import books
from orchestrator.core.models import TaskKind, Upkeep
from orchestrator.core.models.kitchen import WEEKDAYS, WeeklyShift
from orchestrator.core.planning import plan_request
from orchestrator.core.state import LotRecord, LotStatus, State, TaskRecord, TaskStatus
from orchestrator.core.views.trace import trace_view
from orchestrator.core.whole import whole
from orchestrator.planner.plan import make_plan
from tests.core.balance import closes
from tests.core.script import Script
from tests.core.test_material import Life
from tests.fakes.kitchens import at
from tests.fakes.states import hardening

SEEDS = (9, 14, 21, 36, 37)
ZONE = ZoneInfo("Europe/London")
EVERY_DAY = WeeklyShift(days=WEEKDAYS, start="05:00", end="20:00")


def lived(seed: int, folder: Path) -> Life:
    life = Life(seed, folder)
    life.run(220)
    return life


@pytest.fixture(scope="module")
def lives(tmp_path_factory: pytest.TempPathFactory) -> list[Life]:
    folder = tmp_path_factory.mktemp("kitchen")
    return [lived(seed, folder) for seed in SEEDS]


def again(life: Life) -> Script:
    """A script that goes on where a life ended, and leaves that as it is."""
    told = life.script
    return Script(kitchen=told.kitchen, state=told.state, log=list(told.log), ids=told.ids)


def later(life: Life, days: int) -> datetime:
    return max(moves_at(life.script.kitchen), life.now) + timedelta(days=days)


def gone_on(state: State, now: datetime) -> tuple[State, DaysMoved]:
    event = moved(state, now)
    assert event is not None
    return evolve_days.apply(state, event), event


@pytest.mark.parametrize("days", [0, 3, 9])
def test_books_and_traces_say_the_same_before_and_after(lives: list[Life], days: int) -> None:
    for life in lives:
        before = life.script.state
        after, event = gone_on(before, later(life, days))
        was, now = books(before), books(after)
        assert now.accounts.keys() >= {str(lot) for lot in event.lots}
        for lot, account in was.accounts.items():
            # What was planned and never begun may go with what it was for.
            if account.how != "not begun" or lot in now.accounts:
                same = replace(now.accounts[lot], parts=(), leaves=()), set(now.accounts[lot].parts)
                assert same == (replace(account, parts=(), leaves=()), set(account.parts)), lot
                traced = trace_view(after, lot)
                assert Counter(map(str, traced.forward)) == Counter(map(str, trace_view(before, lot).forward)), lot
        closes(after, life.script.log)


@pytest.mark.parametrize("days", [0, 3, 9])
def test_planner_plans_on_with_what_the_books_say_is_left(lives: list[Life], days: int) -> None:
    for life in lives:
        now = later(life, days)
        after, _ = gone_on(life.script.state, now)
        request = plan_request(after, now)
        made = make_plan(request, effort="repair", seconds=1.0, deterministic=True)
        assert made.violations == ()
        assert made.plan is not None
        account = books(after).accounts
        shut = {lot for lot, record in after.lots.items() if record.status is not LotStatus.FREE}
        for batch in made.plan.batches:
            taken = [p for p in made.plan.pegs if p.lot == batch.lot]
            begun = {p.into for p in account[batch.lot].parts} if batch.lot in account else set()
            still = sum(p.quantity.value for p in taken if p.consumer not in begun)
            if batch.lot in account and account[batch.lot].how == "measured" and batch.lot not in shut:
                assert still <= account[batch.lot].left + 0.011, batch.lot


def test_solver_finds_a_plan_beside_work_of_former_days(lives: list[Life]) -> None:
    for life in lives[:3]:
        now = later(life, 3)
        after, _ = gone_on(life.script.state, now)
        # Somebody is there to work on those days, and something is wanted.
        crew = tuple(rota.with_weekly(m.model_copy(update={"shifts": (), "weekly": (EVERY_DAY,)}), ZONE, now.date())
                     for m in life.script.kitchen.crew)  # fmt: skip
        assert after.kitchen is not None
        wanted = [o.model_copy(update={"id": f"{o.id}-2", "due": now + timedelta(days=2), "earliest": None})
                  for o in life.script.kitchen.orders[:2]]  # fmt: skip
        after = replace(after, kitchen=after.kitchen.model_copy(update={"crew": crew, "orders": tuple(wanted)}))
        request = plan_request(after, now)
        made = make_plan(request, effort="full", seconds=1.0, seed=0, deterministic=True)
        assert made.violations == ()
        assert made.plan is not None
        assert {o.order: o.met for o in made.plan.outlooks} == {o.id: True for o in wanted}
        assert made.plan.simulated_runs > 0
        mine = [task for task in made.plan.tasks if task.order in {order.id for order in wanted}]
        assert mine
        assert all(task.start >= now for task in mine)


@pytest.mark.parametrize("days", [0, 3, 9])
def test_lot_leaves_no_sooner_than_what_took_of_it(lives: list[Life], days: int) -> None:
    """A plan keeps what something in it hangs on: else a batch would stay without what it is made of."""
    together = 0
    for life in lives:
        before = life.script.state
        after, event = gone_on(before, later(life, days))
        assert before.plan is not None
        assert after.plan is not None
        assert after.kitchen is not None
        still = {str(batch.lot) for batch in after.plan.batches} | {str(order.id) for order in after.kitchen.orders}
        for peg in before.plan.pegs:
            assert not (peg.lot in event.lots and peg.consumer in still), peg
            together += peg.lot in event.lots and peg.batch is not None and peg.batch in event.lots
    assert together > 0 or days == 0


def test_order_handed_over_only_since_the_days_begin_stays_however_long_ago_it_was_due(lives: list[Life]) -> None:
    """Somebody still looks at what was done today."""
    tried = 0
    for life in lives:
        state, now = life.script.state, later(life, 3)
        _, event = gone_on(state, now)
        assert state.plan is not None
        for order in event.orders:
            own = [t.id for t in state.plan.tasks if t.order == order and t.kind is TaskKind.WORK]
            done = [t for t in own if state.record(t).finished_at is not None]
            today = {t: replace(state.record(t), finished_at=event.planning_start + timedelta(hours=1)) for t in done}
            if today:
                tried += 1
                assert order not in gone_on(replace(state, tasks={**state.tasks, **today}), now)[1].orders
    assert tried > 0


def test_lots_and_orders_leave_and_codes_are_not_given_again(lives: list[Life]) -> None:
    told: Counter[str] = Counter()
    for life in lives:
        now = later(life, 3)
        after, event = gone_on(life.script.state, now)
        told.update(lots=len(event.lots), orders=len(event.orders), tasks=len(event.tasks))
        assert after.plan is not None
        assert after.kitchen is not None
        assert not {b.lot for b in after.plan.batches} & set(event.lots)
        assert not {o.id for o in after.kitchen.orders} & set(event.orders)
        assert not {t.id for t in after.plan.tasks} & set(event.tasks)
        assert {t.id for t in whole(after).plan.tasks} == {t.id for t in life.script.state.plan.tasks}  # type: ignore[union-attr]
        assert not {peg.consumer for peg in after.plan.pegs} & {*event.lots, *event.orders}
        assert Counter((*after.past.pegs, *after.plan.pegs)) == Counter(life.script.state.plan.pegs)  # type: ignore[union-attr]
        told.update(pegs=len(after.past.pegs))
        request = plan_request(after, now)
        assert set(request.used) == {*event.lots, *event.orders}
        made = make_plan(request, effort="repair", seconds=1.0, deterministic=True)
        assert made.plan is not None
        assert not {b.lot for b in made.plan.batches} & set(event.lots)
    assert min(told["lots"], told["orders"], told["tasks"]) > 0, told


def test_what_is_left_held_asked_about_or_in_work_stays(lives: list[Life]) -> None:
    for life in lives:
        state = life.script.state
        _, event = gone_on(state, later(life, 9))
        account = books(state).accounts
        for lot in event.lots:
            record = state.lots.get(lot)
            thrown = record is not None and record.status in (LotStatus.DISCARDED, LotStatus.REWORK)
            assert thrown or account[lot].left <= 1e-3, lot
            assert record is None or record.status is not LotStatus.ON_HOLD, lot
            assert not any(d.open and lot in d.lots for d in state.deviations.values())
        in_hand = {t for t, r in state.tasks.items() if r.status is TaskStatus.IN_HAND}
        work = {t.id for t in state.plan.tasks if t.kind is TaskKind.WORK}  # type: ignore[union-attr]
        assert not in_hand & work & set(event.tasks)


def test_last_run_of_a_cleaned_machine_stays_so_that_the_next_clean_is_known(lives: list[Life]) -> None:
    stayed = 0
    for life in lives:
        state = life.script.state
        assert state.plan is not None
        assert state.kitchen is not None
        _, event = gone_on(state, later(life, 9))
        for machine in (m.id for m in state.kitchen.equipment if m.cleaning is not None):
            runs = [
                (state.record(t.id).started_at, t.id)
                for t in state.plan.tasks
                if t.kind is TaskKind.WORK
                and (state.record(t.id).equipment or t.equipment) == machine
                and state.record(t.id).started_at is not None
            ]
            if runs:
                assert max(runs)[1] not in event.tasks
                stayed += 1
    assert stayed > 0


def test_last_run_stays_even_of_a_lot_that_was_thrown_away_long_ago() -> None:
    """The machine is to be cleaned after it, whatever became of what was in it; nobody wants either lot any more."""
    state = hardening()  # B1.churn at 09:00 and S1.churn at 10:00 on Thursday
    gone = {LotCode(lot): LotRecord(LotStatus.DISCARDED, at("Thu 12:00"), "spilt") for lot in ("B1", "S1")}
    assert state.kitchen is not None
    kitchen = state.kitchen.model_copy(update={"orders": ()})
    state = replace(state, kitchen=kitchen, lots={**state.lots, **gone})
    _, event = gone_on(state, at("Thu 12:00") + timedelta(days=12))
    assert TaskId("B1.churn") in event.tasks
    assert TaskId("S1.churn") not in event.tasks


def cleaned(state: State, task: str, when: str, **of: object) -> State:
    """The churn was cleaned for the night then, or for a lot."""
    assert state.plan is not None
    like = next(t for t in state.plan.tasks if t.id == "churn.clean.S1")
    update = {"id": TaskId(task), "lot": None, "order": None, "upkeep": Upkeep.DAY_END, "links": (), **of}
    plan = state.plan.model_copy(update={"tasks": (*state.plan.tasks, like.model_copy(update=update))})
    over = TaskRecord(status=TaskStatus.DONE, started_at=at(when), finished_at=at(when) + timedelta(minutes=20))
    return replace(state, plan=plan, tasks={**state.tasks, TaskId(task): over})


def test_cleans_for_the_night_leave_and_none_leaves_that_a_run_before_it_still_needs() -> None:
    state = hardening()  # B1.churn at 09:00 and S1.churn at 10:00 on Thursday; something is left of both
    state = cleaned(state, "churn.day-end.wed", "Wed 18:00")
    state = cleaned(state, "churn.day-end.between", "Thu 09:35")
    state = cleaned(state, "churn.hygiene.X9", "Thu 09:40", lot=LotCode("X9"), upkeep=Upkeep.HYGIENE)
    state = cleaned(state, "churn.day-end.thu", "Thu 18:00")
    event = moved(state, at("Thu 06:00") + timedelta(days=12))
    assert event is not None
    assert not {"B1", "S1"} & set(event.lots)
    assert {task for task in event.tasks if task.startswith("churn.")} == {"churn.day-end.wed"}


def test_plan_that_held_holds_on(lives: list[Life]) -> None:
    held = left = 0
    for life in lives:
        script = again(life)
        for now in (moves_at(script.kitchen), script.kitchen.planned_until - timedelta(hours=2)):
            made = make_plan(plan_request(script.state, now), effort="repair", seconds=1.0, deterministic=True)
            if made.plan is None:
                continue
            script.try_(now, "offer_plan", plan=made.plan, provisional=True)
            if still_holds(script.state, now):
                after, event = gone_on(script.state, now)
                held, left = held + 1, left + len(event.tasks)
                assert still_holds(after, now)
    assert held > 0
    assert left > 0


def fresh() -> Script:
    script = Script()
    script.give("Wed 06:00", "import_kitchen", kitchen=script.kitchen)
    return script


def test_days_go_on_a_day_before_they_end_by_a_tick_that_is_due_then() -> None:
    script = fresh()
    due = script.kitchen.planned_until - timedelta(days=1)
    assert moves_at(script.kitchen) == due
    assert moved(script.state, due - timedelta(seconds=1)) is None
    assert script.give(due - timedelta(minutes=1), "tick") == ()
    assert next_due(script.state, due - timedelta(minutes=1)) is not None
    event = next(e for e in script.give(due, "tick") if isinstance(e, DaysMoved))
    kitchen = script.state.kitchen
    assert kitchen is not None
    assert kitchen.local(event.planning_start).date() == kitchen.local(due).date() - timedelta(days=DAYS_BACK)
    assert kitchen.local(event.planning_start).time() == kitchen.local(script.kitchen.planning_start).time()
    assert kitchen.planned_until >= due + timedelta(days=script.kitchen.horizon_days)
    assert kitchen.first_start == script.kitchen.planning_start
    assert moves_at(kitchen) > due


def test_days_go_on_at_once_after_weeks_without_power() -> None:
    script = fresh()
    now = script.kitchen.planning_start + timedelta(days=100)
    soon = next_due(script.state, now)
    assert soon is not None
    assert soon - now <= timedelta(seconds=1)
    assert any(isinstance(event, DaysMoved) for event in script.give(now, "tick"))
    kitchen = script.state.kitchen
    assert kitchen is not None
    assert kitchen.planning_start <= now < kitchen.planned_until
    assert script.give(now + timedelta(minutes=1), "tick") == ()


def test_files_older_than_their_first_start_are_taken_over_with_the_days_of_now() -> None:
    script = Script()
    now = script.kitchen.planning_start + timedelta(days=30)
    events = script.give(now, "import_kitchen", kitchen=script.kitchen)
    on = next(event for event in events if isinstance(event, DaysMoved))
    kitchen = script.state.kitchen
    assert kitchen is not None
    assert kitchen.planning_start == on.planning_start <= now < kitchen.planned_until
    assert set(on.orders) == {order.id for order in script.kitchen.orders}  # due weeks ago: no work of this record
    assert kitchen.orders == ()
    assert script.give(now + timedelta(minutes=1), "tick") == ()


def test_order_due_far_ahead_keeps_the_days_as_long_as_it_needs() -> None:
    script = fresh()
    due = script.kitchen.planning_start + timedelta(days=20)
    line = {"product": script.kitchen.orders[0].lines[0].product, "quantity": "1 L"}
    order = {"id": "LATER", "customer": "Far ahead", "due": due, "lines": [line]}
    changes = [{"change": "add order", "order": order}]
    script.give("Wed 08:00", "change_kitchen", person="manager", changes=changes)
    now = script.kitchen.planning_start + timedelta(days=7)
    script.give(now, "tick")
    kitchen = script.state.kitchen
    assert kitchen is not None
    assert kitchen.planned_until >= due
    assert kitchen.planning_start == now - timedelta(days=DAYS_BACK)


def test_plan_made_before_the_days_went_on_is_not_taken(lives: list[Life]) -> None:
    for life in lives:
        script = again(life)
        now = script.kitchen.planned_until - timedelta(minutes=1)
        asked = plan_request(script.state, now - timedelta(seconds=4))
        old = make_plan(asked, effort="repair", seconds=1.0, deterministic=True).plan
        event = next(e for e in script.give(now, "tick") if isinstance(e, DaysMoved))
        if old is not None and event.lots:
            refusal = script.refused(now, "offer_plan", plan=old, provisional=True)
            assert refusal.status == "made before the days went on"
            return
    pytest.fail("nothing left in any of these lives")


def test_order_of_a_name_that_was_used_before_is_refused(lives: list[Life]) -> None:
    for life in lives:
        script = again(life)
        now = later(life, 3)
        event = next(e for e in script.give(now, "tick") if isinstance(e, DaysMoved))
        if not event.orders:
            continue
        old = next(o for o in life.script.state.kitchen.orders if o.id == event.orders[0])  # type: ignore[union-attr]
        same = old.model_copy(update={"due": now + timedelta(days=2), "earliest": None}).model_dump(mode="json")
        manager = next(m.id for m in script.kitchen.crew if m.manager)
        changes = [{"change": "add order", "order": same}]
        refusal = script.refused(now, "change_kitchen", person=manager, changes=changes)
        assert "of that name already" in refusal.status
        return
    pytest.fail("no order left in any of these lives")
