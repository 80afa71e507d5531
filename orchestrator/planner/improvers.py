"""Ways to make a schedule better a step at a time: neighbourhoods by constraint model, and iterated greedy search."""

from collections.abc import Callable

from orchestrator.planner import greedy, rounds
from orchestrator.planner.budget import Budget
from orchestrator.planner.neighbourhoods import Neighbourhoods
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score import Score, score

TRIALS = 40
"""Of a greedy step where nothing runs beside it."""
PATIENCE = 120
"""Trials without a better plan after which greedy search asks for help."""
TRIAL_S = 0.005
"""What a trial counts for where plans must repeat: seconds on a free core at 20 batches."""


class Rounds:
    """Some jobs are freed and placed afresh by a constraint model of them."""

    def __init__(self, problem: Problem, budget: Budget, seed: int) -> None:
        """Choose by chance, from a seed."""
        self.count = 0
        self.workers = 1
        """Of the solver: as many as nothing else keeps busy."""
        self._problem, self._budget, self._seed = problem, budget, seed
        self._around = Neighbourhoods(problem, seed)

    def step(self, best: Schedule, value: Score) -> Schedule | None:
        """One round; it ends by itself."""
        self.count += 1
        chosen = self._around.choose(best)
        found = rounds.run(
            self._problem, best, value, chosen, self._budget, seed=self._seed + self.count, workers=self.workers
        )
        better = found.schedule is not None and score(self._problem, found.schedule) < value
        self._around.learn(chosen.kind, better=better, proven=found.proven)
        return found.schedule if better else None

    def again(self, before: Schedule, lost: Schedule) -> None:
        """What a plan that was not kept had otherwise is freed next."""
        pairs = zip(before.places, lost.places, strict=True)
        self._around.again(index for index, (was, became) in enumerate(pairs) if was != became)


class Greedy:
    """Units of work are taken out and put back otherwise."""

    def __init__(self, problem: Problem, budget: Budget, seed: int) -> None:
        """Nothing is read before the first step."""
        self._problem, self._budget, self._seed = problem, budget, seed
        self._search: greedy.Search | None = None
        self._from: Schedule | None = None

    @property
    def lively(self) -> bool:
        """Whether it has made the best plan better lately, or has just begun."""
        return self._search is None or self._search.trials - self._search.gained < PATIENCE

    def step(self, best: Schedule, value: Score, over: Callable[[], bool] | None = None) -> Schedule | None:
        """Trials until told, or so many; the search goes on where it was unless something better has been found."""
        if self._search is None or best is not self._from:
            self._seed += 1
            self._search, self._from = greedy.Search(self._problem, best, self._seed), best
        search, found = self._search, False
        for trial in range(TRIALS if over is None else 10**9):
            if not search.units.clusters or (over is not None and trial > 0 and over()) or self._budget.left <= 0:
                break
            found = search.trial_and_keep() or found
            if over is None:
                self._budget.spend(TRIAL_S)
        if not found:
            return None
        self._from = search.written_down()
        return self._from
