"""What a plan under work is worth, kept up as work is taken out and put back: only what changed is counted anew."""

from collections import defaultdict
from collections.abc import Iterable

from orchestrator.core.models import WindowClass
from orchestrator.planner.placer import Placer
from orchestrator.planner.problem import CleanDown, Place
from orchestrator.planner.score import BREAK_EACH, CALM, Score, replans, sunk
from orchestrator.planner.score_changes import CLEAN_MOVED, EARLY_PER_MIN, MOVED, MOVED_PER_MIN, OTHER_WORKER
from orchestrator.planner.score_food import (
    MARGIN_MIN,
    MARGIN_PER_MIN,
    PREFERENCE_PER_MIN,
    PROMPT_PER_MIN,
    READY_EARLY_PER_MIN,
    SLOW_PER_MIN,
    free_wait,
    fresh_price,
    lasts,
    slow,
)
from orchestrator.planner.score_work import (
    ANOTHER_HAND,
    CLEAN_PER_MIN,
    DAY_MIN,
    FULL_EACH,
    HEAT_PER_MIN,
    PEAK_EACH,
    RESERVE_PER_MIN,
    Level,
    busy_spans,
    heats,
    profile,
)
from orchestrator.planner.slots import For
from orchestrator.planner.structure import portion_span, structure

TROUBLE = {"unmet": 20_000, "breaks": 20, "late": 1}
"""What an order left out, and a minute outside a quality window, weigh in minutes late while a search wanders. What is
kept at last is compared goal by goal."""
Key = tuple[object, ...]
Parts = tuple[tuple[str, int], ...]
"""What one thing adds to which goal."""


class Ledger:
    """The goals of `score`, as sums of what each window, order, job, clean-down, day and heated machine adds.

    All of it is written through the placer's journal: taking a trial back takes its sums back.
    """

    def __init__(self, placer: Placer) -> None:
        """Count everything once."""
        self._placer, self._problem = placer, placer.problem
        self._shape = structure(placer.problem)
        self._rests, self._fresh, self._early = (
            set(jobs) for jobs in (self._shape.rests, self._shape.fresh, self._shape.early)
        )
        self._spare = {index for index, worker in enumerate(placer.problem.workers) if worker.reserve}
        self._replans = replans(placer.problem)
        self._beside: dict[int, list[Key]] = defaultdict(list)
        """Windows and orders that each job has part in."""
        for number, window in enumerate(self._shape.windows):
            for job in {window.job, window.job if window.after is None else window.after}:
                self._beside[job].append(("window", number))
        for number, due in enumerate(placer.problem.dues):
            for job in due.jobs:
                self._beside[job].append(("due", number))
        self._trouble: dict[Key, int] = {}
        """Weight of each order left out or late, and of each window that is broken."""
        self.total = dict.fromkeys(Score.__slots__, 0)
        self._parts: dict[Key, Parts] = {}
        self._spans: dict[Key, list[Level]] = {}
        self._days: dict[int, dict[Key, None]] = defaultdict(dict)
        self._seen: dict[int, Place | None] = {}
        self.count_all()

    def count_all(self) -> None:
        """Everything, as if all of it had changed."""
        cleans = [(machine, key) for machine, kept in self._placer.slots.cleans.items() for key in kept]
        self.first_goals(range(len(self._problem.jobs)))
        for number in range(len(self._problem.dues)):
            self._renew(("due", number), self._due(number))
        self.other_goals(range(len(self._problem.jobs)), cleans)

    def score(self) -> Score:
        """The goals as they stand."""
        weighed = sum(CALM[goal] * self.total[goal] for goal in CALM) if self._replans else 0
        return Score(**{**self.total, "calm": weighed})

    def trouble(self) -> int:
        """The goals before waste in one sum of weighted minutes."""
        return sum(weight * self.total[goal] for goal, weight in TROUBLE.items())

    def troubled(self) -> list[tuple[int, int]]:
        """Orders left out, late, or served by what missed its window; and the weight of what can be saved of that."""
        found: list[tuple[int, int]] = []
        for (kind, number, *_), weight in self._trouble.items():
            assert isinstance(number, int)
            if kind != "due":
                found += [(order, weight) for order in sorted(self._shape.reach[self._shape.windows[number].job])[:1]]
            elif (left := weight - self._sunk(number)) > 0:
                found.append((number, left))
        return found

    def _sunk(self, number: int) -> int:
        """Of an order that is late: weighted minutes of it that no plan saves."""
        weight = self._problem.dues[number].weight
        late = dict(self._parts.get(("due", number), ())).get("late", 0)
        return TROUBLE["late"] * weight * sunk(self._problem, number, late // weight)

    def changed(self, mark: int) -> tuple[list[int], list[tuple[int, For]]]:
        """Jobs, and upkeep by machine and what it is for, that have been touched since a mark of the journal."""
        placer, net = self._placer, self._placer.net
        by_dict = placer.journal.touched(mark)
        jobs = set(by_dict.get(id(placer.places), ()))
        for job in list(jobs):
            if self._problem.jobs[job].stay:
                continue
            jobs.update(lag.stay for lag in (*net.into[job], *net.out[job]) if lag.stay is not None)
            jobs.update(net.rests[job])
            jobs.update(anchor.stay for anchor in net.anchors[job])
        cleans = [(machine, key) for machine, kept in placer.slots.cleans.items() for key in by_dict.get(id(kept), ())]
        return sorted(jobs), sorted(cleans)

    def first_goals(self, jobs: Iterable[int]) -> None:
        """Count anew the orders and windows that these jobs have part in."""
        for kind, number in dict.fromkeys(key for job in jobs for key in self._beside[job]):
            assert isinstance(number, int)
            self._renew((kind, number), self._window(number) if kind == "window" else self._due(number))

    def other_goals(self, jobs: Iterable[int], cleans: Iterable[tuple[int, For]]) -> None:
        """Count anew what these jobs and clean-downs are worth by themselves, and the days they fall on."""
        days: set[int] = set()
        hot: set[tuple[int, int]] = set()
        for job in jobs:
            place, before = self.place(job), self._seen.get(job)
            self._placer.journal.put(self._seen, job, place)
            self._renew(("job", job), () if place is None else self._job(job, place))
            made = self._problem.jobs[job]
            days |= self._book(("job", job), [] if place is None else busy_spans(made, place))
            for there in (place, before):
                if there is not None and there.machine is not None and heats(self._problem, made, there.machine):
                    hot.add((there.machine, there.start // DAY_MIN))
        for machine, what in cleans:
            clean = self._placer.slots.cleans[machine].get(what)
            self._renew(("clean", machine, *what), () if clean is None else self._clean(clean))
            spans = [] if clean is None else [(clean.start, clean.end, len(clean.workers))]
            days |= self._book(("clean", machine, *what), spans)
        for number, known in enumerate(self._problem.cleans_before):
            if known.kind != "pre-cool":
                self._renew(("clean before", number), self._moved_clean(known))
        for day in sorted(days):
            self._renew(("day", day), (("crew", PEAK_EACH * self._peak(day)),))
        for machine, day in sorted(hot):
            self._renew(("hot", machine, day), (("cleaning", HEAT_PER_MIN * self._idle(machine, day)),))

    def place(self, job: int) -> Place | None:
        """Where a job is; of a stay, from the work that fills it to the work that ends it."""
        made = self._problem.jobs[job]
        return self._placer.stay_place(job) if made.stay else self._placer.places.get(job)

    def _renew(self, key: Key, parts: Parts) -> None:
        journal, old = self._placer.journal, self._parts.get(key, ())
        if old == parts:
            return
        journal.put(self._parts, key, parts)
        trouble = sum(TROUBLE[goal] * amount for goal, amount in parts if goal in TROUBLE)
        if trouble:
            journal.put(self._trouble, key, trouble)
        elif key in self._trouble:
            journal.drop(self._trouble, key)
        for goal, amount in old:
            journal.put(self.total, goal, self.total[goal] - amount)
        for goal, amount in parts:
            journal.put(self.total, goal, self.total[goal] + amount)

    # What each thing adds: the same sums as in `score`, each of one thing alone

    def _window(self, number: int) -> Parts:
        window = self._shape.windows[number]
        place = self.place(window.job)
        before = None if window.after is None else self.place(window.after)
        if place is None or (window.after is not None and before is None):
            return ()
        minutes = place.end - place.start if before is None else place.start - before.end
        fresh = PROMPT_PER_MIN * (minutes - window.least) if window.prompt else 0
        by = window.missed_by(minutes)
        if by > 0 and window.window is WindowClass.QUALITY:
            return (("breaks", by + BREAK_EACH), ("freshness", fresh))
        if by > 0 and window.window is WindowClass.PREFERENCE:
            fresh += PREFERENCE_PER_MIN * by
        return (("freshness", fresh),) if fresh else ()

    def _due(self, number: int) -> Parts:
        due = self._problem.dues[number]
        places = [place for job in due.jobs if (place := self.place(job)) is not None]
        early = sum(max(0, due.due - MARGIN_MIN - place.end) for place in places)
        if len(places) < len(due.jobs):
            return (("unmet", due.weight), ("freshness", READY_EARLY_PER_MIN * early))
        last = max((place.end for place in places), default=0)
        short = max(0, last - due.due + MARGIN_MIN) if places else 0
        late = due.weight * max(0, last - due.due)
        return (("late", late), ("freshness", READY_EARLY_PER_MIN * early + MARGIN_PER_MIN * short))

    def _job(self, job: int, place: Place) -> Parts:
        made, parts = self._problem.jobs[job], []
        if job in self._rests and place.start + lasts(made) < self._problem.horizon:
            parts.append(("waste", made.load))
        if job in self._fresh and place.end - place.start > free_wait(made):
            parts.append(("freshness", (place.end - place.start - free_wait(made)) * fresh_price(made)))
        if made.fixed is not None:
            return tuple(parts)
        if made.crowded:
            parts.append(("freshness", SLOW_PER_MIN * slow(made, place)))
        passed = sum(len(set(a) - set(b)) for a, b in zip(place.workers, place.workers[1:], strict=False))
        crew = ANOTHER_HAND * passed
        for portion, who in enumerate(place.workers if self._spare else ()):
            start, end = portion_span(made, portion, place)
            crew += RESERVE_PER_MIN * (end - start) * len(self._spare.intersection(who))
        changes = EARLY_PER_MIN * max(0, place.end - self._problem.now) if job in self._early else 0
        return (*parts, ("crew", crew), ("changes", changes + self._moved(job, place)))

    def _moved(self, job: int, place: Place) -> int:
        before = self._problem.previous[job] if self._problem.previous else None
        if before is None or self._problem.jobs[job].stay:
            return 0
        moved = place.start != before.start or place.machine != before.machine
        cost = MOVED * moved + MOVED_PER_MIN * abs(place.start - before.start)
        if len(before.workers) == len(place.workers):
            pairs = zip(before.workers, place.workers, strict=True)
            cost += OTHER_WORKER * sum(len(set(a) - set(b)) for a, b in pairs)
        return cost

    def _clean(self, clean: CleanDown) -> Parts:
        minutes = clean.end - clean.start
        cost = CLEAN_PER_MIN * minutes + FULL_EACH * clean.full
        return (
            ("cleaning", cost),
            ("crew", RESERVE_PER_MIN * minutes * len(self._spare.intersection(clean.workers))),
        )

    def _moved_clean(self, known: CleanDown) -> Parts:
        gone = known.before in self._placer.starts and not self._placer.is_kept(known)
        return (("changes", CLEAN_MOVED),) if gone else ()

    # Hands and heat by day

    def _book(self, key: Key, spans: list[Level]) -> set[int]:
        """Note when something needs hands; the days whose peak may have changed."""
        old = self._spans.get(key, [])
        if old == spans:
            return set()
        journal, before, after = self._placer.journal, _days(old), _days(spans)
        journal.put(self._spans, key, spans)
        for day in before - after:
            journal.drop(self._days[day], key)
        for day in after - before:
            journal.put(self._days[day], key, None)
        return before | after

    def _peak(self, day: int) -> int:
        """Most hands at once on a day; days beyond the horizon do not count."""
        begin, end = day * DAY_MIN, (day + 1) * DAY_MIN
        if not 0 <= begin < self._problem.horizon:
            return 0
        inside = [
            (max(a, begin), min(b, end), hands)
            for key in self._days[day]
            for a, b, hands in self._spans[key]
            if a < end and b > begin
        ]
        return max((hands for _, _, hands in profile(inside)), default=0)

    def _idle(self, machine: int, day: int) -> int:
        """Minutes that a heated machine stands hot on a day without being used."""
        jobs = self._problem.jobs
        uses = [
            use
            for job, use in self._placer.slots.uses[machine].items()
            if use.start // DAY_MIN == day and heats(self._problem, jobs[job], machine)
        ]
        if not uses:
            return 0
        used = 0 if self._problem.machines[machine].shared else sum(use.end - use.start for use in uses)
        return max(use.end for use in uses) - min(use.start for use in uses) - used


def _days(spans: list[Level]) -> set[int]:
    return {day for start, end, _ in spans for day in range(start // DAY_MIN, -(-end // DAY_MIN))}
