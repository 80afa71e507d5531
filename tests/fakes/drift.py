"""Reality for planner tests: what a plan looks like some hours later, with every task a little off."""

import random
from dataclasses import dataclass
from datetime import datetime, timedelta

from orchestrator.core.ids import CrewId, TaskId
from orchestrator.core.models import Actual, Plan, PlannedTask, PlanRequest, TaskKind


def as_planned(request: PlanRequest, plan: Plan, now: datetime) -> PlanRequest:
    """Everything has happened to the minute until now."""
    facts = tuple(
        Actual(
            task=task.id,
            status="done" if task.end <= now else "in hand",
            start=task.start,
            end=task.end,
            equipment=task.equipment,
            crew=task.spans[0].crew if task.spans else (),
        )
        for task in plan.tasks
        if task.start < now
    )
    return request.model_copy(update={"now": now, "previous": plan, "actuals": facts})


@dataclass
class _Day:
    """A crew that follows a plan, late and off by chance; nobody does two things at once."""

    plan: Plan
    known: dict[TaskId, Actual]
    now: datetime
    rng: random.Random
    off_min: int

    def run(self) -> None:
        tasks = [t for t in sorted(self.plan.tasks, key=lambda t: (t.start, t.end)) if t.kind is not TaskKind.STAY]
        for task in tasks:
            self._carry_on(task)
        self._stays()
        for _ in range(8):
            before = len(self.known)
            for task in tasks:
                self._begin(task)
            self._stays()
            if len(self.known) == before:
                return

    def _carry_on(self, task: PlannedTask) -> None:
        actual = self.known.get(task.id)
        if actual is not None and actual.status == "in hand":
            self.known[task.id] = self._worked(task, actual.start)

    def _begin(self, task: PlannedTask) -> None:
        if task.id in self.known:
            return
        before = [self.known.get(link.after) for link in task.links]
        tasks = {t.id: t for t in self.plan.tasks}
        for actual in before:
            if actual is None or (actual.status == "in hand" and tasks[actual.task].kind is not TaskKind.STAY):
                return
        ends = [a.end if a.status == "done" else a.start for a in before if a is not None]
        start = max([task.start + timedelta(seconds=self.rng.randint(0, 60 * self.off_min)), *ends, *self._busy(task)])
        if start <= self.now:
            self.known[task.id] = self._worked(task, start)

    def _busy(self, task: PlannedTask) -> list[datetime]:
        """Until when whoever begins a task is at another, and its machine taken."""
        crew: tuple[CrewId, ...] = task.spans[0].crew if task.spans else ()
        found = []
        for other in self.plan.tasks:
            actual = self.known.get(other.id)
            if actual is None or other.kind is TaskKind.STAY or actual.end <= task.start - timedelta(hours=2):
                continue
            attended = any(part.when == "throughout" for part in other.attended)
            same_machine = task.equipment is not None and task.equipment == other.equipment and _alone(other)
            if (attended and set(crew) & set(actual.crew)) or same_machine:
                found.append(actual.end if actual.status == "done" else self.now + timedelta(minutes=1))
        return found

    def _worked(self, task: PlannedTask, start: datetime) -> Actual:
        minutes = (task.end - task.start).total_seconds() / 60
        off = min(self.off_min, minutes / 2)
        end = start + timedelta(minutes=minutes + self.rng.uniform(-off, off))
        done = end <= self.now
        return Actual(
            task=task.id,
            status="done" if done else "in hand",
            start=start,
            end=end if done else max(start + timedelta(minutes=minutes), self.now),
            equipment=task.equipment,
            crew=task.spans[0].crew if task.spans else (),
        )

    def _stays(self) -> None:
        for stay in (task for task in self.plan.tasks if task.kind is TaskKind.STAY):
            fills = [self.known.get(link.after) for link in stay.links]
            if not all(fill is not None and fill.status == "done" for fill in fills):
                continue
            start = max((fill.end for fill in fills if fill is not None), default=self.plan.start)
            takers = [t for t in self.plan.tasks if any(li.after == stay.id and li.most == 0 for li in t.links)]
            begun = [self.known[t.id].start for t in takers if t.id in self.known]
            self.known[stay.id] = Actual(
                task=stay.id,
                status="done" if begun else "in hand",
                start=start,
                end=min(begun) if begun else max(stay.end, self.now),
                equipment=stay.equipment,
            )


_SHARED = ("fridge", "freezer", "blast", "oven", "dehydrator", "dry-shelf", "temper-cabinet")


def _alone(task: PlannedTask) -> bool:
    return str(task.equipment) not in _SHARED


def later(request: PlanRequest, plan: Plan, now: datetime, rng: random.Random, *, off_min: int = 15) -> PlanRequest:
    """The request for a re-plan at ``now``, after the crew has followed ``plan`` since ``request``.

    Args:
        request: What the plan was made for.
        plan: What the crew follows.
        now: The present; nothing happens after it.
        rng: Chance.
        off_min: Most minutes that a start is late or an end off.
    """
    day = _Day(plan, {actual.task: actual for actual in request.actuals}, now, rng, off_min)
    day.run()
    return request.model_copy(update={"now": now, "previous": plan, "actuals": tuple(day.known.values())})
