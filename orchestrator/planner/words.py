"""Names and clock times of a schedule, for reasons in plain words."""

from datetime import timedelta

from orchestrator.core.models import PlanRequest
from orchestrator.planner.demand import Demand
from orchestrator.planner.problem import Place, Problem, Schedule
from orchestrator.planner.supplies import supplies_of


class Words:
    """Names and clock times for people."""

    def __init__(self, request: PlanRequest, demand: Demand, problem: Problem, schedule: Schedule) -> None:
        self.request, self.demand, self.problem, self.schedule = request, demand, problem, schedule

    def clock(self, minute: int) -> str:
        """A minute as day and local clock time."""
        return self.request.kitchen.when(self.problem.origin + timedelta(minutes=minute))

    def job(self, job: int) -> str:
        """A job by its title, with its lot or order."""
        spec = self.demand.specs[job]
        return f"'{spec.title}' ({spec.lot or spec.order})"

    def awaited(self, job: int) -> str:
        """The ingredient that a job waits for longest, with when it is there; empty if all are there from the start."""
        supply = next(iter(supplies_of(self.request, self.demand, self.demand.specs[job])), None)
        if supply is None:
            return ""
        at = self.request.kitchen.when(supply.ready)
        if supply.why == "left":
            return f"{supply.ingredient}, which no step leaves in time"
        return f"{supply.ingredient}, {'ripe' if supply.why == 'ripe' else 'delivered'} {at}"

    def machine(self, machine: int) -> str:
        """A machine by its name."""
        return self.request.kitchen.equipment[machine].name

    def place(self, job: int) -> Place | None:
        """Where a job is; none if it has no place."""
        return self.schedule.places[job]
