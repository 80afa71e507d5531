"""Each rule that can hold a task: a kitchen in which it alone does, solved by hand, and it is named with figures.

A checker's verdict on the plan with the task a minute off is the proof that nothing else holds it.
Not among these kitchens: a latest start, stores that are full, the horizon, and what has begun or is held in place.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from orchestrator.core.check import check
from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import PlanRequest, Stop
from orchestrator.core.models.explanation import HoldKind
from orchestrator.planner import constraints
from orchestrator.planner.plan import make_plan
from orchestrator.planner.why import why
from tests.planner.by_hand import Data, at, hands, kitchen, machine, order, person, recipe, shift, step
from tests.planner.test_why import shifted

MINUTE = timedelta(minutes=1)
ONE, TWO = ("basil", "4 L"), ("basil", "8 L")


def run(minutes: int = 30, name: str = "run", on: str = "oven", **told: object) -> Data:
    return step(name, minutes, equipment=on, load="4 L", **told)


def oven(name: str = "oven", **told: object) -> Data:
    return machine(name, "oven", capacity="4 L", **told)


def basil(*steps: Data, **told: object) -> Data:
    return recipe("basil", "B", list(steps) or [run()], **told)


def nut(*steps: Data) -> Data:
    return recipe("nut", "N", list(steps) or [run()])


def both(due: str = "10:00") -> list[Data]:
    return [order(due, ONE, name="A"), order(due, ("nut", "4 L"), name="C")]


@dataclass(frozen=True)
class Case:
    """A kitchen, where its tasks are put, the task that is asked about, and the answer."""

    rule: str
    asks: Callable[[Path], PlanRequest]
    puts: dict[str, str]
    """Task → start; all others stay where the planner has them, in no one's way."""
    task: str
    minutes: int
    kind: HoldKind
    says: str
    breaks: set[str] = field(default_factory=set)
    """The checker's rules that a minute more would break."""


def _stopped(folder: Path) -> PlanRequest:
    request = kitchen(folder, [oven()], [basil()], [order("10:00", ONE)])
    start, end = (datetime.fromisoformat(f"2026-11-25T{clock}:00+00:00") for clock in ("07:00", "08:00"))
    return request.model_copy(update={"stops": (Stop(equipment=EquipmentId("oven"), start=start, end=end),)})


FREEZER = machine("freezer", "freezer", capacity="10 L", shared=True, heat={"alone": "5 L", "crowded": 1.5})
HYGIENE = {"rinse": "5 min", "full": "20 min", "hygiene": "15 min", "every": "60 min", "skill": "clean"}
COLD = {"minutes": "15 min", "keeps": "60 min"}

CASES = (
    Case(
        "order",
        lambda folder: kitchen(folder, [oven()], [basil()], [order("10:00", ONE)]),
        {"B1.run": "07:00", "O.B.hand-over": "07:30"},
        "B1.run",
        1,
        HoldKind.FOLLOWS,
        "'Hand over Basil for O' (O) follows 'run it' (B1) at Wed 25 Nov 07:30",
        {"order"},
    ),
    Case(
        "windows",
        lambda folder: kitchen(
            folder,
            [oven()],
            [
                basil(
                    step("mix", 20, station="bench"),
                    run(after=[{"step": "mix", "least": "0 min", "most": "10 min", "window": "safety"}]),
                )
            ],
            [order("10:00", ONE)],
        ),
        {"B1.mix": "07:00", "B1.run": "07:30", "O.B.hand-over": "09:00"},
        "B1.run",
        1,
        HoldKind.WINDOW,
        "'run it' (B1) must begin within 10 min of 'mix it' (B1) (safety window)",
        {"safety window"},
    ),
    Case(
        "machines",
        _stopped,
        {"B1.run": "06:30", "O.B.hand-over": "09:00"},
        "B1.run",
        1,
        HoldKind.STOPPED,
        "the oven is stopped from Wed 25 Nov 07:00 to Wed 25 Nov 08:00",
        {"stopped"},
    ),
    Case(
        "capacity",
        lambda folder: kitchen(folder, [oven()], [basil()], [order("10:00", TWO)]),
        {"B1.run": "07:00", "B2.run": "07:30", "O.B.hand-over": "09:00"},
        "B2.run",
        -1,
        HoldKind.MACHINE,
        "'run it' (B1) has the oven until Wed 25 Nov 07:30",
        {"double booked"},
    ),
    Case(
        "heat",
        lambda folder: kitchen(
            folder, [FREEZER], [basil(run(100, on="freezer"))], [order("12:00", TWO)], crew=[person()]
        ),
        {"B1.run": "06:10", "B2.run": "07:50", "O.B.hand-over": "11:00"},
        "B1.run",
        1,
        HoldKind.HEAT,
        "with 'run it' (B2) 8 L of warm food would be together in the freezer, where 5 L freeze at the usual pace",
        {"heat"},
    ),
    Case(
        "precools",
        lambda folder: kitchen(folder, [oven(precool=COLD)], [basil()], [order("10:00", ONE)]),
        {"oven.pre-cool.B1": "06:05", "B1.run": "07:20", "O.B.hand-over": "09:00"},
        "B1.run",
        1,
        HoldKind.RULE,
        "B1.run starts Wed 25 Nov 07:21 on oven, which last ran or was pre-cooled until "
        "Wed 25 Nov 06:20: it must be cold",
        {"pre-cool"},
    ),
    Case(
        "day_ends",
        lambda folder: kitchen(
            folder, [oven(day_end={"minutes": "30 min", "skill": "clean"})], [basil()], [order("13:50", ONE)]
        ),
        {"B1.run": "11:30", "oven.day-end.2026-11-25": "12:00", "O.B.hand-over": "13:20"},
        "B1.run",
        1,
        HoldKind.CLEAN,
        "the day-end clean of the oven lasts from Wed 25 Nov 12:00 to Wed 25 Nov 12:30",
        {"double booked", "day-end clean", "order"},
    ),
    Case(
        "hygiene",
        lambda folder: kitchen(folder, [oven(cleaning=HYGIENE)], [basil(run(25))], [order("10:00", TWO)]),
        {"B1.run": "07:00", "B2.run": "07:35", "O.B.hand-over": "09:00"},
        "B2.run",
        1,
        HoldKind.RULE,
        "oven would be in use for 61 min from B1.run to B2.run, without a thorough clean",
        {"hygiene clean"},
    ),
    Case(
        "clean_downs",
        lambda folder: kitchen(folder, [oven(cleaning=HYGIENE)], [basil(run(10)), nut(run(10))], both()),
        {"B1.run": "07:00", "oven.clean.N1": "07:10", "N1.run": "07:15", "A.B.hand-over": "09:00"},
        "B1.run",
        1,
        HoldKind.CLEAN,
        "the rinse of the oven lasts from Wed 25 Nov 07:10 to Wed 25 Nov 07:15",
        {"double booked", "clean-down", "order"},
    ),
    Case(
        "crew",
        lambda folder: kitchen(folder, [oven(), oven("other")], [basil(run(**hands())), nut(run(**hands()))], both()),
        {"B1.run": "07:00", "N1.run": "07:30", "A.B.hand-over": "09:00", "C.N.hand-over": "09:00"},
        "N1.run",
        -1,
        HoldKind.PERSON,
        "Cook at 'run it' (B1)",
        {"two things at once", "double booked"},
    ),
    Case(
        "shift",
        lambda folder: kitchen(
            folder,
            [oven()],
            [basil(run(**hands()))],
            [order("10:00", ONE)],
            crew=[person("cook", "make", shift(0, "07:00"))],
        ),
        {"B1.run": "07:00", "O.B.hand-over": "09:00"},
        "B1.run",
        -1,
        HoldKind.SHIFT,
        "Cook is not at work before Wed 25 Nov 07:00, nor is anybody else with the skill make",
        {"shift"},
    ),
    Case(
        "hand_over",
        lambda folder: kitchen(folder, [oven()], [basil()], [order("10:00", ONE, earliest=at("09:00"))]),
        {"B1.run": "07:00", "O.B.hand-over": "09:00"},
        "O.B.hand-over",
        -1,
        HoldKind.RELEASE,
        "'Hand over Basil for O' (O) may not be begun before Wed 25 Nov 09:00",
        {"outlook"},
    ),
    Case(
        "now",
        lambda folder: kitchen(folder, [oven()], [basil()], [order("10:00", ONE)]),
        {"B1.run": "06:00", "O.B.hand-over": "09:00"},
        "B1.run",
        -1,
        HoldKind.NOW,
        "it is planned for now, Wed 25 Nov 06:00",
        {"present", "horizon"},
    ),
    Case(
        "release",
        lambda folder: kitchen(
            folder,
            [oven()],
            [basil(run(takes=[{"ingredient": "milk", "amount": "4 L", "allergens": ["milk"]}]))],
            [order("10:00", ONE)],
            supplies=[{"ingredient": "milk", "ready": at("07:00"), "why": "delivery"}],
        ),
        {"B1.run": "07:00", "O.B.hand-over": "09:00"},
        "B1.run",
        -1,
        HoldKind.RELEASE,
        "'run it' (B1) may not be begun before Wed 25 Nov 07:00: milk is not there",
        {"supplies"},
    ),
)

NO_HOLD = {"last_stays", "paths"}
"""The first says when a stay ends that nothing waits for, the second follows from the others: neither holds work."""


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.rule)
def test_why_names_the_rule_that_alone_holds_a_task(case: Case, tmp_path: Path) -> None:
    request = case.asks(tmp_path)
    plan = make_plan(request, effort="full", seconds=1, deterministic=True).plan
    assert plan is not None
    for name, start in case.puts.items():
        by = datetime.fromisoformat(f"2026-11-25T{start}:00+00:00") - plan.task(TaskId(name)).start
        plan = shifted(plan, {TaskId(name)}, by, request)
    assert check(plan, request) == ()
    answer = why(request, plan, TaskId(case.task))
    holds = (answer.earlier if case.minutes < 0 else answer.later).holds
    assert [(hold.kind, hold.says) for hold in holds] == [(case.kind, case.says)]
    off = shifted(plan, {TaskId(case.task)}, case.minutes * MINUTE, request)
    broken = {violation.rule for violation in check(off, request)}
    assert broken
    assert broken <= case.breaks


def test_why_has_a_kitchen_for_every_rule_of_the_model_that_holds_work() -> None:
    assert {rule.__name__ for rule in constraints.ALL} - {case.rule for case in CASES} == NO_HOLD
