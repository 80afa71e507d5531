"""Where everything is so far, as serial generation sees it."""

from orchestrator.planner import bits
from orchestrator.planner.journal import Journal
from orchestrator.planner.lags import Network
from orchestrator.planner.problem import Place, Problem
from orchestrator.planner.slots import Slots


class Placed:
    """Starts and places of what is placed, and what machines and people are still free for."""

    def __init__(self, problem: Problem, net: Network) -> None:
        self.problem, self.net = problem, net
        self.journal = Journal()
        self.slots = Slots(problem, self.journal)
        self.starts: dict[int, int] = {}
        self.places: dict[int, Place] = {}
        self.given_up: set[int] = set()
        self.everywhere = bits.span(0, problem.horizon + 1)

    def end(self, job: int) -> int:
        """When placed work ends."""
        return self.places[job].end

    def preferred(self, job: int) -> tuple[int, ...]:
        machines, before = self.problem.jobs[job].machines, self.before(job)
        if before is None or before.machine not in machines:
            return machines
        return (before.machine, *(m for m in machines if m != before.machine))

    def before(self, job: int) -> Place | None:
        return self.problem.previous[job] if self.problem.previous else None
