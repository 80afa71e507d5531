"""Runs on a machine that needs clean-downs: where another fits between, and the clean-downs around it."""

from orchestrator.planner import bits
from orchestrator.planner.placed import Placed
from orchestrator.planner.problem import CleanDown, Family, minutes_on
from orchestrator.planner.slots import clean_minutes

Run = tuple[int, int, int]
"""Start, end and job."""


class Runs(Placed):
    """Adds runs and clean-downs to what is placed."""

    def runs(self, machine: int) -> list[Run]:
        """Runs on a machine that are still to come or in hand: (start, end, job), in time."""
        uses = self.slots.uses[machine].items()
        jobs, now = self.problem.jobs, self.problem.now
        return sorted((u.start, u.end, j) for j, u in uses if jobs[j].family and (u.movable or u.end > now))

    def clean_for(self, machine: int) -> Family | None:
        """What a machine is clean for before the first of `runs`."""
        if machine in self.problem.families_before:
            return self.problem.families_before[machine]
        jobs = self.problem.jobs
        ended = [
            (use.start, job)
            for job, use in self.slots.uses[machine].items()
            if not use.movable and use.end <= self.problem.now and jobs[job].family
        ]
        return jobs[max(ended)[1]].family if ended else None

    def between_runs(self, machine: int, job: int, low: int, high: int) -> int:
        """Starts that leave time, before and after, for the clean-downs and for somebody to do them.

        Only gaps between runs that are wide enough, and that a start between ``low`` and ``high`` falls into, are
        looked at.
        """
        made, jobs = self.problem.jobs[job], self.problem.jobs
        minutes = minutes_on(made, machine)
        end, before, found = self.problem.now, self.clean_for(machine), 0
        for start, until, run in [*self.runs(machine), (self.problem.horizon, 0, -1)]:
            after = jobs[run].family if run >= 0 else None
            if end <= high and start >= low + minutes and start - end >= minutes:
                gap = self._in_gap(machine, (end, start), self.slots.cleans[machine].get(run), (before, job, after))
                found |= bits.span(gap[0], gap[1] - minutes + 1)
            end, before = until, after
        return found

    def _in_gap(
        self, machine: int, gap: tuple[int, int], old: CleanDown | None, runs: tuple[Family | None, int, Family | None]
    ) -> tuple[int, int]:
        """What is left of a gap between two runs once the clean-downs around a new run have their time."""
        (low, high), (before, job, after) = gap, runs
        family = self.problem.jobs[job].family
        first = clean_minutes(self.problem, machine, before, family)
        second = clean_minutes(self.problem, machine, family, after)
        if first:
            slot = self.slots.first_clean(machine, first, gap, old)
            low = self.problem.horizon if slot is None else slot + first
        if second:
            slot = self.slots.last_clean(machine, second, gap, old)
            high = -1 if slot is None else slot
        return low, high

    def clean_around(self, machine: int, job: int) -> bool:
        """Renew the clean-downs before a new run and before the one after it."""
        runs = self.runs(machine)
        position = next(i for i, run in enumerate(runs) if run[2] == job)
        ok = True
        if position + 1 < len(runs):
            self.slots.drop_clean(machine, runs[position + 1][2])
            ok = self._clean(machine, runs, position + 1)
        return self._clean(machine, runs, position) and ok

    def _clean(self, machine: int, runs: list[Run], position: int) -> bool:
        """Place the clean-down that the run at this position needs after the one before it."""
        start, _, run = runs[position]
        jobs = self.problem.jobs
        end = runs[position - 1][1] if position else self.problem.now
        before = jobs[runs[position - 1][2]].family if position else self.clean_for(machine)
        minutes = clean_minutes(self.problem, machine, before, jobs[run].family)
        fixed = jobs[run].fixed is not None
        if not minutes or fixed:
            return True
        family = jobs[run].family
        full = before is not None and family is not None and before.drops_to(family)
        return self.slots.set_clean(machine, run, (end, start), full=full)

    def close_gap(self, machine: int, runs: list[Run], gone: int) -> bool:
        """Give up the clean-downs around a run that is gone, for the one that the next run then needs."""
        position = next(i for i, run in enumerate(runs) if run[2] == gone)
        self.slots.drop_clean(machine, gone)
        left = [run for run in runs if run[2] != gone]
        if position < len(left):
            self.slots.drop_clean(machine, left[position][2])
            # It mostly fits: one of the two clean-downs just given up was at least as long, unless runs of one base
            # differ in their allergens.
            return self._clean(machine, left, position)
        return True
