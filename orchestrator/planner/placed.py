"""Where everything is so far, as serial generation sees it."""

from orchestrator.planner import bits
from orchestrator.planner.journal import Journal
from orchestrator.planner.lags import Network
from orchestrator.planner.patience import Patience
from orchestrator.planner.problem import Place, Problem, minutes_of
from orchestrator.planner.slots import Slots
from orchestrator.planner.upkeep import Condition


class Placed:
    """Starts and places of what is placed, and what machines and people are still free for."""

    def __init__(
        self, problem: Problem, net: Network, *, careful: bool = False, patience: Patience | None = None
    ) -> None:
        self.problem, self.net = problem, net
        self.patience = patience or Patience()
        """Of whoever waits for what is being placed; each look where work could go is taken off it."""
        self.careful = careful
        """What warm food could crowd has its crowded minutes from the start: so it can share its freezer."""
        self.journal = Journal()
        self.slots = Slots(problem, self.journal)
        self.starts: dict[int, int] = {}
        self.lengths: dict[int, int] = {}
        """Minutes of placed work whose machine decides how long it takes."""
        self.places: dict[int, Place] = {}
        self.given_up: set[int] = set()
        self.conditions: dict[int, Condition] = {}
        """Of machines, as far as asked for: facts, which no trial changes."""
        self._preferred: dict[int, tuple[int, ...]] = {}
        self._by_minutes: dict[int, tuple[tuple[int, tuple[int, ...]], ...]] = {}
        self.everywhere = bits.span(0, problem.horizon + 1)

    def end(self, job: int) -> int:
        """When placed work ends."""
        return self.places[job].end

    def lasts(self, job: int) -> tuple[int, int]:
        """Least and most minutes that work may take: as it is placed, or on any of its machines."""
        made, known = self.problem.jobs[job], self.lengths.get(job)
        return (made.shortest, made.longest) if known is None else (known, known)

    def preferred(self, job: int) -> tuple[int, ...]:
        """Machines of a job, best first: the one it was on, then the fastest."""
        known = self._preferred.get(job)
        if known is None:
            known = self._preferred[job] = self._in_preference(job)
        return known

    def _in_preference(self, job: int) -> tuple[int, ...]:
        before = self.before(job)
        machines = tuple(dict.fromkeys(machine for _, on in self.by_minutes(job) for machine in on))
        if before is None or before.machine not in machines:
            return machines
        return (before.machine, *(m for m in machines if m != before.machine))

    def by_minutes(self, job: int) -> tuple[tuple[int, tuple[int, ...]], ...]:
        """`Job.by_minutes`, worked out once."""
        known = self._by_minutes.get(job)
        if known is None:
            known = self._by_minutes[job] = self.problem.jobs[job].by_minutes
        return known

    def options(self, job: int, machine: int) -> tuple[int, ...]:
        """How many minutes work may be given on a machine, best first: as many as before, else as few as may be."""
        found, before = minutes_of(self.problem.jobs[job], machine), self.before(job)
        if self.careful or (before is not None and before.end - before.start == found[-1]):
            return found[-1:] if self.careful else found[::-1]
        return found

    def before(self, job: int) -> Place | None:
        return self.problem.previous[job] if self.problem.previous else None
