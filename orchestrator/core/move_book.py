"""Two plans and the present facts, looked up for the reasons of moves."""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from orchestrator.core.ids import CrewId, TaskId
from orchestrator.core.models import Kitchen, Move, Order, Plan, PlannedTask, PlanRequest, TaskKind
from orchestrator.core.plan_index import plan_index, working

_DAY = timedelta(days=1)


class MoveBook:
    """The plan before, the plan after, and what has happened or changed between them."""

    def __init__(
        self, before: Plan, after: Plan, request: PlanRequest, kitchen_before: Kitchen, moves: Iterable[Move]
    ) -> None:
        self.before, self.after = plan_index(before), plan_index(after)
        self.request, self.kitchen, self.kitchen_before = request, request.kitchen, kitchen_before
        self.moves: Mapping[TaskId, Move] = {move.task: move for move in moves}
        self.actuals = {actual.task: actual for actual in request.actuals}
        self.machines = {m.id: m.name for m in self.kitchen.equipment}
        self.names = {m.id: m.name for m in self.kitchen.crew}
        self.off_plan = [t for t in before.tasks if t.id in self.actuals and self.actuals[t.id].end > t.end]
        """What has ended, or will end, later than the plan before had it."""
        self._new_work = self._work_that_is_new()
        self.orders_changed = _changed_orders(kitchen_before, self.kitchen)

    def follows(self, task: PlannedTask) -> list[tuple[TaskId, int]]:
        """Work that it follows, and the least minutes between; a stay between counts with its least."""
        found: list[tuple[TaskId, int]] = []
        for link in task.links:
            before = self.after.tasks.get(link.after)
            if before is not None and before.kind is TaskKind.STAY:
                found += [(k.after, before.stay.least if before.stay is not None else 0) for k in before.links]
            else:
                found.append((link.after, link.least))
        return found

    def followers(self, task: PlannedTask) -> list[TaskId]:
        """Work that follows it, stays between left out."""
        found: list[TaskId] = []
        for follower, _ in self.after.followers.get(task.id, ()):
            after = self.after.tasks[follower]
            if after.kind is TaskKind.STAY:
                found += [t for t, _ in self.after.followers.get(follower, ())]
            else:
                found.append(follower)
        return found

    def neighbours(self, old: PlannedTask | None, new: PlannedTask | None) -> list[TaskId]:
        """What it follows, and what was on its machine or with its people right before it."""
        if old is None or new is None:
            return []
        who = {name for span in old.spans for name in span.crew}
        same = [
            task.id
            for task in self.off_plan
            if task.end <= old.start < self.actuals[task.id].end
            and (task.equipment == old.equipment is not None or who & {n for span in task.spans for n in span.crew})
        ]
        return [*(other for other, _ in self.follows(new)), *same]

    def at_work(self, who: CrewId, start: datetime, end: datetime) -> bool:
        """Whether somebody works in all of a span."""
        member = next((m for m in self.kitchen.crew if m.id == who), None)
        return member is not None and any(a <= start and end <= b for a, b in working(member))

    def other_work(self, who: CrewId, start: datetime, end: datetime, task: TaskId) -> PlannedTask | None:
        """What somebody does then by the new plan, that they did not by the old."""
        found = self._new_work.get(who, [])
        # Whatever began a day before a span has ended by then.
        for since, until, other in found[bisect_left(found, start - _DAY, key=_since) :]:
            if since >= end:
                break
            if until > start and other.id != task:
                return other
        return None

    def _work_that_is_new(self) -> dict[CrewId, list[tuple[datetime, datetime, PlannedTask]]]:
        """Spans of the new plan that the old has not, by who attends, in order of time."""
        found: dict[CrewId, list[tuple[datetime, datetime, PlannedTask]]] = defaultdict(list)
        for task in self.after.plan.tasks:
            known = self.before.tasks.get(task.id)
            for span in task.spans if known is None or known.spans != task.spans else ():
                for who in span.crew:
                    found[who].append((span.start, span.end, task))
        return {who: sorted(spans, key=_since) for who, spans in found.items()}

    def title(self, task: PlannedTask) -> str:
        """A task by its title, with its lot or order."""
        owner = task.lot or task.order
        return f"'{task.title}' ({owner})" if owner else f"'{task.title}'"

    def clock(self, instant: datetime) -> str:
        """An instant on the kitchen's own clock."""
        return self.kitchen.when(instant)

    def full(self, old: PlannedTask) -> bool:
        """Whether a shared place has no room any more where a task was."""
        there = [t for t in self.after.at_machine.get(old.equipment, ()) if t.id != old.id] if old.equipment else []
        capacity = next(m.capacity for m in self.kitchen.equipment if m.id == old.equipment)
        load = sum(t.load for t in there if t.start < old.end and old.start < t.end)
        return capacity is not None and load + old.load > capacity.value


def _since(span: tuple[datetime, datetime, PlannedTask]) -> datetime:
    return span[0]


def _changed_orders(before: Kitchen, after: Kitchen) -> dict[str, str]:
    """Orders that are not what they were, and how that is said."""
    known: dict[str, Order] = {order.id: order for order in before.orders}
    now: dict[str, Order] = {order.id: order for order in after.orders}
    found = {order: "is new" for order in now if order not in known}
    found |= {order: "has been dropped" for order in known if order not in now}
    found |= {order: "has changed" for order in now if order in known and now[order] != known[order]}
    return found
