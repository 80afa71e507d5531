"""Iterated greedy search: take a few units of work out, put them back otherwise, and keep what is no worse."""

import math
import random
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from orchestrator.planner.clusters import Wish, place_cluster
from orchestrator.planner.generation import generate
from orchestrator.planner.greedy_ledger import TROUBLE, Ledger
from orchestrator.planner.greedy_units import Picked, Units
from orchestrator.planner.lags import network
from orchestrator.planner.patience import Patience
from orchestrator.planner.placer import placed_again
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score import WEIGHTS, Score, replans, savable, score, terms
from orchestrator.planner.wishes import Generation, Rule, as_before, close, ideal_starts, late, soon

METHOD = "iterated greedy"
TELL_S = 0.5
"""Better plans are told at most so often: to write one down takes as long as dozens of trials."""
TRIES = 8
"""Places tried for a group in a trial: another trial is cheaper than a long search in this one."""
WANDER, WANDER_MIN = 0.004, 20
"""So much worse than the best, in proportion and in weighted minutes, a plan may be to go on from while orders are in
trouble; equal ones are always gone on from. Where only later goals are left, in proportion alone."""
CALM_WANDER = 0.001
OTHER_RULE: Rule = "backwards, by due"
MUCH_TROUBLE = 60
"""Weighted minutes late an order, on the mean, from which on another way to begin is looked at."""
STALE = 150
"""After so many trials without a better plan the search wanders twice as far, up to `FURTHEST` times; then it begins
again from the best."""
FURTHEST = 5


@dataclass(frozen=True, slots=True)
class Limit:
    """How long to go on: whichever is reached first."""

    seconds: float = math.inf
    trials: int | None = None
    """Given, and no seconds: the same input and seed give the same plan."""


@dataclass(slots=True)
class _Saved:
    """What a trial may change besides what the journal sees."""

    mark: int
    relaxed: set[tuple[int, int]]


class Search:
    """One plan under work, and the best so far."""

    def __init__(self, problem: Problem, schedule: Schedule, seed: int, patience: Patience | None = None) -> None:
        self.problem = problem
        self.chance = random.Random(seed)
        self.net = network(problem)
        self._given = schedule
        self.best = self._known = self._first = score(problem, schedule)
        """By the goals; the search itself goes by `base`, what is best by the sum of trouble."""
        # Whoever waits cannot wait for another way to begin.
        start = self._start() if patience is None or patience.endless else schedule
        self.placer = placed_again(problem, self.net, start, patience)
        self.run = Generation(problem, self.net, "backwards, by due", self.placer)
        ideal_starts(self.run)
        self.units = Units(self.placer, self.chance, self.run.ideal)
        self.ledger = Ledger(self.placer)
        self._relax_broken()
        self.placer.journal.forget()
        self.base = self.now = self.ledger.score()
        self.trials = 0
        self.gained = 0
        """The trial that last made what is best better."""
        self._calmly = replans(problem)
        self.reach, self._since = 1, 0

    def _start(self) -> Schedule:
        """What is given, or where that is in much trouble an order after the other by due instant, if in less."""
        given = trouble(self.best)
        little = trouble(savable(self.problem, self._given, self.best)) < MUCH_TROUBLE * max(1, len(self.problem.dues))
        if little or self._given.method.endswith(OTHER_RULE):
            return self._given
        other = generate(self.problem, network(self.problem), OTHER_RULE)
        return other if trouble(score(self.problem, other)) < given else self._given

    def _relax_broken(self) -> None:
        """Windows that the plan already breaks do not bind what is put back around them."""
        starts, end = self.placer.starts, self.placer.end
        for job in self.net.free_jobs():
            for lag in self.net.into[job]:
                both = job in starts and lag.before in starts
                if both and lag.most is not None and starts[job] - end(lag.before) > lag.most:
                    self.net.relaxed.add(lag.key)
            for anchor in self.net.anchors[job]:
                if job in starts and anchor.high is not None and starts[job] > anchor.high:
                    self.net.relaxed.add((job, anchor.stay))

    def written_down(self) -> Schedule:
        """The best plan so far; the search goes on from there."""
        self.placer.journal.undo(0)
        self.now = self.base
        if self.best is self._first:
            return self._given
        best = self.placer.schedule(METHOD)
        self.placer.journal.undo(0)
        return replace(best, terms=terms(self.problem, best))

    # One trial

    def trial(self) -> bool:
        """Take some units out and put them back; whether the plan is now another one."""
        self.trials += 1
        self._mind_how_far()
        picked = self._pick()
        saved = _Saved(self.placer.journal.mark(), set(self.net.relaxed))
        if self._rearranged(picked) and self._accepts(saved.mark):
            if self.best is self._first and (trouble(self.now), self.now) < (trouble(self.base), self.base):
                self.base, self._since, self.gained = self.now, self.trials, self.trials
                self.placer.journal.forget()
            return True
        self.placer.journal.undo(saved.mark)
        self.net.relaxed = saved.relaxed
        return False

    def trial_and_keep(self) -> bool:
        """One trial; whether it made the best plan so far."""
        if not (self.trial() and self.now < self.best):
            return False
        self.best, self.gained = self.now, self.trials
        self.placer.journal.forget()
        return True

    def _mind_how_far(self) -> None:
        """Wander further the longer nothing better is found, and in the end go back to the best."""
        if self.best is not self._known:
            self._known = self.base = self.best
            self._since = self.trials
        doublings = (self.trials - self._since) // STALE
        if doublings <= FURTHEST:
            self.reach = 2**doublings
            return
        self._since, self.reach, self.now = self.trials, 1, self.base
        self.placer.journal.undo(0)

    def _pick(self) -> Picked:
        """Units around an order in trouble, the more the worse it is; around any where there is none."""
        troubled = [(order, worth) for order, worth in self.ledger.troubled() if self.units.of_order.get(order)]
        if not troubled and self._calmly:
            moved = [unit for unit in self.units.clusters if self._has_moved(unit)]
            return self.units.around(self.chance.choice(moved)) if moved else self.units.around_any()
        if not troubled or self.chance.random() < 0.1:
            return self.units.around_any()
        orders, weights = zip(*troubled, strict=True)
        return self.units.around_order(self.chance.choices(orders, weights)[0])

    def _has_moved(self, unit: int) -> bool:
        """Whether any work of a unit is not where the plan before had it."""
        starts, previous = self.placer.starts, self.problem.previous
        places = ((starts.get(job), previous[job]) for job in self.units.jobs(unit))
        return any(place is not None and place.start != start for start, place in places)

    def _rearranged(self, picked: Picked) -> bool:
        """Whether all these units have found other places."""
        chosen, others = picked
        units = [*chosen, *others]
        before = {job: self.placer.starts.get(job) for unit in units for job in self.units.jobs(unit)}
        for job in sorted((j for j, start in before.items() if start is not None), key=self.net.rank.__getitem__)[::-1]:
            if not self.placer.remove(job):
                return False
        strict = {pair for pair in self.net.relaxed if pair[0] not in before}
        if self.chance.random() < 0.8:
            self.net.relaxed = strict
        parts = [[unit] for unit in others]
        in_turn = self.chance.random() < 0.3
        parts = [chosen, *parts] if in_turn else parts
        parts.sort(key=lambda part: self.units.due(part[0]) + self.chance.randrange(-240, 241))
        parts = parts if in_turn else [chosen, *parts]
        return all(self._put_back(part, before) for part in parts)

    def _put_back(self, units: list[int], before: dict[int, int | None]) -> bool:
        wish, backward = self._wish(before)
        clusters = self.units.in_order(units)
        for cluster in reversed(clusters) if backward else clusters:
            if not place_cluster(self.placer, cluster, wish, backward=backward, tries=TRIES):
                return False
        return True

    def _wish(self, before: dict[int, int | None]) -> tuple[Wish, bool]:
        """Where a unit should go this time, and whether its last work is placed first."""
        sooner = self.chance.choice((0, 0, 60, 240, 480, 960))

        def earlier(job: int, low: int, high: int) -> tuple[int, bool | None]:
            wanted, early = late(self.run)(job, low, high)
            return max(low, wanted - sooner), early

        def as_it_was(job: int, low: int, high: int) -> tuple[int, bool | None]:
            start = before[job]
            return earlier(job, low, high) if start is None else (start, None)

        if self._calmly and self.chance.random() < 0.5:
            return as_before(self.run), self.chance.random() < 0.5
        kind = self.chance.random()
        if kind < 0.3:
            return soon, False
        if kind < 0.65:
            return earlier, True
        if kind < 0.8:
            return close(self.run), False
        return as_it_was, self.chance.random() < 0.5

    # Better or worse

    def _accepts(self, mark: int) -> bool:
        """Whether to go on from here: the first goals alone decide where they differ much."""
        jobs, cleans = self.ledger.changed(mark)
        self.ledger.first_goals(jobs)
        worth, had = self.ledger.trouble(), trouble(self.now)
        most = trouble(self.base)
        limit = most + self.reach * (WANDER * most + WANDER_MIN) if most else 0
        if worth > max(had, limit):
            return False
        self.ledger.other_goals(jobs, cleans)
        value = self.ledger.score()
        further = 1 + self.reach * CALM_WANDER
        if (
            (self._calmly or not worth)
            and worth == had
            and _rest(value) > max(_rest(self.now), _rest(self.base) * further)
        ):
            return False
        self.now = value
        return True


def trouble(value: Score) -> int:
    """The goals before waste in one sum of weighted minutes."""
    return sum(weight * int(getattr(value, goal)) for goal, weight in TROUBLE.items())


def _rest(value: Score) -> float:
    """The goals from waste on in one sum, as `scalar` weighs them."""
    names = ("waste", "calm", "freshness", "cleaning", "crew", "changes")
    return float(sum(getattr(WEIGHTS, name) * getattr(value, name) for name in names))


def improve(
    problem: Problem,
    schedule: Schedule,
    budget: Limit,
    *,
    seed: int = 0,
    on_better: Callable[[Schedule], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Schedule:
    """Make a schedule better, a few units of work at a time.

    Args:
        problem: What is to be placed.
        schedule: Where to begin; it keeps every rule.
        budget: Seconds, or a count of trials that makes the answer repeatable.
        seed: Of the choices.
        on_better: Told of better schedules, at most every `TELL_S`.
        stop: Asked before every trial; True ends the search.

    Returns:
        The best schedule found, with its terms; the one given if none is better.
    """
    search = Search(problem, schedule, seed)
    ends, told = time.monotonic() + budget.seconds, time.monotonic()
    best, pending = schedule, False
    while search.units.clusters and (budget.trials is None or search.trials < budget.trials):
        now = time.monotonic()
        if now > ends or (stop is not None and stop()):
            break
        pending = search.trial_and_keep() or pending
        if pending and on_better is not None and now - told > TELL_S:
            best, pending, told = search.written_down(), False, now
            on_better(best)
    return search.written_down() if pending else best
