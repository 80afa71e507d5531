"""Last instants of the tiny kitchen, worked out by hand; and of the example kitchen, each planned for real."""

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from orchestrator.core.check import check
from orchestrator.core.models import Actual, Kitchen, Maintenance, Plan, PlanRequest, Shift, Stop
from orchestrator.core.models.questions import InstantsAnswer, InstantsQuestion
from orchestrator.kitchen.read import read_kitchen
from orchestrator.planner.answers import answer
from orchestrator.planner.plan import make_plan
from tests.fakes.tiny import START, at, tiny_request
from tests.planner.by_hand import hands, kitchen, machine, order, person, recipe, shift, step
from tests.planner.planned import planned

FOREVER = START + timedelta(days=5)


def asked(request: PlanRequest, plan: Plan, *, exact: bool = True, most: int = 10**6) -> InstantsAnswer:
    """Stopped after so many repairs."""
    left = [most]

    def stop() -> bool:
        left[0] -= 1
        return left[0] < 0

    told = answer(InstantsQuestion(request=request, plan=plan, until=FOREVER if exact else START), stop)
    assert isinstance(told, InstantsAnswer)
    return told


def test_last_instants_of_the_tiny_kitchen_are_those_worked_out_by_hand() -> None:
    request = tiny_request()
    told = asked(request, planned(request))
    # Due Sat 11:00. Handing over takes 10 min; hardening 240 min before that, churning 20 min: 06:30, when the early
    # cook is there (from 06:00). Ageing takes 12 h before that, so the base must be cooked by Fri 18:30; but the cook
    # goes home at 14:00, and cooking takes 40 min.
    assert [(s.task, s.at, s.exact) for s in told.starts] == [
        ("C1.cook", at(2, "13:20"), True),
        ("B1.churn", at(3, "06:30"), True),
        ("SAT-STALL.B.hand-over", at(3, "10:50"), True),
    ]
    assert (told.returns, told.complete) == ((), True)


def test_last_instants_of_far_tasks_are_safe_bounds_and_say_so() -> None:
    request = tiny_request()
    plan = planned(request)
    exact = {s.task: s.at for s in asked(request, plan).starts}
    rough = asked(request, plan, exact=False).starts
    assert len(rough) == 3
    assert all(plan.task(s.task).start <= s.at <= exact[s.task] for s in rough)
    assert [s.task for s in rough if s.at < exact[s.task] and s.exact] == []


def test_last_return_of_the_churn_is_when_the_order_can_still_be_churned() -> None:
    """The base is cooked and ages since Thu 13:40; the churn stands on Saturday morning."""
    first = planned(tiny_request())
    cook = first.task("C1.cook")
    done = Actual(
        task="C1.cook", status="done", start=cook.start, end=cook.end, equipment="hob-1", crew=("early-cook",)
    )
    stop = Stop(equipment="churn", start=at(3, "05:00"), end=at(3, "07:00"))
    request = tiny_request(now=at(3, "05:00"), previous=first, actuals=(done,), stops=(stop,))
    told = asked(request, planned(request))
    # By 06:30 for the order, as above. The base may age 72 h, until Sun 13:40: its window outlasts the order, and is
    # kept as long as the run, 4 h of hardening and the late hand-over fit into Sunday, by 17:00: churned by 12:30.
    # So far ahead returns are tried in steps of ten minutes at most.
    assert [(r.order, r.task) for r in told.returns] == [("SAT-STALL", None), (None, "B1.churn")]
    assert told.returns[0].at == at(3, "06:30")
    window = told.returns[1].at
    assert window is not None
    assert timedelta(0) <= at(4, "12:30") - window <= timedelta(minutes=10)


def test_last_return_that_no_longer_exists_is_told_as_none() -> None:
    first = planned(tiny_request())
    cook = first.task("C1.cook")
    done = Actual(
        task="C1.cook", status="done", start=cook.start, end=cook.end, equipment="hob-1", crew=("early-cook",)
    )
    stop = Stop(equipment="churn", start=at(3, "05:00"), end=at(3, "09:00"))
    request = tiny_request(now=at(3, "07:00"), previous=first, actuals=(done,), stops=(stop,))
    told = asked(request, planned(request))
    assert [r.at for r in told.returns if r.order == "SAT-STALL"] == [None]


# A stop that was told for later


def _base_ages(**told: Any) -> PlanRequest:
    """Friday 20:00: the base is cooked and ages, the cooks have gone home. In the morning the churn stops at 05:00."""
    first = planned(tiny_request())
    cook = first.task("C1.cook")
    done = Actual(
        task="C1.cook", status="done", start=cook.start, end=cook.end, equipment="hob-1", crew=("early-cook",)
    )
    return tiny_request(now=at(2, "20:00"), previous=first, actuals=(done,), **told)


def _orders(told: InstantsAnswer) -> list[datetime | None]:
    return [found.at for found in told.returns if found.order == "SAT-STALL"]


def test_last_return_from_a_stop_told_for_later_is_to_the_minute() -> None:
    request = _base_ages(stops=(Stop(equipment="churn", start=at(3, "05:00"), end=at(3, "06:10")),))
    # Churned by 06:30 for the order, as above; it is nine hours until the stop begins, and 90 minutes after that.
    assert _orders(asked(request, planned(request))) == [at(3, "06:30")]


def test_last_return_from_a_stop_that_comes_after_the_run_is_of_no_concern() -> None:
    request = _base_ages(stops=(Stop(equipment="churn", start=at(3, "06:20"), end=at(3, "09:00")),))
    # The early cook churns from 06:00 to 06:20.
    assert asked(request, planned(request)).returns == ()


def test_last_return_from_a_stop_that_may_not_be_at_all_is_its_own_beginning() -> None:
    request = _base_ages(stops=(Stop(equipment="churn", start=at(3, "06:35"), end=at(3, "06:40")),))
    before = planned(request)
    # The cook comes at 06:30 only: her run of 20 min needs the minutes at which the stop would begin.
    late_cook = tuple(
        member.model_copy(update={"shifts": tuple(_from_half_past(s) for s in member.shifts)})
        for member in request.kitchen.crew
    )
    kitchen = request.kitchen.model_copy(update={"crew": late_cook})
    told = asked(request.model_copy(update={"kitchen": kitchen, "previous": before}), before)
    assert _orders(told) == [at(3, "06:35")]


def _from_half_past(shift: Shift) -> Shift:
    """From 06:30 on Saturday."""
    starts = at(3, "06:30")
    return shift.model_copy(update={"start": starts}) if at(3, "00:00") < shift.start < starts else shift


def test_last_return_from_maintenance_is_looked_for_too() -> None:
    plain = _base_ages()
    away = Maintenance(start=at(3, "05:00"), end=at(3, "06:10"), why="new blade")
    request = _with_maintenance(plain, away)
    assert _orders(asked(request, planned(request))) == [at(3, "06:30")]


def test_last_return_from_one_stop_leaves_the_next_where_it_is() -> None:
    # The run takes 20 min. Maintenance at 06:20 leaves it only the minutes from 06:00, when the cook comes.
    away = Maintenance(start=at(3, "06:20"), end=at(3, "06:50"), why="new blade")
    stops = (Stop(equipment="churn", start=at(3, "05:00"), end=at(3, "05:30")),)
    request = _with_maintenance(_base_ages(stops=stops), away)
    assert _orders(asked(request, planned(request))) == [at(3, "06:00")]


def _with_maintenance(request: PlanRequest, away: Maintenance) -> PlanRequest:
    equipment = tuple(
        machine.model_copy(update={"maintenance": (away,)}) if machine.id == "churn" else machine
        for machine in request.kitchen.equipment
    )
    return request.model_copy(update={"kitchen": request.kitchen.model_copy(update={"equipment": equipment})})


# The latest start of work whose food must be used by an instant


@pytest.mark.parametrize(("use_by", "boil", "give"), [("11:10", "09:40", "10:40"), ("14:00", "10:30", "11:30")])
def test_latest_start_keeps_the_use_by_and_moves_the_rest(tmp_path: Path, use_by: str, boil: str, give: str) -> None:
    """Jam is boiled from puree on hand, and is good for no longer than that; the same cook kneads bread for an hour."""
    puree = recipe("puree", "P", [step("press", 10, station="bench"), _kept()], makes="component")
    boiling = step("boil", 60, equipment="hob", takes=[{"component": "puree", "amount": "4 L"}], **hands())
    giving = step("give", 30, station="bench", per="order", **hands(skill="serve"))
    jam = recipe("jam", "J", [boiling, giving])
    bread = recipe("bread", "B", [step("knead", 60, station="bench", **hands()), giving])
    lot = {"lot": "P7", "recipe": "puree", "quantity": "4 L", "made": "2026-11-25T05:00", "place": "fridge"}
    machines = [machine("hob", "hob"), machine("fridge", "fridge", capacity="4 L", shared=True, store=True)]
    orders = [order("12:00", ("jam", "4 L"), name="J"), order("13:00", ("bread", "4 L"), name="B")]
    crew = [person("cook", "make", shift()), person("clerk", "serve", shift())]
    stock = [{**lot, "use_by": f"2026-11-25T{use_by}"}]
    request = kitchen(tmp_path, machines, [puree, jam, bread], orders, crew=crew, stock=stock)
    told = {found.task: (f"{found.at:%H:%M}", found.exact) for found in asked(request, planned(request)).starts}
    # Handed over by its use-by, or by noon, when it is due: that takes half an hour, boiling an hour before that. The
    # bread, given from 12:30, is kneaded after that, by 11:30 at the latest, or else before it.
    assert (told["J1.boil"], told["J.J.give"]) == ((boil, True), (give, True))
    assert (told["B1.knead"], told["B.B.give"]) == (("11:30", True), ("12:30", True))


def _kept() -> dict[str, Any]:
    return step("keep", process="store", equipment="fridge", load="4 L", stay={"most": "1 d"})


def test_last_instants_stopped_half_way_keep_what_was_found() -> None:
    request = tiny_request()
    told = asked(request, planned(request), most=2)
    assert not told.complete
    assert [s.task for s in told.starts] == ["C1.cook"]
    assert told.starts[0].at == at(2, "13:20")


@pytest.fixture(scope="module")
def example() -> Kitchen:
    return read_kitchen(Path(__file__).parents[2] / "config")


def test_last_instants_of_the_example_are_witnessed_by_plans(example: Kitchen) -> None:
    """A task that begins at its last instant, held there: the planner still finds all orders on time."""
    request = PlanRequest(kitchen=example, now=example.planning_start)
    plan = planned(request)
    late = {outlook.order: outlook.late_min for outlook in plan.outlooks}
    until = request.now + timedelta(hours=12)
    told = answer(InstantsQuestion(request=request, plan=plan, until=until, part="near"))
    assert isinstance(told, InstantsAnswer)
    near = {task.id for task in plan.tasks if task.kind == "work" and task.start <= until}
    assert {start.task for start in told.starts} == near
    for start in told.starts:
        task = plan.task(start.task)
        length = task.end - task.start
        there = task.model_copy(
            update={"start": start.at, "end": start.at + length, "held_in_place": True, "spans": task.spans}
        )
        moved = plan.model_copy(update={"tasks": tuple(there if t.id == task.id else t for t in plan.tasks)})
        again = request.model_copy(update={"previous": moved})
        witness = make_plan(again, effort="repair", seconds=1)
        assert witness.plan is not None, (start, witness.violations)
        assert witness.plan.task(start.task).start == start.at
        assert check(witness.plan, again) == ()
        assert {o.order: o.late_min for o in witness.plan.outlooks} == late


@pytest.mark.slow
def test_last_returns_of_the_example_are_witnessed_by_plans(example: Kitchen) -> None:
    """The churn back at the instant named for an order: a repair made then has the order on time."""
    now = example.planning_start
    plan = planned(PlanRequest(kitchen=example, now=now))
    stop = Stop(equipment="churn", start=now, end=now + timedelta(hours=2))
    request = PlanRequest(kitchen=example, now=now, previous=plan, stops=(stop,))
    told = answer(InstantsQuestion(request=request, plan=plan, until=now, part="near"))
    assert isinstance(told, InstantsAnswer)
    saved = {r.order: r.at for r in told.returns if r.order is not None and r.at is not None}
    # All of them wait for the churn, and are on time in the plan, which runs it after the two hours.
    assert set(saved) == {o.order for o in plan.outlooks if o.met and o.late_min == 0} == {o.id for o in example.orders}
    assert min(saved.values()) > stop.end
    for name, at_last in saved.items():
        held_up = request.model_copy(update={"stops": (stop.model_copy(update={"end": at_last}),)})
        witness = planned(held_up)
        assert check(witness, held_up) == ()
        assert {o.order: o.late_min for o in witness.outlooks}[name] == 0
