"""Why an order cannot be met, in plain words: the window that shuts it out, or the machine, people or store lacking."""

from orchestrator.core.ids import OrderId
from orchestrator.core.models import PlanRequest
from orchestrator.planner.demand import Demand
from orchestrator.planner.hindrance import Hindrance, Hindrances
from orchestrator.planner.lags import Network, bounds, network
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.structure import structure
from orchestrator.planner.words import Words


class Unmet:
    """Why orders of one schedule have no place: asked for each, with what they have in common looked at once."""

    def __init__(self, request: PlanRequest, demand: Demand, problem: Problem, schedule: Schedule) -> None:
        """Begin with the schedule that leaves them out."""
        self._words = Words(request, demand, problem, schedule)
        self._net = network(problem)
        fixed = {i: job.fixed.start for i, job in enumerate(problem.jobs) if job.fixed is not None and not job.stay}
        self._bounds = bounds(self._net, fixed)
        dues, reach = problem.dues, structure(problem).reach
        self._missing = {
            job: {dues[due].order for due in reach[job]} for job in self._net.order if schedule.places[job] is None
        }
        self._hindrances = Hindrances(problem, self._net, schedule)

    def why(self, order: OrderId) -> str:
        """What leaves an order without a place.

        Returns:
            A sentence that names the first step without a place, and the safety window or the horizon that shuts it
            out, or what it lacks beside the rest.
        """
        (low, high), words = self._bounds, self._words
        missing = [job for job, orders in self._missing.items() if order in orders]
        if not missing:
            return "it finds no place within the horizon"
        shut = [job for job in missing if low[job] > high[job]]
        if shut:
            return _shut_out(words, self._net, shut[0], low, high)
        hindrance = self._hindrances.of(missing)
        if hindrance is None:
            return f"{words.job(missing[0])} found no place beside the rest"
        return _says(words, hindrance)


def _shut_out(words: Words, net: Network, job: int, low: dict[int, int], high: dict[int, int]) -> str:
    passed = [a for a in net.anchors[job] if a.high is not None and a.high < low[job]]
    if passed and passed[0].high is not None:
        stay = words.job(passed[0].stay)
        return f"{words.job(job)} would have to start by {words.clock(passed[0].high)}: {stay} may not last longer"
    latest = words.clock(high[job])
    awaited = words.awaited(job) if low[job] <= words.problem.jobs[job].release else ""
    if awaited:
        return f"{words.job(job)} waits for {awaited}, and would have to start by {latest}"
    return f"{words.job(job)} cannot start before {words.clock(low[job])}, and would have to by {latest}"


def _says(words: Words, found: Hindrance) -> str:
    """A hindrance in a sentence."""
    name = words.job(found.job)
    if found.last not in (None, found.job):
        name = f"all from {name} to {words.job(found.last)}, one soon after the other,"
    when = f"for {name} between {words.clock(found.since)} and {words.clock(found.until)}"
    machines = " or the ".join(words.machine(machine) for machine in found.stores or found.machines)
    skills = {words.demand.specs[job].skill for job in (found.job, found.last) if job is not None}
    skill = " or ".join(sorted(skill for skill in skills if skill))
    if found.stores:
        return f"no room in the {machines} {when}: other food fills it"
    if found.heat:
        return f"too much warm food in the {machines} {when}: it would take longer to freeze than there is"
    if found.machines and found.people:
        return f"the {machines} and people with the skill {skill} are never free together {when}"
    if found.machines:
        why = "it cannot be used for as long as it takes" if found.never else "other work has it"
        return f"no time on the {machines} {when}: {why}"
    why = "too few are there for as long as it takes" if found.never else "they are at other work"
    return f"not enough people with the skill {skill} {when}: {why}"
