"""What holds a task, in plain words."""

from datetime import timedelta

from orchestrator.core.ids import TaskId
from orchestrator.core.models import Supply, TaskKind
from orchestrator.core.models.explanation import Hold, HoldKind
from orchestrator.planner.holds_places import Found
from orchestrator.planner.shift import Movers
from orchestrator.planner.supplies import supplies_of
from orchestrator.planner.upkeep_tasks import KINDS
from orchestrator.planner.words import Words


class HoldWords(Words):
    """Sentences about what was found, with the names that people know."""

    def clean_id(self, position: int) -> TaskId:
        """The task id of a clean-down of the plan."""
        clean = self.schedule.cleans[position]
        machine = self.request.kitchen.equipment[clean.machine].id
        start = self.problem.origin + timedelta(minutes=clean.start)
        tasks = self.request.previous.tasks if self.request.previous is not None else ()
        there = (t for t in tasks if t.kind is TaskKind.CLEAN and t.equipment == machine and t.start == start)
        return next(there).id

    def names(self, who: Movers) -> set[TaskId]:
        """Task ids of what moves."""
        return {self.demand.specs[job].id for job in who.jobs} | {self.clean_id(k) for k in who.cleans}

    def hold(self, found: Found, minutes: int) -> Hold:
        """What was found, for people."""
        held_clean = found.job < 0 and found.clean is not None
        task = self.clean_id(found.clean or 0) if held_clean else self.demand.specs[found.job].id
        tasks = [self.demand.specs[job].id for job in found.others]
        if found.clean is not None and not held_clean:
            tasks.append(self.clean_id(found.clean))
        kitchen = self.request.kitchen
        held = found.kind is HoldKind.BEGUN and task not in {a.task for a in self.request.actuals}
        return Hold(
            kind=HoldKind.HELD if held else found.kind,
            says="it is held in place" if held else self._says(found, minutes),
            task=task,
            tasks=tuple(tasks),
            equipment=kitchen.equipment[found.machine].id if found.machine is not None else None,
            crew=tuple(kitchen.crew[worker].id for worker in found.workers),
        )

    def stay(self, stay: int, fills: list[int], takes: list[int]) -> str:
        """From what to what a stay lasts."""
        told = [f"begins when {' and '.join(self.job(job) for job in fills)} ends"] if fills else []
        told += [f"ends when {' or '.join(self.job(job) for job in takes)} takes it"] if takes else []
        place = self.place(stay)
        told = told or [f"is there until {self.clock(place.end)}" if place is not None else "has no place"]
        return "it " + " and ".join(told)

    def goal(self, name: str, by: float, minutes: int, instead: tuple[int, ...]) -> str:
        """A goal that would suffer, and who would have to do the work."""
        side = "earlier" if minutes < 0 else "later"
        return f"it could be a minute {side}{self._with(instead)}, but the plan would be worse: {name}, {by:g} more"

    def free(self, minutes: int, instead: tuple[int, ...]) -> str:
        """Nothing was found."""
        side = f"a minute {'earlier' if minutes < 0 else 'later'}{self._with(instead)}"
        return f"nothing holds it: {side} would keep every rule, and the plan would be no worse"

    def _with(self, workers: tuple[int, ...]) -> str:
        names = " and ".join(self.request.kitchen.crew[worker].name for worker in workers)
        return f" with {names} at it instead" if names else ""

    def _says(self, found: Found, minutes: int) -> str:
        return {
            HoldKind.BEGUN: self._begun,
            HoldKind.NOW: self._now,
            HoldKind.FOLLOWS: self._follows,
            HoldKind.WINDOW: self._window,
            HoldKind.RELEASE: self._release,
            HoldKind.HORIZON: self._horizon,
            HoldKind.MACHINE: self._machine_taken,
            HoldKind.STOPPED: self._stopped,
            HoldKind.CLEAN: self._clean,
            HoldKind.HEAT: self._heat,
            HoldKind.PERSON: self._person,
            HoldKind.SHIFT: self._shift,
            HoldKind.STORE: self._store,
        }[found.kind](found, minutes)

    def _begun(self, found: Found, minutes: int) -> str:
        return f"{self.job(found.job)} has begun: what has happened is not moved"

    def _now(self, found: Found, minutes: int) -> str:
        return f"it is planned for now, {self.clock(self.problem.now)}"

    def _horizon(self, found: Found, minutes: int) -> str:
        return f"the planned days end {self.clock(self.problem.horizon)}"

    def _release(self, found: Found, minutes: int) -> str:
        place, made = self.place(found.job), self.problem.jobs[found.job]
        ends = place is not None and found.minute >= place.end and found.minute != made.release
        what = "ready" if ends else "begun"
        said = f"{self.job(found.job)} may not be {what} before {self.clock(found.minute)}"
        supplies: tuple[Supply, ...] = ()
        if what == "begun":
            supplies = supplies_of(self.request, self.demand, self.demand.specs[found.job])
        return f"{said}: {supplies[0].ingredient} is not there" if supplies else said

    def _follows(self, found: Found, minutes: int) -> str:
        if found.job < 0:
            side = "ends" if minutes < 0 else "begins"
            return f"{self._named(found)} {side} at {self._edge(found, minutes)} on the {self._machine(found)}"
        after = f", no sooner than {found.limit} min after it" if found.limit else ""
        if minutes < 0:
            return f"{self.job(found.job)} follows {self._named(found)}, which ends {self._edge(found, minutes)}{after}"
        return f"{self._named(found)} follows {self.job(found.job)} at {self._edge(found, minutes)}{after}"

    def _window(self, found: Found, minutes: int) -> str:
        length = _span(found.limit)
        place = self.place(found.stay) if found.stay is not None else None
        if found.stay is not None and place is not None:
            made = self.problem.jobs[found.stay]
            bound = "no less than" if found.limit == made.shortest else "no longer than"
            since = self.clock(place.start)
            return f"{self.job(found.stay)} lasts {bound} {length} from {since} ({found.window} window)"
        if not found.others:
            return (
                f"what goes into {self.job(found.job)} keeps until {self.clock(found.minute)} ({found.window} window)"
            )
        first, second = (found.job, found.others[0])
        if self._start(second) < self._start(first):
            first, second = second, first
        return f"{self.job(second)} must begin within {length} of {self.job(first)} ({found.window} window)"

    def _machine_taken(self, found: Found, minutes: int) -> str:
        side = "until" if minutes < 0 else "from"
        return f"{self._named(found)} has the {self._machine(found)} {side} {self._edge(found, minutes)}"

    def _stopped(self, found: Found, minutes: int) -> str:
        stops = self.problem.machines[found.machine or 0].stops
        place = self.place(found.stay if found.stay is not None else found.job)
        near = min(stops, key=lambda s: abs((s[1] if minutes < 0 else s[0]) - (place.start if place else 0)))
        return f"the {self._machine(found)} is stopped from {self.clock(near[0])} to {self.clock(near[1])}"

    def _clean(self, found: Found, minutes: int) -> str:
        clean = self.schedule.cleans[found.clean or 0]
        what = KINDS[clean.kind]
        return (
            f"the {what} of the {self._machine(found)} lasts from {self.clock(clean.start)} to {self.clock(clean.end)}"
        )

    def _heat(self, found: Found, minutes: int) -> str:
        heat = self.request.kitchen.equipment[found.machine or 0].heat
        together = f"with {self._named(found)} {found.load / 100:g}"
        if heat is None:
            return f"{together} of warm food would be together in the {self._machine(found)}"
        usual = f"where {heat.alone.value:g} {heat.alone.unit} freeze at the usual pace"
        return f"{together} {heat.alone.unit} of warm food would be together in the {self._machine(found)}, {usual}"

    def _person(self, found: Found, minutes: int) -> str:
        names = ", ".join(self.request.kitchen.crew[worker].name for worker in found.workers)
        work = [self.job(job) for job in found.others[:2]]
        if found.clean is not None and found.job >= 0:
            work.append(f"the clean-down {self.clean_id(found.clean)}")
        return f"{names} at {' and '.join(work) or 'other work'}"

    def _shift(self, found: Found, minutes: int) -> str:
        machine = self.schedule.cleans[found.clean].machine if found.job < 0 and found.clean is not None else None
        skill = self.request.kitchen.equipment[machine].cleaning if machine is not None else None
        what = skill.skill if skill is not None else self.demand.specs[found.job].skill
        names = ", ".join(self.request.kitchen.crew[worker].name for worker in found.workers)
        where = self.place(found.job) if found.job >= 0 else None
        edge = (where.start if minutes < 0 else where.end) if where is not None else None
        since = f" {'before' if minutes < 0 else 'after'} {self.clock(edge)}" if edge is not None else " then"
        return f"{names} is not at work{since}, nor is anybody else with the skill {what}"

    def _store(self, found: Found, minutes: int) -> str:
        what = self.job(found.stay) if found.stay is not None else "its food"
        return f"no room in the {self._machine(found)} for {what}: other food fills it"

    def _machine(self, found: Found) -> str:
        return self.machine(found.machine) if found.machine is not None else ""

    def _named(self, found: Found) -> str:
        return " and ".join(self.job(job) for job in found.others[:2])

    def _edge(self, found: Found, minutes: int) -> str:
        places = [place for job in found.others if (place := self.place(job)) is not None]
        edges = [place.end if minutes < 0 else place.start for place in places]
        return self.clock(max(edges) if minutes < 0 else min(edges)) if edges else ""

    def _start(self, job: int) -> int:
        place = self.place(job)
        return place.start if place is not None else 0


def _span(minutes: int) -> str:
    return f"{minutes} min" if minutes < 180 else f"{minutes / 60:g} h"
