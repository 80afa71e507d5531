"""Warm food in freezers: where more of it can go in so that nothing already there takes longer than planned."""

from itertools import pairwise

from orchestrator.planner import bits
from orchestrator.planner.placed import Placed
from orchestrator.planner.problem import minutes_of


class Warm(Placed):
    """Adds the heat that work gives off to what is placed.

    What is placed at its usual pace keeps it: nothing is added that would crowd it. What is placed with its crowded
    minutes keeps those, also when it turns out to be alone. Facts count as heat, but their length is their own.
    """

    def heat_allows(self, machine: int, job: int, minutes: int) -> int:
        """Starts at which a job may take so many minutes on a machine, as far as heat goes."""
        alone, jobs = self.problem.machines[machine].alone, self.problem.jobs
        assert alone is not None  # the caller looks first
        room = alone - jobs[job].load
        crowded = blocked = 0
        warm = [
            (use, other) for other, use in self.slots.uses[machine].items() if other != job and not jobs[other].stay
        ]
        steps: dict[int, int] = {}
        for use, _ in warm:
            steps[use.start] = steps.get(use.start, 0) + use.load
            steps[use.end] = steps.get(use.end, 0) - use.load
        level = 0
        for instant, until in pairwise(sorted(steps)):
            level += steps[instant]
            if level > room:
                crowded |= bits.span(instant, until)
        for use, other in warm:
            options = minutes_of(jobs[other], machine)
            if use.movable and use.end - use.start < options[-1]:
                blocked |= bits.span(use.start, use.end)
        options = minutes_of(jobs[job], machine)
        if minutes < options[-1]:
            # At its usual pace: alone enough all the while.
            return 0 if room < 0 else bits.runs(self.everywhere & ~crowded, minutes)
        return bits.runs(self.everywhere & ~(crowded & blocked), minutes)
