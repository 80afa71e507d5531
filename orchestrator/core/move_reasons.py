"""Why a task moves: what has changed since the plan before, or what the move makes room for."""

from collections.abc import Callable, Iterator
from datetime import timedelta

from orchestrator.core.models import Move, PlannedTask, TaskKind
from orchestrator.core.move_book import MoveBook

_LATE = timedelta(minutes=1)


class Reasons(MoveBook):
    """Finds the reason of each move of one plan against another: facts first, then other moves, then goals."""

    def of(self, move: Move) -> str:
        """The first reason that holds; where none does, what the plan as a whole gains. Never empty."""
        old, new = self.before.tasks.get(move.task), self.after.tasks.get(move.task)
        asked: tuple[Callable[[PlannedTask | None, PlannedTask | None], str], ...] = (
            self._let_go,
            self._lot,
            self._order,
            self._stopped,
            self._late_start,
            self._fact_before,
            self._moved_before,
            self._clean_down,
            self._person,
            self._machine_taken,
            self._moved_after,
            self._outlook,
            self._along,
        )
        return next((said for reason in asked if (said := reason(old, new))), "") or self._goal()

    # Facts

    def _let_go(self, old: PlannedTask | None, new: PlannedTask | None) -> str:
        """It was held in place where no plan could keep it."""
        task = old or new
        return "no plan keeps it where it was held" if task is not None and task.id in self.after.plan.let_go else ""

    def _lot(self, old: PlannedTask | None, new: PlannedTask | None) -> str:
        """A lot on hold, lost or given up, or one that takes its place."""
        task = old or new
        lost = {**dict.fromkeys(self.request.held_lots, "on hold"), **dict.fromkeys(self.request.lost_lots, "lost")}
        lost |= dict.fromkeys(self.after.plan.given_up, "given up")
        if task is None:
            return ""
        if task.lot in lost:
            return f"{task.lot} is {lost[task.lot]}"
        if old is None and task.lot is not None:
            takers = {peg.consumer for peg in self.after.plan.pegs if peg.lot == task.lot}
            instead = [p.lot for p in self.before.plan.pegs if p.lot in lost and p.consumer in takers]
            if instead:
                return f"instead of {instead[0]}, which is {lost[instead[0]]}"
        return ""

    def _order(self, old: PlannedTask | None, new: PlannedTask | None) -> str:
        """An order that is new, dropped or changed, that the task works for."""
        orders = (*(self.before.orders_of(old) if old else ()), *(self.after.orders_of(new) if new else ()))
        changed = [(order, self.orders_changed[order]) for order in orders if order in self.orders_changed]
        if changed:
            return f"{changed[0][0]} {changed[0][1]}"
        shared = self._other_batches(old, new)
        if shared:
            return shared
        if new is None and old is not None and old.kind is not TaskKind.CLEAN:
            unmet = [o.order for o in self.after.plan.outlooks if not o.met and o.order in orders]
            return f"{unmet[0]} can no longer be made" if unmet else "nothing waits for it any more"
        return ""

    def _other_batches(self, old: PlannedTask | None, new: PlannedTask | None) -> str:
        """What its batch was for is made together with other food now, or apart from it."""
        task, gone = old or new, new is None
        if task is None or task.lot is None or (old is not None and new is not None):
            return ""
        mine, others = (self.before, self.after) if gone else (self.after, self.before)
        takers = {peg.consumer for peg in mine.plan.pegs if peg.lot == task.lot}
        recipe = {batch.lot: batch.recipe for batch in others.plan.batches}
        same = [p.lot for p in others.plan.pegs if p.consumer in takers and recipe.get(p.lot) == task.recipe]
        if not same or any(batch.lot == task.lot for batch in others.plan.batches):
            return ""
        return f"what {task.lot} was for is made in {same[0]}" if gone else f"it is made apart from {same[0]}"

    def _stopped(self, old: PlannedTask | None, new: PlannedTask | None) -> str:
        """Its machine is stopped where it was."""
        for stop in self.request.stops if old is not None and old.end > old.start else ():
            if old is not None and old.equipment == stop.equipment and stop.start < old.end and old.start < stop.end:
                return (
                    f"the {self.machines.get(stop.equipment, stop.equipment)} is stopped until {self.clock(stop.end)}"
                )
        return ""

    def _late_start(self, old: PlannedTask | None, new: PlannedTask | None) -> str:
        """Its time has passed."""
        if old is not None and new is not None and old.start < self.request.now and old.kind is not TaskKind.STAY:
            return f"it has not begun by {self.clock(self.request.now)}"
        return ""

    def _fact_before(self, old: PlannedTask | None, new: PlannedTask | None) -> str:
        """What it follows, or had its machine or people before it, took longer or shorter in fact."""
        for other in self.neighbours(old, new):
            actual, planned = self.actuals.get(other), self.before.tasks.get(other)
            if actual is None or planned is None or planned.kind is TaskKind.STAY:
                continue
            off = round((actual.end - planned.end) / _LATE)
            if abs(off) >= 1:
                verb = "ended" if actual.status != "in hand" else "needs longer and ends" if off > 0 else "ends"
                side = "later" if off > 0 else "sooner"
                return f"'{planned.title}' ({planned.lot or planned.order}) {verb} {abs(off)} min {side} than planned"
        return ""

    # Other moves

    def _moved_before(self, old: PlannedTask | None, new: PlannedTask | None) -> str:
        """What it follows ends later, so that it could not stay; or sooner, without which it could not be sooner."""
        for was, is_, least in self._moved_ends(old, new):
            starts = [task.start for task in (old, new) if task is not None]
            if max(was.end, is_.end) + least > min(starts):
                side = "later" if is_.end > was.end else "sooner"
                return f"it follows {self.title(is_)}, which ends {side}"
        return ""

    def _along(self, old: PlannedTask | None, new: PlannedTask | None) -> str:
        """What it follows moves to the same side: the time between stays short."""
        for was, is_, _ in self._moved_ends(old, new):
            return f"{self.title(is_)}, which it follows, is {'later' if is_.end > was.end else 'sooner'}"
        return ""

    def _moved_ends(
        self, old: PlannedTask | None, new: PlannedTask | None
    ) -> Iterator[tuple[PlannedTask, PlannedTask, timedelta]]:
        """What it follows and what moves to the same side: before, after, and the least time between."""
        for other, least in self.follows(new) if old is not None and new is not None else ():
            was, is_ = self.before.tasks.get(other), self.after.tasks.get(other)
            if was is None or is_ is None or was.end == is_.end or old is None or new is None:
                continue
            if new.start != old.start and (is_.end > was.end) == (new.start > old.start):
                yield was, is_, timedelta(minutes=least)

    def _clean_down(self, old: PlannedTask | None, new: PlannedTask | None) -> str:
        """A clean-down goes with the run that it prepares."""
        task = new or old
        if task is None or task.kind is not TaskKind.CLEAN:
            return ""
        index = self.after if new is not None else self.before
        runs = [index.tasks[follower] for follower, _ in index.followers.get(task.id, ())]
        moved = next((run for run in runs if run.id in self.moves), None)
        if moved is not None and old is not None and new is not None:
            return f"it prepares {self.title(moved)}, which moves"
        if old is None or new is None:
            machine = self.machines.get(task.equipment, "machine") if task.equipment else "machine"
            return f"other food runs on the {machine} before" if runs else f"the runs on the {machine} are others"
        return ""

    def _person(self, old: PlannedTask | None, new: PlannedTask | None) -> str:
        """Who was to do it is not there then, or is at other work."""
        if old is None or new is None:
            return ""
        for span in old.spans:
            for who in span.crew:
                if not self.at_work(who, span.start, span.end):
                    return f"{self.names.get(who, who)} is not there at {self.clock(span.start)}"
                other = self.other_work(who, span.start, span.end, old.id)
                if other is not None:
                    return f"{self.names.get(who, who)} is at {self.title(other)} at {self.clock(span.start)}"
        return ""

    def _machine_taken(self, old: PlannedTask | None, new: PlannedTask | None) -> str:
        """Another task has its machine then."""
        if old is None or new is None or old.equipment is None:
            return ""
        machine = next((m for m in self.kitchen.equipment if m.id == old.equipment), None)
        if machine is None or (machine.shared and machine.capacity is not None and not self.full(old)):
            return ""
        for other in self.after.at_machine.get(old.equipment, ()):
            known = self.before.tasks.get(other.id)
            fresh = known is None or (known.start, known.end) != (other.start, other.end)
            if other.id != old.id and fresh and other.start < old.end and old.start < other.end:
                return f"{self.title(other)} has the {machine.name} then"
        return ""

    def _moved_after(self, old: PlannedTask | None, new: PlannedTask | None) -> str:
        """What follows it moves to the same side, and takes it along."""
        if old is None or new is None or old.start == new.start:
            return ""
        for follower in self.followers(new):
            was, is_ = self.before.tasks.get(follower), self.after.tasks.get(follower)
            if was is None or is_ is None or was.start == is_.start:
                continue
            if (is_.start > was.start) == (new.start > old.start):
                side = "later" if is_.start > was.start else "sooner"
                return f"{self.title(is_)}, which follows it, is {side}"
        return ""

    # Goals

    def _outlook(self, old: PlannedTask | None, new: PlannedTask | None) -> str:
        """An order that it works for gets better."""
        task, index = (new, self.after) if new is not None else (old, self.before)
        told = {o.order: o for o in self.before.plan.outlooks}
        for outlook in self.after.plan.outlooks if task is not None else ():
            known = told.get(outlook.order)
            if known is None or task is None or outlook.order not in index.orders_of(task):
                continue
            if outlook.met and not known.met:
                return f"it lets {outlook.order} be made"
            if outlook.met and outlook.late_min < known.late_min:
                return f"it makes {outlook.order} {known.late_min - outlook.late_min} min earlier"
        return ""

    def _goal(self) -> str:
        """What the plan as a whole gains: the first goal that gets better."""
        told = {term.name: term.value for term in self.before.plan.terms}
        better = [t for t in self.after.plan.terms if t.name in told and t.value < told[t.name]]
        if better:
            term = min(better, key=lambda t: t.stage)
            return f"the plan as a whole is better for it: {term.name}, {told[term.name] - term.value:g} less"
        return "it makes room for what else has changed"
