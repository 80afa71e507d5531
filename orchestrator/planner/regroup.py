"""Batches pooled or split where the plan is better for it: other groupings are planned, and compared by the goals."""

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import islice

from orchestrator.core.models import TaskKind, TaskSpec
from orchestrator.planner.alternatives import alternatives
from orchestrator.planner.checked import Candidate, put_keeping_holds
from orchestrator.planner.generation import generate
from orchestrator.planner.lags import network
from orchestrator.planner.posing import Construct, Question, constructed
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score import Score, replans, score
from orchestrator.planner.score_changes import MOVED
from orchestrator.planner.searching import How, search

_TRIED = 12
"""Groupings that are planned by construction for one change: those around trouble first."""
_MOST_TRIED, _JOBS = 36, 2400
"""In all, and about so many jobs placed in all of them: a large plan tries few."""
_STEPS = 3
"""Changes of the grouping one after the other, each of which must make the plan better."""
_TRY_SHARE = 0.1
"""Of the seconds, for trying groupings; what has been tried by then is compared."""
_FIRST_SHARE, _CONTEST_SHARE, _LOOK_SHARE = 0.4, 0.2, 0.08
"""Of the seconds: for a search before groupings are tried again, for each of two groupings that are searched side by
side, and for each that construction alone finds no worse."""
_LOOKED_AT = 2
HANDS_PER_MIN = 20
"""A minute of somebody's hands, in the prices of freshness: an hour for a run of its own is worth five hours less that
food waits. Within one grouping all plans have the same work, so that no goal counts it."""


def worth(candidate: Candidate, first: Candidate) -> Score:
    """What a candidate is worth beside those with other groupings.

    Orders that were left out of its problem count as unmet there, and what is made for nobody as waste, however long it
    keeps. Hands are weighed against freshness: every batch fresh from the churn would be work all day. Where people
    work by a plan already, its work that is gone, or has another amount, counts as moved.

    Args:
        candidate: Any.
        first: The one that forms batches as the plan before, or the rule of thumb, does.
    """
    weights = {order.id: order.weight for order in candidate.question.request.kitchen.orders}
    unmet = {*candidate.question.unmet, *(none.order for none in candidate.posed.demand.unmet)}
    value = score(candidate.posed.problem, candidate.schedule)
    lacking = sum(weights.get(order, 0) for order in unmet)
    value = replace(value, unmet=value.unmet + lacking, waste=value.waste + _for_nobody(candidate))
    hands = HANDS_PER_MIN * _hands(candidate.posed.problem)
    value = replace(value, freshness=value.freshness + hands)
    if not replans(first.posed.problem):
        return value
    return replace(value, calm=value.calm + hands + MOVED * _gone(candidate))


def _hands(problem: Problem) -> int:
    """Minutes of hands that all work takes."""
    return sum(
        job.hands * (job.shortest if portion.when == "throughout" else portion.minutes)
        for job in problem.jobs
        for portion in job.portions
    )


def _for_nobody(candidate: Candidate) -> int:
    """Hundredths of what each recipe makes at once that nobody is meant to take."""
    demand = candidate.posed.demand
    yields = {recipe.id: recipe.yields.value for recipe in candidate.question.request.kitchen.recipes}
    left = {batch.lot: batch.size.value for batch in demand.batches}
    for peg in demand.pegs:
        if peg.lot in left:
            left[peg.lot] -= peg.quantity.value
    return sum(round(100 * max(0.0, left[batch.lot]) / yields[batch.recipe]) for batch in demand.batches)


def _gone(candidate: Candidate) -> int:
    """Work of the plan before that nobody has begun and that this one does not have, or not of this amount."""
    request = candidate.question.request
    begun = {actual.task for actual in request.actuals}
    before = request.previous.tasks if request.previous is not None else ()
    there = {(spec.id, _amount(spec)) for spec in candidate.posed.demand.specs}
    work = (task for task in before if task.kind is TaskKind.WORK and task.id not in begun)
    return sum((task.id, _amount(task)) not in there for task in work)


def _amount(spec: TaskSpec) -> float | None:
    return None if spec.quantity is None else round(spec.quantity.value, 2)


def searched(first: Candidate, how: How) -> list[Candidate]:
    """Search for the best plan, of the grouping that serves best.

    Other groupings are planned by construction before the search and once more beside what it has found by then, and
    are taken up where the goals come out better. Where one is taken up before anything was searched, the first is
    searched for as long: so the plan is never worse for it than by what the shorter search of the first costs.

    Args:
        first: Batches as the rule of thumb, or the plan before, has them.
        how: The search.

    Returns:
        All that was found.
    """
    if not alternatives(first):
        return _found(first, how)
    tried = _Tried(first, how)
    better = tried.climbed(first, constructed, main_goals=True)
    if better is first:
        found = _found(first, how.share(_FIRST_SHARE))
        left = 1 - _FIRST_SHARE
    else:
        found = [*_found(first, how.share(_CONTEST_SHARE)), *_found(better, how.share(_CONTEST_SHARE)), better]
        left = 1 - 2 * _CONTEST_SHARE
    best = tried.best([*found, first])
    better = tried.climbed(best, beside(best))
    if better is best:
        close = tried.close(best)
        looked = [other for near in close for other in _found(near, how.share(_LOOK_SHARE))]
        better = tried.best([best, *looked])
        left -= _LOOK_SHARE * len(close)
    found += [best, better]
    rest = _time_left(tried, how, left)
    return found if how.stopped or rest.seconds <= 0 else [*found, *_found(better, rest)]


def _time_left(tried: "_Tried", how: How, left: float) -> How:
    """A share of the seconds, where plans must repeat; else whatever the clock leaves."""
    if how.deterministic:
        return how.share(left)
    return replace(how, seconds=how.seconds - (time.monotonic() - tried.began))


def _found(candidate: Candidate, how: How) -> list[Candidate]:
    """What a search makes of a candidate."""
    posed = replace(candidate.posed, guess=candidate.schedule)
    return [replace(candidate, schedule=schedule) for schedule in search(posed, how)]


def beside(best: Candidate) -> Construct:
    """Construction that puts everything back where a schedule has it, and what is new beside it."""
    problem, schedule = best.posed.problem, best.schedule
    places = {job.id: place for job, place in zip(problem.jobs, schedule.places, strict=True)}

    def construct(posed: Problem) -> Schedule:
        number = {job.id: index for index, job in enumerate(posed.jobs)}
        cleans = tuple(
            replace(clean, before=number[name])
            for clean in schedule.cleans
            if (name := problem.jobs[clean.before].id) in number
        )
        known = tuple(places.get(job.id) for job in posed.jobs)
        there = replace(posed, previous=known, cleans_before=cleans)
        made = generate(there, network(there), "previous")
        whole = all(made.places[job] is not None for due in posed.dues for job in due.jobs)
        return made if whole else min(made, constructed(posed), key=lambda s: score(posed, s))

    return construct


@dataclass(slots=True)
class _Tried:
    """Groupings planned so far, for as long as there is time."""

    first: Candidate
    how: How
    began: float = 0.0
    left: int = 0
    """How many may still be tried."""
    nearly: tuple[tuple[Score, Candidate], ...] = ()
    """The best of those tried last that were not better."""

    def __post_init__(self) -> None:
        """Start the clock."""
        self.began = time.monotonic()
        self.left = max(2, min(_MOST_TRIED, _JOBS // max(1, len(self.first.posed.problem.jobs))))

    def best(self, candidates: list[Candidate]) -> Candidate:
        """The best of some, the first of equals."""
        return min(candidates, key=self.worth)

    def worth(self, candidate: Candidate) -> Score:
        """See `worth`."""
        return worth(candidate, self.first)

    def climbed(self, start: Candidate, construct: Construct, *, main_goals: bool = False) -> Candidate:
        """Change the grouping in one place after the other for as long as that makes the plan better.

        Args:
            start: Where to begin.
            construct: How each is planned.
            main_goals: Only for the sake of orders, windows, lateness and waste: what comes after those construction
                does not do well enough to be compared by.
        """
        over = self._clock()
        best, known = start, self.worth(start)
        if main_goals and not (known.unmet or known.breaks or known.late or known.waste):
            return start
        for _ in range(_STEPS):
            made = sorted(self._made(best, construct, over), key=lambda pair: pair[0])
            better = [pair for pair in made if _goals(pair[0], main_goals) < _goals(known, main_goals)]
            self.nearly = tuple(made) if not better else ()
            if not better:
                break
            known, best = better[0]
        return best

    def close(self, best: Candidate) -> list[Candidate]:
        """Those just tried that are as good in orders, windows, lateness and waste: a search could make them better."""
        known = _goals(self.worth(best), True)
        return [candidate for value, candidate in self.nearly if _goals(value, True) <= known][:_LOOKED_AT]

    def _clock(self) -> Callable[[], bool]:
        ends = time.monotonic() + self.how.seconds * _TRY_SHARE
        return lambda: self.how.stopped or (not self.how.deterministic and time.monotonic() > ends)

    def _made(self, best: Candidate, construct: Construct, over: Callable[[], bool]) -> list[tuple[Score, Candidate]]:
        """Candidates with other groupings, each with its worth; what gives up more than the first is no choice."""
        seen = {_shape(best)}
        made: list[tuple[Score, Candidate]] = []
        for grouping in islice(alternatives(best), _TRIED):
            if over() or self.left <= 0:
                break
            self.left -= 1
            question = Question(self.first.question.request, grouping)
            posed = put_keeping_holds(question, construct)
            candidate = Candidate(question, posed, posed.guess)
            gives_up = question.held - self.first.question.held or question.loosened > self.first.question.loosened
            if not gives_up and _shape(candidate) not in seen:
                seen.add(_shape(candidate))
                made.append((self.worth(candidate), candidate))
        return made


def _goals(value: Score, main: bool) -> Score:
    """A score, or only the goals that construction settles."""
    return replace(value, calm=0, freshness=0, cleaning=0, crew=0, changes=0) if main else value


def _shape(candidate: Candidate) -> frozenset[object]:
    """Which batches there are and whom they serve."""
    demand = candidate.posed.demand
    sizes = {(batch.lot, round(batch.size.value, 4)) for batch in demand.batches}
    return frozenset({*sizes, *((peg.lot, peg.consumer, round(peg.quantity.value, 4)) for peg in demand.pegs)})
