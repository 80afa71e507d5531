"""From a plan to the simulation's net: what is still open, what it waits for, and its windows."""

from orchestrator.core.models import Plan, PlannedTask, PlanRequest, TaskKind, TaskLink, WindowClass
from orchestrator.planner.indices import ceil_min, floor_min
from orchestrator.planner.risk_net import Net, OpenWindow, Origin, Step, Wait
from orchestrator.planner.risk_pieces import Pieces


def pose_risk(request: PlanRequest, plan: Plan) -> Net:
    """Read a plan as pieces of work that wait for each other.

    Args:
        request: Kitchen, present instant, what has happened, stops, and minutes that cooks have added.
        plan: A plan of it that passed the checker.

    Returns:
        Everything that has not ended; stays are no pieces, their shortest time is part of the waits.
    """
    return _Poser(request, plan).net()


class _Poser(Pieces):
    """Adds what pieces wait for."""

    def net(self) -> Net:
        """Pieces, waits, windows, and the sequence on each machine."""
        self.add_pieces()
        for step in self.result.steps:
            task = self.plan.tasks[step.task]
            waiting = self.result.pieces[step.first].begun is None
            for link in task.links if waiting else ():
                self._link(step, task, link)
            if step.last != step.first:
                self.result.waits.append(Wait(step.first, step.last, closes=0))  # at once
        self._sequences()
        self.result.waits = _merged(self.result.waits)
        return self.result

    def _link(self, step: Step, task: PlannedTask, link: TaskLink) -> None:
        if link.after not in self.position:
            return
        before = self.plan.tasks[self.position[link.after]]
        matters = link.window is not WindowClass.PREFERENCE
        if before.kind is not TaskKind.STAY:
            most = link.most if matters else None
            distance = max(0, floor_min(before.end, task.start))
            closes = None if most is None else min(distance, most)
            self._wait(step, self._end(before, 0), link.least, closes)
            self._window(step, before, self._end(before, 0), (most, link.window))
            return
        origins, held = self._begin(before), before.stay
        most = held.most if held is not None and held.window is not WindowClass.PREFERENCE else None
        for origin in origins:
            self._wait(step, (origin,), before.duration.shortest, most)
        if held is not None:
            self._window(step, before, origins, (most, held.window))

    def _end(self, task: PlannedTask, least: int) -> tuple[Origin, ...]:
        """So long after a task has ended."""
        index = self.position[task.id]
        if index in self.step:
            return (Origin(self.step[index].last, least),)
        actual = self.actuals.get(task.id)
        return (Origin(None, ceil_min(self.origin, actual.end if actual is not None else task.end) + least),)

    def _begin(self, stay: PlannedTask) -> tuple[Origin, ...]:
        """When food comes into a store: as what fills it has ended. After another store: no earlier than planned."""
        actual = self.actuals.get(stay.id)
        if actual is not None or not stay.links:
            begun = actual.start if actual is not None else stay.start
            return (Origin(None, floor_min(self.origin, begun)),)
        found: list[Origin] = []
        for link in stay.links:
            before = self.plan.tasks[self.position[link.after]] if link.after in self.position else None
            if before is None:
                continue
            if before.kind is TaskKind.STAY:
                least = before.duration.shortest
                found += [Origin(o.piece, o.minutes + least) for o in self._begin(before)]
                found.append(Origin(None, floor_min(self.origin, stay.start)))
            else:
                found += self._end(before, link.least)
        return tuple(found)

    def _wait(self, step: Step, origins: tuple[Origin, ...], least: int, closes: int | None) -> None:
        for origin in origins:
            first = self.result.pieces[step.first]
            if origin.piece is None:
                first.soonest = max(first.soonest, origin.minutes + least)
                continue
            until = None if closes is None else origin.minutes + closes
            self.result.waits.append(Wait(origin.piece, step.first, origin.minutes + least, until))

    def _window(
        self, step: Step, after: PlannedTask, origins: tuple[Origin, ...], told: tuple[int | None, WindowClass]
    ) -> None:
        most, window = told
        if most is not None and origins:
            self.result.windows.append(OpenWindow(step.first, after.id, origins, most, window))

    def _sequences(self) -> None:
        """Tasks on a machine that no other may replace keep their sequence there."""
        last: dict[int, Step] = {}
        for step in sorted(self.result.steps, key=self._turn):
            piece = self.result.pieces[step.first]
            if len(piece.machines) != 1:
                continue
            before = last.get(piece.machines[0])
            if before is not None and piece.begun is None:
                self.result.waits.append(Wait(before.last, step.first))
            last[piece.machines[0]] = step

    def _turn(self, step: Step) -> tuple[bool, int, int]:
        piece = self.result.pieces[step.first]
        return piece.begun is None, piece.planned, step.task


def _merged(waits: list[Wait]) -> list[Wait]:
    """One wait for each pair of pieces: the longest least, the soonest close."""
    found: dict[tuple[int, int], Wait] = {}
    for wait in waits:
        known = found.get((wait.after, wait.piece), wait)
        closes = [c for c in (known.closes, wait.closes) if c is not None]
        least = max(known.least, wait.least)
        found[wait.after, wait.piece] = Wait(wait.after, wait.piece, least, min(closes, default=None))
    return list(found.values())
