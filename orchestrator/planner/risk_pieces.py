"""What of a plan is still open, as pieces of work with whom and what they need."""

from collections.abc import Iterator

from orchestrator.core.models import AttendedSpan, Equipment, Plan, PlannedTask, PlanRequest, TaskKind
from orchestrator.core.plan_index import working
from orchestrator.planner.indices import ceil_min, floor_min, hundredths
from orchestrator.planner.lots import actuals_of
from orchestrator.planner.risk_net import Net, Piece, Spans, Step

_ENDED = ("done", "skipped")


class Pieces:
    """Everything of a plan that has not ended, in the order of its planned beginning."""

    def __init__(self, request: PlanRequest, plan: Plan) -> None:
        self.request, self.plan, self.origin = request, plan, plan.start
        self.position = {task.id: i for i, task in enumerate(plan.tasks)}
        self.actuals = actuals_of(request)
        self.machine = {machine.id: i for i, machine in enumerate(request.kitchen.equipment)}
        self.person = {member.id: i for i, member in enumerate(request.kitchen.crew)}
        self.now = max(0, ceil_min(self.origin, request.now))
        self.result = Net(self.now, working=self._working(), capacity=self._capacity(), stops=self._stops())
        self.followed = {link.after for task in plan.tasks for link in task.links}
        self.step: dict[int, Step] = {}
        """By position of the task in the plan."""

    # What there is

    def _working(self) -> tuple[Spans, ...]:
        """From minute 0 on; days before it are over."""
        found = []
        for member in self.request.kitchen.crew:
            spans = [(max(0, ceil_min(self.origin, a)), floor_min(self.origin, b)) for a, b in working(member)]
            found.append(tuple((a, b) for a, b in spans if a < b))
        return tuple(found)

    def _capacity(self) -> tuple[int | None, ...]:
        kitchen = self.request.kitchen
        return tuple(None if m.capacity is None else hundredths(m.capacity.value) for m in kitchen.equipment)

    def _stops(self) -> tuple[Spans, ...]:
        found = []
        for machine in self.request.kitchen.equipment:
            told = [(stop.start, stop.end) for stop in self.request.stops if stop.equipment == machine.id]
            told += [(stop.start, stop.end) for stop in machine.maintenance]
            found.append(tuple((floor_min(self.origin, a), ceil_min(self.origin, b)) for a, b in sorted(told)))
        return tuple(found)

    # Pieces

    def _open(self, task: PlannedTask) -> bool:
        actual = self.actuals.get(task.id)
        return task.kind is not TaskKind.STAY and (actual is None or actual.status not in _ENDED)

    def add_pieces(self) -> None:
        """A piece for each open task, and one more for an end that needs hands."""
        made: list[tuple[int, Piece]] = []
        for index, task in enumerate(self.plan.tasks):
            if self._open(task):
                made += [(index, piece) for piece in self._of_task(index, task)]
        order = sorted(range(len(made)), key=lambda i: (made[i][1].planned, i))
        for position, i in enumerate(order):
            index, piece = made[i]
            self.result.pieces.append(piece)
            if index not in self.step:
                self.step[index] = self._step(self.plan.tasks[index], index, position)
            else:
                piece.end_of = self.step[index].first
                self.step[index].last = position
        self.result.steps = list(self.step.values())

    def _step(self, task: PlannedTask, index: int, first: int) -> Step:
        added, actual, machine = self.request.stretched.get(task.id, 0), self.actuals.get(task.id), self._machine(task)
        written = (task.duration.shortest, task.duration.usual, task.duration.longest)
        if machine is not None and task.kind is TaskKind.WORK:
            written = (machine.minutes(written[0]), machine.minutes(written[1]), machine.minutes(written[2]))
        usual, length = written[1] + added, floor_min(task.start, task.end)
        # Whatever else makes it take longer in this plan, a warm freezer for one, does so in every run.
        more = length / usual if actual is None and usual else 1.0
        shortest, middle, longest = (round((minutes + added) * more) for minutes in written)
        spent = 0 if actual is None else max(0, self.now - floor_min(self.origin, actual.start))
        return Step(index, (shortest, middle, longest), first, first, _end_min(task), spent)

    def _machine(self, task: PlannedTask) -> Equipment | None:
        """Where it is or will be done."""
        actual = self.actuals.get(task.id)
        where = actual.equipment if actual is not None and actual.equipment is not None else task.equipment
        return self.request.kitchen.equipment[self.machine[where]] if where is not None else None

    def _of_task(self, index: int, task: PlannedTask) -> Iterator[Piece]:
        """One piece, and another for an end that needs hands."""
        actual = self.actuals.get(task.id)
        end_min, usual = _end_min(task), floor_min(task.start, task.end)
        throughout = any(portion.when == "throughout" for portion in task.attended)
        starts = sum(portion.minutes or 0 for portion in task.attended if portion.when == "start")
        spans = sorted(task.spans, key=lambda span: span.start)
        attended = usual if throughout else min(starts, usual)
        first = Piece(
            task=index,
            planned=floor_min(self.origin, task.start),
            soonest=self._soonest(task),
            begun=None if actual is None else floor_min(self.origin, actual.start),
            hands=task.hands if attended else 0,
            attended_min=attended,
            throughout=throughout,
            skilled=self._skilled(task, spans[:1]),
            usual_min=usual,
            cleans=task.cleans,
        )
        if usual > 0:
            self._place(first, task)
        yield first
        if end_min:
            planned = max(first.planned, floor_min(self.origin, task.end) - end_min)
            people = self._skilled(task, spans[-1:])
            yield Piece(index, planned, hands=task.hands, attended_min=end_min, throughout=True, skilled=people)

    def _soonest(self, task: PlannedTask) -> int:
        """An order is not handed over before its earliest instant."""
        order = next((o for o in self.request.kitchen.orders if o.id == task.order), None)
        if order is None or order.earliest is None or task.id in self.followed:
            return self.now
        return max(self.now, ceil_min(self.origin, order.earliest) - task.duration.usual)

    def _skilled(self, task: PlannedTask, spans: list[AttendedSpan]) -> tuple[int, ...]:
        actual = self.actuals.get(task.id)
        planned = actual.crew if actual is not None and actual.crew else [who for s in spans for who in s.crew]
        able = [m for m in self.request.kitchen.crew if task.skill is None or task.skill in m.skills]
        ranked = sorted(able, key=lambda m: (m.id not in planned, m.manager))
        return tuple(self.person[m.id] for m in ranked)

    def _place(self, piece: Piece, task: PlannedTask) -> None:
        machine = self._machine(task)
        if machine is None:
            return
        if machine.shared:
            piece.room, piece.load = self.machine[machine.id], hundredths(task.load)
            return
        others = [m for m in self.request.kitchen.equipment if m.id != machine.id and _may_take_over(machine, m, task)]
        piece.machines = tuple(self.machine[m.id] for m in (machine, *others))


def _end_min(task: PlannedTask) -> int:
    if any(portion.when == "throughout" for portion in task.attended):
        return 0
    ends = sum(portion.minutes or 0 for portion in task.attended if portion.when == "end")
    return min(ends, floor_min(task.start, task.end))


def _may_take_over(machine: Equipment, other: Equipment, task: PlannedTask) -> bool:
    """Another of the kind, as fast, that holds the load; where clean-downs hang on the sequence, none."""
    alike = other.kind == machine.kind and other.speed == machine.speed and not other.shared
    if task.kind is TaskKind.CLEAN or not alike or machine.cleaning is not None or other.cleaning is not None:
        return False
    least = other.least.value if other.least is not None else 0.0
    most = other.capacity.value if other.capacity is not None else task.load
    return least - 1e-6 <= task.load <= most + 1e-6
