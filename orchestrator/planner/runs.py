"""Runs on a machine to which something is done between them: where another fits, and the upkeep around it."""

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from orchestrator.planner import bits
from orchestrator.planner.placed import Placed
from orchestrator.planner.problem import CleanDown, Upkeep, minutes_on
from orchestrator.planner.rooms import Gap
from orchestrator.planner.slots import For
from orchestrator.planner.upkeep import Condition, allowed_in_use, condition, day_after, day_of, needed

Run = tuple[int, int, int]
"""Start, end and job."""


class Way(NamedTuple):
    """One way of preparing a new run and the one after it, and the starts at which it is the right one."""

    low: int
    high: int
    first: Upkeep | None
    second: Upkeep | None
    closes: int | None
    """The day that the new run would be the last of."""


class Runs(Placed):
    """Adds runs and the upkeep between them to what is placed."""

    def condition(self, machine: int) -> Condition:
        """What a machine is in before the first of `runs`."""
        if machine not in self.conditions:
            self.conditions[machine] = condition(self.problem, machine)
        return self.conditions[machine]

    def gaps(self, machine: int) -> tuple[Gap, ...]:
        """Before each of the runs, and after the last."""
        known = self.slots.gaps.get(machine)
        if not known:
            known = self.slots.gaps[machine] = tuple(self._gaps(machine))
        return known

    def _gaps(self, machine: int) -> list[Gap]:
        at, horizon, made = self.condition(machine), self.problem.horizon, self.problem.machines[machine]
        end, family, used, cold, day, last = at.ready, at.family, at.used, at.cold, at.owed, at.last
        found: list[Gap] = []
        for start, until, run in self.slots.sequence(machine):
            gap = Gap(end, start, family, used, cold, day, run, last)
            found.append(gap)
            if made.every is not None:
                used = start if used is None or self._divided(machine, gap) else used
            end, family, cold, last = until, self.problem.jobs[run].family, until, run
            day = day_of(made, start) if made.day_end else None
        return [*found, Gap(end, horizon, family, used, cold, day, -1, last)]

    def _fresh(self, machine: int, gap: Gap) -> bool:
        """Whether the machine has its day-end clean in a gap."""
        return gap.day is not None and gap.day != day_of(self.problem.machines[machine], gap.end)

    def _divided(self, machine: int, gap: Gap) -> bool:
        """Whether something thorough lies in a gap, so that the time in use counts anew."""
        clean = self.slots.cleans[machine].get(("run", gap.run))
        return (clean is not None and clean.thorough) or self._fresh(machine, gap)

    def _in_use_until(self, machine: int, gaps: tuple[Gap, ...], position: int) -> int:
        """When the last run ends that nothing thorough divides from the one at this position."""
        after = position + 1
        while gaps[after].run >= 0 and not self._divided(machine, gaps[after]):
            after += 1
        return gaps[after].start

    # Where another fits

    def between_runs(self, machine: int, job: int, low: int, high: int) -> int:
        """Starts that leave time, before and after, for the upkeep and for somebody to do it.

        Only gaps between runs that are wide enough, and that a start between ``low`` and ``high`` falls into, are
        looked at.
        """
        minutes, found, gaps = minutes_on(self.problem.jobs[job], machine), 0, self.gaps(machine)
        for position, gap in enumerate(gaps):
            if gap.start <= high and gap.end >= low + minutes and gap.end - gap.start >= minutes:
                for way in self._ways(machine, job, gaps, position):
                    found |= self._starts(machine, minutes, gap, way)
        return found

    def _ways(self, machine: int, job: int, gaps: tuple[Gap, ...], position: int) -> Iterator[Way]:
        """Each way of preparing a new run in a gap and the run after it."""
        gap, made, jobs = gaps[position], self.problem.machines[machine], self.problem.jobs
        for low, high, day in self._days(machine, gap):
            fresh = gap.day is not None and gap.day != day
            last = day is not None and (gap.run < 0 or day_of(made, gap.end) != day)
            first = None if fresh else needed(gap.family, jobs[job].family) or None
            second = None if last or gap.run < 0 else needed(jobs[job].family, jobs[gap.run].family) or None
            way = Way(low, high, first, second, day if last else None)
            if made.every is None:
                yield way
                continue
            anew = fresh or first == "full" or gap.used is None
            for part, own in [(way, True)] if anew else self._by_own_use(machine, job, gap, way):
                if gap.run < 0 or last or second == "full":
                    yield part
                else:
                    until = self._in_use_until(machine, gaps, position)
                    yield from _by_later_use(part, None if own else gap.used, until - made.every)

    def _days(self, machine: int, gap: Gap) -> Iterator[tuple[int, int, int | None]]:
        """First and last start on each day of a gap; where days do not matter, in all of it."""
        made = self.problem.machines[machine]
        if not made.day_end:
            yield gap.start, gap.end, None
            return
        for day in range(day_of(made, gap.start), day_of(made, gap.end) + 1):
            yield max(gap.start, made.days[day][0]), min(gap.end, day_after(self.problem, made, day) - 1), day

    def _by_own_use(self, machine: int, job: int, gap: Gap, way: Way) -> list[tuple[Way, bool]]:
        """Soon after the machine was first used as it is, later after a hygiene clean."""
        minutes = minutes_on(self.problem.jobs[job], machine)
        assert gap.used is not None  # else its use begins with the new run
        turn = gap.used + allowed_in_use(self.problem.machines[machine], minutes) - minutes
        return [
            (way._replace(high=min(way.high, turn)), False),
            (way._replace(low=max(way.low, turn + 1), first="hygiene"), True),
        ]

    def _starts(self, machine: int, minutes: int, gap: Gap, way: Way) -> int:
        """Starts of a new run for which somebody can do all that this way asks for."""
        made, slots = self.problem.machines[machine], self.slots
        old = slots.cleans[machine].get(("run", gap.run))
        low, high = way.low, min(way.high, gap.end - minutes)
        if way.first and low <= high:
            slot = slots.first_clean(machine, way.first, (gap.start, gap.end), old)
            low = self.problem.horizon if slot is None else max(low, slot + made.takes(way.first) + made.precool)
        if way.second and low <= high:
            slot = slots.last_clean(machine, way.second, (gap.start, gap.end - made.precool), old)
            high = -1 if slot is None else min(high, slot - minutes)
        if way.closes is not None and low <= high:
            close, of_day = made.days[way.closes][1], slots.cleans[machine].get(("day", way.closes))
            slot = slots.last_clean(machine, "day-end", (gap.start, min(close, gap.end)), of_day)
            high = -1 if slot is None else min(high, slot - minutes)
        found = bits.span(low, high + 1)
        if made.precool and found:
            # Room for a pre-cool is kept before every run: it may be needed once the run before is moved away.
            warm = gap.start if gap.cold is None else gap.cold + made.keeps + 1
            found &= slots.unstopped(machine, made.precool) & ~bits.span(warm, gap.start + made.precool)
        return found

    # Upkeep around a run

    def clean_around(self, machine: int, job: int) -> bool:
        """Renew the upkeep before a new run, before the one after it, and at the end of its day."""
        gaps = self.gaps(machine)
        position = next(i for i, gap in enumerate(gaps) if gap.run == job)
        after = gaps[position + 1]
        self.slots.drop_clean(machine, ("run", after.run))
        ok = self._clean(machine, position, until=after.start)
        if after.run >= 0:
            ok = self._clean(machine, position + 1) and ok
        return self._close_day(machine, after) and ok

    def _clean(self, machine: int, position: int, until: int | None = None) -> bool:
        """Place what the run at this position needs.

        Args:
            machine: The machine.
            position: Of the gap before the run.
            until: When the use of the machine ends that counts; left out, when the last run ends that nothing divides
                from this one.

        Returns:
            False if nobody can do it.
        """
        gaps, made = self.gaps(machine), self.problem.machines[machine]
        gap, run = gaps[position], gaps[position].run
        warm = made.precool > 0 and (gap.cold is None or gap.end > gap.cold + made.keeps)
        self.slots.drop_clean(machine, ("cold", run))
        if warm:
            cooled = CleanDown(machine, run, "pre-cool", gap.end - made.precool, gap.end, ())
            self.slots.put_clean(cooled, ("cold", run))
        if self._fresh(machine, gap):
            return True
        kind: Upkeep | None = needed(gap.family, self.problem.jobs[run].family) or None
        if made.every is not None and gap.used is not None and kind != "full":
            own = gaps[position + 1].start - gap.end
            until = self._in_use_until(machine, gaps, position) if until is None else until
            kind = "hygiene" if until - gap.used > allowed_in_use(made, own) else kind
        # Room for a pre-cool is kept also where the machine is cold, unless the plan before did without.
        span, most = (gap.start, gap.end - made.precool), gap.end - made.precool * warm
        return kind is None or self.slots.set_clean(machine, kind, run, span, ("run", run), most=most)

    def _close_day(self, machine: int, gap: Gap) -> bool:
        """Place the day-end clean after the run before a gap, if it is the last of its day."""
        if gap.day is None or (gap.run >= 0 and not self._fresh(machine, gap)):
            return True
        self.slots.drop_clean(machine, ("day", gap.day))
        span = (gap.start, self.problem.machines[machine].days[gap.day][1])
        return self.slots.set_clean(machine, "day-end", gap.after, span, ("day", gap.day))

    def close_gap(self, machine: int, runs: list[Run], gone: int) -> bool:
        """Renew the upkeep around a run that has been taken out of these; False if nobody can do it."""
        position = next(i for i, run in enumerate(runs) if run[2] == gone)
        self.slots.drop_clean(machine, ("run", gone))
        self.slots.drop_clean(machine, ("cold", gone))
        gaps, made, ok = self.gaps(machine), self.problem.machines[machine], True
        if gaps[position].run >= 0:
            self.slots.drop_clean(machine, ("run", gaps[position].run))
            # It mostly fits: one of the two clean-downs just given up was at least as long, unless runs of one base
            # differ in their allergens, and room for a pre-cool was kept.
            ok = self._clean(machine, position)
        if made.day_end:
            self._reopen_day(machine, day_of(made, runs[position][0]), gaps[position])
        return ok

    def _reopen_day(self, machine: int, day: int, gap: Gap) -> None:
        """A run is gone from a day: its day-end clean now follows the run before it there, or nothing asks for it."""
        key: For = ("day", day)
        clean = self.slots.cleans[machine].get(key)
        if gap.day != day and (gap.run < 0 or day_of(self.problem.machines[machine], gap.end) != day):
            self.slots.drop_clean(machine, key)
        elif clean is not None and gap.day == day and (gap.run < 0 or self._fresh(machine, gap)):
            self.journal.put(self.slots.cleans[machine], key, replace(clean, before=gap.after))

    def prepare_facts(self) -> None:
        """The upkeep that runs ask for which have begun, or are held in place."""
        for machine, made in enumerate(self.problem.machines):
            for position, gap in enumerate(self.gaps(machine) if made.kept else ()):
                if gap.run >= 0:
                    self._clean(machine, position)
                self._close_day(machine, gap)

    def mend_upkeep(self, machine: int) -> list[int]:
        """Give runs that are placed without their upkeep what they need: what the plan before had, where it still
        serves, and no other than that elsewhere.

        Returns:
            Runs that lack something which nobody can do, or which there is no time for.
        """
        self.clear_upkeep(machine)
        for clean in self.problem.cleans_before:
            runs = clean.before in self.places and self.places[clean.before].machine == machine
            free = self.slots.who(clean.workers, len(clean.workers), clean.start, clean.end) is not None
            if clean.machine == machine and clean.kind != "pre-cool" and runs and free:
                self.put_clean(clean)
        stale, lacking = set(self.slots.cleans[machine]), []
        for position, gap in enumerate(self.gaps(machine)):
            stale -= {("run", gap.run), *(() if gap.day is None else [("day", gap.day)])}
            self.slots.drop_clean(machine, ("run", gap.run))
            if gap.run >= 0 and not (self._clean(machine, position) and self._cold_in_time(machine, gap)):
                lacking.append(gap.run)
            if not self._close_day(machine, gap):
                lacking.append(gap.after)
        for key in stale:
            self.slots.drop_clean(machine, key)
        return lacking

    def clear_upkeep(self, machine: int) -> None:
        """Take away all that is to be done to a machine."""
        for key in list(self.slots.cleans[machine]):
            self.slots.drop_clean(machine, key)

    def _cold_in_time(self, machine: int, gap: Gap) -> bool:
        """Whether the pre-cool of the run after a gap, if it needs one, lies in the gap and not in a stop."""
        cooled = self.slots.cleans[machine].get(("cold", gap.run))
        minutes = self.problem.machines[machine].precool
        return cooled is None or (
            cooled.start >= gap.start and bits.has(self.slots.unstopped(machine, minutes), gap.end)
        )

    def put_clean(self, clean: CleanDown) -> None:
        """What a schedule has, where it has it."""
        self.slots.put_clean(clean, self._key(clean))

    def _key(self, clean: CleanDown) -> For:
        keys: dict[Upkeep, For] = {"pre-cool": ("cold", clean.before), "day-end": ("day", self._day(clean))}
        return keys.get(clean.kind, ("run", clean.before))

    def is_kept(self, clean: CleanDown) -> bool:
        """Whether cleaning is where it was, and by whom."""
        key: For = ("day", self._day(clean)) if clean.kind == "day-end" else ("run", clean.before)
        return self.slots.cleans[clean.machine].get(key) == clean

    def _day(self, clean: CleanDown) -> int:
        """A day-end clean is done on the day that it closes."""
        return day_of(self.problem.machines[clean.machine], clean.start)

    def upkeep(self) -> list[CleanDown]:
        """All that is placed, in time."""
        found = (clean for cleans in self.slots.cleans.values() for clean in cleans.values())
        return sorted(found, key=lambda clean: (clean.start, clean.machine))


def _by_later_use(way: Way, used: int | None, turn: int) -> Iterator[Way]:
    """The runs after a new one are in use until so long after ``turn``: a hygiene clean goes between if use began
    before it. Use begins with the new run where ``used`` is none."""
    if used is not None:
        yield way if used >= turn else way._replace(second="hygiene")
        return
    yield way._replace(low=max(way.low, turn))
    yield way._replace(high=min(way.high, turn - 1), second="hygiene")
