"""Attended work of the next hour stays in place when something else goes wrong, and yields to facts."""

import random
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from orchestrator.core.models import Kitchen, Plan, PlannedTask, PlanRequest, Stop, TaskKind
from orchestrator.kitchen.read import read_kitchen
from orchestrator.planner.imminent import hold_imminent, is_imminent
from orchestrator.planner.plan import workbench
from tests.fakes.drift import as_planned
from tests.fakes.tiny import at, tiny_request
from tests.planner.planned import planned

HOUR = timedelta(hours=1)


@pytest.fixture(scope="module")
def example() -> Kitchen:
    return read_kitchen(Path(__file__).parents[2] / "config")


def soon(plan: Plan, now: datetime) -> list[PlannedTask]:
    """Attended work of the next hour."""
    return [t for t in plan.tasks if t.kind is TaskKind.WORK and t.spans and now <= t.start <= now + HOUR]


def places(tasks: list[PlannedTask]) -> list[object]:
    return [(t.id, t.start, t.equipment, t.spans) for t in tasks]


@pytest.mark.parametrize("seed", range(6))
def test_imminent_work_is_not_moved_by_what_happens_elsewhere(example: Kitchen, seed: int) -> None:
    """A machine stops that none of the next hour's work wants, at a random instant when somebody is about to begin."""
    rng = random.Random(seed)
    first = PlanRequest(kitchen=example, now=example.planning_start)
    plan = planned(first)
    starts = [t.start for t in plan.tasks if t.spans and t.start > example.planning_start + HOUR]
    now = rng.choice(starts) - timedelta(minutes=rng.choice([5, 20, 40]))
    request = as_planned(first, plan, now)
    ahead = soon(plan, now)
    assert ahead
    busy = {t.equipment for t in plan.tasks if t.start <= now + HOUR and t.end > now}
    idle = [e.id for e in example.equipment if e.id not in busy and not e.store]
    stop = Stop(equipment=rng.choice(idle), start=now, end=now + timedelta(hours=rng.choice([6, 24])))
    request = request.model_copy(update={"stops": (stop,)})
    quick = planned(request)
    assert places([quick.task(t.id) for t in ahead]) == places(ahead)


def test_imminent_work_stays_in_a_search_that_could_do_better_by_moving_it(example: Kitchen) -> None:
    first = PlanRequest(kitchen=example, now=example.planning_start)
    plan = planned(first)
    churn = plan.task("S1.churn")
    request = as_planned(first, plan, churn.start - timedelta(minutes=30))
    # An order more, of what is churned on the same machine, wants its place.
    more = example.orders[0].model_copy(update={"id": "MORE", "due": example.orders[-1].due, "weight": 50})
    kitchen = example.model_copy(update={"orders": (*example.orders, more)})
    request = request.model_copy(update={"kitchen": kitchen})
    ahead = soon(plan, request.now)
    full = planned(request, effort="full")
    assert "S1.churn" in {t.id for t in ahead}
    assert places([full.task(t.id) for t in ahead]) == places(ahead)
    assert {o.order for o in full.outlooks if o.met} >= {"MORE"}


def test_imminent_work_yields_when_its_machine_stops() -> None:
    first = planned(tiny_request())
    churn = first.task("B1.churn")
    now = churn.start - timedelta(minutes=30)
    stop = Stop(equipment="churn", start=now, end=churn.start + timedelta(minutes=10))
    request = as_planned(tiny_request(), first, now).model_copy(update={"stops": (stop,)})
    bench = workbench(request)
    index = next(i for i, job in enumerate(bench.problem.jobs) if job.id == "B1.churn")
    assert is_imminent(bench.problem, index)
    assert hold_imminent(bench.problem, bench.schedule).jobs[index] == bench.problem.jobs[index]
    moved = planned(request, effort="full").task("B1.churn")
    # Back ten minutes after it should have begun; hardened for 4 h and handed over, the order is still on time.
    assert (churn.start, moved.start) == (at(3, "06:00"), at(3, "06:10"))


def test_imminent_work_is_held_on_its_minute_machine_and_people() -> None:
    first = planned(tiny_request())
    cook = first.task("C1.cook")
    request = as_planned(tiny_request(), first, cook.start - timedelta(minutes=60))
    bench = workbench(request)
    held = hold_imminent(bench.problem, bench.schedule).jobs
    index = next(i for i, job in enumerate(held) if job.id == "C1.cook")
    minute = (cook.start - bench.problem.origin) // timedelta(minutes=1)
    assert (held[index].release, held[index].latest, held[index].workers) == (minute, minute, (0,))
    assert [job for i, job in enumerate(held) if i != index] == [
        job for i, job in enumerate(bench.problem.jobs) if i != index
    ]
    earlier = as_planned(tiny_request(), first, cook.start - timedelta(minutes=61))
    bench = workbench(earlier)
    assert hold_imminent(bench.problem, bench.schedule) is bench.problem
