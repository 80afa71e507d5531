"""Material in = material out + measured loss + left, in kitchens made by chance and lived through by chance.

What is compared stands apart from the books: where the plan had food standing and for whom (`stay_books`), the recipes'
amounts, and what the log says was measured. That in a closed process what goes in comes out, stays or is lost is
the conservation of mass; there is nothing to cite.
"""

import random
from collections import defaultdict
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from orchestrator.core.decide import Decision
from orchestrator.core.ids import LotCode
from orchestrator.core.material import books, yielded
from orchestrator.core.models import Measure, PlannedTask, TaskKind
from orchestrator.core.planning import plan_request
from orchestrator.core.state import TaskStatus
from orchestrator.kitchen import read_kitchen
from orchestrator.planner.plan import make_plan
from tests.core.balance import EPS, closes
from tests.core.script import Script, cook, in_a_planned_kitchen, with_base_aged
from tests.fakes.chance_kitchens import write_chance_kitchen


class Life:
    """A chance crew follows chance plans, with lots thrown away, held, counted and starts taken back."""

    def __init__(self, seed: int, folder: Path) -> None:
        self.chance, self.folder = random.Random(seed), folder
        self.unplanned = 0
        self.script = Script(kitchen=read_kitchen(write_chance_kitchen(folder, self.chance)))
        self.script.give(self.script.kitchen.planning_start, "import_kitchen", kitchen=self.script.kitchen)
        self.now = self.script.kitchen.planning_start
        self.who = self.script.kitchen.crew[0].id
        self.plan()

    def plan(self) -> None:
        """Plan anew; where so wild a life leaves nothing that can be planned, that is counted, and the plan stands."""
        made = make_plan(plan_request(self.script.state, self.now), effort="repair", seconds=1.0, deterministic=True)
        self.unplanned += made.plan is None
        if made.plan is not None:
            self.script.try_(self.now, "offer_plan", plan=made.plan, provisional=True)

    def act(self, kind: str, **what: Any) -> bool:
        return isinstance(self.script.try_(self.now, kind, person=self.who, **what), Decision)

    def run(self, steps: int) -> None:
        for _ in range(steps):
            self.now += timedelta(minutes=self.chance.choice([1, 5, 20, 40]))
            if self.now >= self.script.kitchen.planned_until:
                return
            self.one()
            if self.chance.random() < 0.04:
                self.plan()

    def one(self) -> None:
        state, chance = self.script.state, self.chance
        assert state.plan is not None
        hand = [t for t in state.plan.tasks if state.record(t.id).status is TaskStatus.IN_HAND]
        work = [t for t in hand if t.kind is not TaskKind.STAY]
        waits = [t for t in state.plan.tasks if state.record(t.id).status is TaskStatus.WAITING]
        throw = chance.random()
        if throw < 0.03 and state.acts:
            self.act("undo", act=state.acts[-1].seq)
        elif throw < 0.06:
            self.trouble(hand)
        elif throw < 0.08 and books(state).accounts:
            self.count()
        elif throw < 0.1 and waits:
            self.act("skip_task", task=waits[0].id, reason="left out")
        elif work and throw < 0.5:
            self.finish(chance.choice(work))
        else:
            self.begin(sorted(waits, key=lambda t: t.start))

    def begin(self, waits: list[PlannedTask]) -> None:
        for task in waits[:12]:
            if task.start - self.now > timedelta(hours=4):
                continue
            if self.act("start_task", task=task.id, override_reason="by chance", checked=self.gates(task)):
                return

    def gates(self, task: PlannedTask) -> list[str]:
        kitchen = self.script.kitchen
        steps = (s for r in kitchen.recipes if r.id == task.recipe for s in r.steps if s.id == task.step)
        return [gate.says for step in steps for gate in step.gates]

    def finish(self, task: PlannedTask) -> None:
        steps = [s for r in self.script.kitchen.recipes if r.id == task.recipe for s in r.steps if s.id == task.step]
        measure = steps[0].measure if steps else None
        value = 0.0 if task.quantity is None else round(task.quantity.value * self.chance.uniform(0.8, 1.1), 3)
        if measure is Measure.TEMPERATURE_C:
            value = -16.0
        measured = {measure.value: max(value, 0.001) if value >= 0 else value} if measure is not None else {}
        self.act("finish_task", task=task.id, measured=measured, override_reason="by chance")

    def trouble(self, hand: list[PlannedTask]) -> None:
        mine = [t for t in hand if t.lot is not None]
        if mine:
            task = self.chance.choice(mine)
            self.act("report_problem", task=task.id, what="quality", hold_lot=True)
            self.act(
                "decide_lot", lot=task.lot, decision=self.chance.choice(["discard", "release", "discard"]), reason="x"
            )

    def count(self) -> None:
        account = self.chance.choice(list(books(self.script.state).accounts.values()))
        counted = round(max(0.0, account.left) * self.chance.uniform(0.0, 1.0), 3)
        self.act("count_stock", lot=account.lot, counted=f"{counted} {account.unit}", reason="counted")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("kitchen")


@settings(
    max_examples=4,
    deadline=None,
    derandomize=True,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(seed=st.integers(0, 1_000_000))
def test_material_of_a_chance_kitchen_balances_whatever_happens(seed: int, folder: Path) -> None:
    life = Life(seed, folder)
    for _ in range(2):
        life.run(50)
        closes(life.script.state, life.script.log)


def test_chance_lives_hold_what_the_books_are_for(folder: Path) -> None:
    # So that the property above is no property of empty kitchens.
    told: dict[str, int] = defaultdict(int)
    for seed in range(3):
        life = Life(seed, folder)
        life.run(110)
        assert not life.unplanned, seed
        for account in closes(life.script.state, life.script.log).accounts.values():
            told["taken"] += bool(account.parts)
            told["handed over"] += account.handed_over > 0
            told["lost"] += account.lost > 0
            told["counted"] += account.corrected != 0
            told["short"] += account.short > EPS
            told[account.how] += 1
    assert min(told[what] for what in ("taken", "lost", "counted", "handed over")) > 0


def test_measured_yield_counts_from_then_on_and_who_takes_last_gets_what_is_there() -> None:
    # By hand: 5 L of base as planned, all into B1; 4.6 L drawn off where 4.8 L were planned and promised.
    script = with_base_aged(in_a_planned_kitchen())
    cook(script, "B1.churn", "Thu 09:00", "Thu 09:30", measured={"volume_l": 4.6})
    script.give("Sat 10:20", "start_task", task="SAT-STALL.B.temper", person="counter-hand")
    book = books(script.state)
    base, custard = book.accounts["C1"], book.accounts["B1"]
    assert (base.start, base.how, base.taken, base.left) == (5.0, "planned", 5.0, 0.0)
    assert (custard.start, custard.how, custard.taken, custard.left) == (4.6, "measured", 4.6, 0.0)
    assert custard.short == pytest.approx(0.2)
    assert (custard.handed_over, book.forward("C1")) == (0.0, ("B1", "SAT-STALL"))
    given = yielded(script.state, LotCode("B1"))
    assert given is not None
    # 5 L by the recipe, 0.2 L of it in the machine, 4.6 L measured: 0.2 L besides.
    assert (given.expected, given.in_machines, given.made) == (5.0, 0.2, 4.6)
    assert given.difference == pytest.approx(0.2)


def test_start_taken_back_gives_back_what_it_took_and_thrown_away_is_lost() -> None:
    script = with_base_aged(in_a_planned_kitchen())
    script.give("Thu 09:00", "start_task", task="B1.churn", person="early-cook")
    assert books(script.state).accounts["C1"].left == 0.0
    script.give("Thu 09:01", "undo", act=script.state.acts[-1].seq, person="early-cook")
    assert books(script.state).accounts["C1"].left == 5.0
    script.give("Thu 09:02", "report_problem", task="C1.age.B1", what="quality", hold_lot=True, person="early-cook")
    script.give("Thu 09:03", "decide_lot", lot="C1", decision="discard", reason="sour", person="early-cook")
    account = books(script.state).accounts["C1"]
    assert (account.lost, account.left, account.parts) == (5.0, 0.0, ())
