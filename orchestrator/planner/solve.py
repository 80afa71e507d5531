"""Improve a schedule by constraint programming: goal after goal, each kept while the next is carried out."""

import time
from collections.abc import Callable
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import dataclass, replace

from ortools.sat.python import cp_model

from orchestrator.planner import constraints, objective, sooner
from orchestrator.planner.budget import Budget, new_solver
from orchestrator.planner.greedy import trouble
from orchestrator.planner.improvers import Greedy, Rounds
from orchestrator.planner.neighbourhoods import groups
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.read_off import read_off
from orchestrator.planner.score import Score, replans, score, terms
from orchestrator.planner.variables import Board, Setting

METHOD = "constraint model"
WORKERS = 2
SHARES = {
    "unmet": 0.3,
    "breaks": 0.35,
    "late": 0.5,
    "waste": 0.2,
    "calm": 1.0,
    "freshness": 0.5,
    "cleaning": 0.4,
    "crew": 0.4,
    "changes": 1.0,
}
"""Of the time left when a goal's turn comes; a goal that is proven sooner leaves the rest to those after it."""
SMALL = 8
"""Up to so many batches and orders one model of everything is solved, mostly to proof in a second or two; beyond,
neighbourhoods of a good guess get further in the same time."""
DOUBT, ASKED_AGAIN, FADES = 0.15, 10, 0.85
"""Greedy search runs beside the rounds while its plan was the one kept in so many of them, counted with so much memory,
and in every so manieth. At 20 batches two workers of the solver got further in the same time, at 50 greedy did."""
TRIED = 100
"""Up to so many, a guess is tried in the model of everything, 0.2 s at 50 batches. That of 150 takes 4 s, and knows
no better: rounds around what breaks a rule find nothing, and every plan is checked before it is offered."""
ALONE = 30
"""Beyond so many, greedy search that gets on has the interpreter to itself while orders are in trouble: models take it
for longer the larger the plan is. At 50 batches plans were on time in half the time, at 20 in no less."""
TURN_S = 0.5
"""For greedy search by itself, before what it found is told."""
TURNS = 0.4
"""Of the seconds at most, for generations in other turns: at 150 batches eight of ten planted kitchens were on time
after twenty of them, six seconds of a core; greedy search by itself stayed late for a minute in three of five."""
PREFERRED = frozenset({"calm", "freshness", "cleaning", "crew", "changes"})
"""Goals that windows of mere preference belong to, or go before."""


@dataclass(frozen=True, slots=True)
class Found:
    """What one model gave."""

    schedule: Schedule | None
    status: cp_model.CpSolverStatus


class _Tell(cp_model.CpSolverSolutionCallback):
    """Passes each better schedule on as it is found."""

    def __init__(self, board: Board, tell: Callable[[Schedule], None]) -> None:
        super().__init__()
        self._board = board
        self._tell = tell

    def on_solution_callback(self) -> None:
        self._tell(read_off(self._board, self.value, METHOD))


class Search:
    """One problem, the best schedule so far, and the means to improve it."""

    def __init__(
        self,
        problem: Problem,
        guess: Schedule | None,
        budget: Budget,
        seed: int,
        on_better: Callable[[Schedule], None] | None,
    ) -> None:
        """Begin with a guess; it counts as the best so far only if it keeps every rule."""
        self.problem = problem
        self.budget = budget
        self.seed = seed
        self.on_better = on_better
        self.hint = guess
        self.best: Schedule | None = None
        self.score: Score | None = None
        self.bound: float | None = None
        """Of the goal carried out last."""
        if guess is not None and self._keeps_rules(guess):
            self.best, self.score = guess, score(problem, guess)

    def _keeps_rules(self, guess: Schedule) -> bool:
        """Whether a schedule is a solution of the model, quality windows aside; a large one is believed to be."""
        if len(groups(self.problem)) > TRIED:
            return True
        board = self._board(Setting(left_out=left_out(guess), slack=True), guess)
        if board.bent:
            return False
        solver = new_solver(self.budget, self.seed, 1)
        solver.parameters.fix_variables_to_their_hinted_value = True
        status = self.budget.run(solver, board.model, min(2.0, self.budget.left))
        return status in (cp_model.OPTIMAL, cp_model.FEASIBLE)

    def _board(self, setting: Setting, hint: Schedule | None) -> Board:
        board = Board(self.problem, setting, hint)
        for rule in constraints.ALL:
            rule(board)
        return board

    def setting(self, goal: str) -> Setting:
        """What a model needs for a goal, given the best so far."""
        known = self.score
        return Setting(
            left_out=left_out(self.best) if self.best is not None and goal != "unmet" else frozenset(),
            optional=frozenset(range(len(self.problem.dues))) if goal == "unmet" else frozenset(),
            slack=known is None or known.breaks > 0 or goal == "unmet",
            preferences=goal in PREFERRED,
        )

    def improve(self, goal: str, seconds: float) -> Found:
        """Carry out one goal as far as time allows, the goals before it kept as they are."""
        board = self._board(self.setting(goal), self.best or self.hint)
        self._pose(board, goal)
        solver = new_solver(self.budget, self.seed, WORKERS, hurried=True)
        tell = None if goal == "unmet" else _Tell(board, self._accept)
        status = self.budget.run(solver, board.model, seconds, tell)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return Found(None, status)
        schedule = read_off(board, solver.value, METHOD)
        self._accept(schedule)
        self.bound = solver.best_objective_bound
        return Found(schedule, status)

    def all_goals(self) -> bool:
        """Goal after goal of a small problem; of a larger one all of them by steps from a sound schedule.

        Returns:
            Whether every goal is proven.
        """
        small = len(groups(self.problem)) <= SMALL
        proven = True
        if self.score is None or (small and self.score.unmet > 0):
            found = self.improve("unmet", SHARES["unmet"] * self.budget.left)
            proven = found.status == cp_model.OPTIMAL
        if not small and self.best is not None:
            self._steps()
            return False
        self.bound = None
        for goal in objective.goals(again=replans(self.problem))[1:]:
            if self.score is None or self.budget.left <= 0:
                return False
            if getattr(self.score, goal) > 0:
                proven = self.improve(goal, SHARES[goal] * self.budget.left).status == cp_model.OPTIMAL and proven
            else:
                self.bound = 0.0
        return proven

    def _steps(self) -> None:
        """Neighbourhoods and greedy search; where plans must repeat they take turns, else they run side by side.

        In a large problem greedy search has the interpreter to itself while orders are in trouble and it gets on. While
        it finds nothing, the solver has its core too.
        """
        self._turns()
        by_model = Rounds(self.problem, self.budget, self.seed)
        by_hand = Greedy(self.problem, self.budget, self.seed)
        trust, alone = 1.0, len(groups(self.problem)) > ALONE
        with ThreadPoolExecutor(1) as beside:
            while self.budget.left > 0 and self.best is not None and self.score is not None:
                if alone and by_hand.lively and trouble(self.score):
                    self._offer(by_hand.step(self.best, self.score, self._for(TURN_S)))
                elif self.budget.deterministic:
                    self._offer(by_model.step(self.best, self.score))
                    self._offer(by_hand.step(self.best, self.score))
                elif trust > DOUBT or by_model.count % ASKED_AGAIN == 0:
                    kept = self._side_by_side(beside, by_model, by_hand, self.best, self.score)
                    trust = FADES * trust + (1 - FADES) * kept
                else:
                    by_model.workers = WORKERS
                    self._offer(by_model.step(self.best, self.score))

    def _turns(self) -> None:
        """Generations in other turns, where orders are late and no plan holds yet that ought not to be moved."""
        if self.best is None or self.score is None or not self.score.late or replans(self.problem):
            return
        kept = (1 - TURNS) * self.budget.left
        for schedule in sooner.generations(self.problem, self.best, lambda: self.budget.left <= kept):
            self.budget.spend(sooner.PLACE_S * len(self.problem.jobs))
            if trouble(score(self.problem, schedule)) < trouble(self.score):
                self._accept(schedule)

    def _for(self, seconds: float) -> Callable[[], bool] | None:
        """Whether so much time has passed; none where plans must repeat."""
        ends = time.monotonic() + seconds
        return None if self.budget.deterministic else lambda: time.monotonic() > ends

    def _side_by_side(
        self, beside: Executor, by_model: Rounds, by_hand: Greedy, before: Schedule, value: Score
    ) -> bool:
        """A round in a thread of its own, for the solver does not hold the interpreter, and greedy search meanwhile.

        Both begin at the best so far. If both find a better one, the best of them is kept, and the next round frees
        what the other had moved.

        Returns:
            Whether greedy search found the plan that was kept.
        """
        by_model.workers = 1
        running = beside.submit(by_model.step, before, value)
        found = by_hand.step(before, value, running.done)
        better = [schedule for schedule in (running.result(), found) if schedule is not None]
        self._offer(*better)
        if len(better) == 2:
            by_model.again(before, next(schedule for schedule in better if schedule is not self.best))
        return found is not None and self.best is found

    def _offer(self, *schedules: Schedule | None) -> None:
        """The better goes first, so that only what is kept is told."""
        there = [schedule for schedule in schedules if schedule is not None]
        for schedule in sorted(there, key=lambda schedule: score(self.problem, schedule)):
            self._accept(schedule)

    def _pose(self, board: Board, goal: str) -> None:
        known = self.score
        if goal == "unmet":
            board.model.maximize(objective.met(board))
            return
        for earlier in objective.goals(again=replans(self.problem))[1:]:
            bound = None if known is None else getattr(known, earlier)
            if earlier == "late":
                part = objective.late(board, objective.OPEN if bound is None else bound)
            else:
                part = objective.EXPRESSIONS[earlier](board)
            if earlier == goal:
                board.model.minimize(part)
                return
            if bound is not None and not isinstance(part, int):
                board.model.add(part <= bound)

    def _accept(self, schedule: Schedule) -> None:
        """Keep a schedule if it is better than the best so far."""
        value = score(self.problem, schedule)
        if self.score is not None and value >= self.score:
            return
        self.best, self.score = schedule, value
        if self.on_better is not None:
            self.on_better(replace(schedule, terms=terms(self.problem, schedule)))


def left_out(schedule: Schedule) -> frozenset[int]:
    """Jobs without a place."""
    return frozenset(i for i, place in enumerate(schedule.places) if place is None)


def solve(
    problem: Problem,
    guess: Schedule | None,
    *,
    seconds: float,
    seed: int = 0,
    deterministic: bool = False,
    on_better: Callable[[Schedule], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Schedule:
    """The best schedule found in a given time.

    Goals are carried out one after the other and kept: orders met without breaking a safety window, quality windows
    broken as little as can be, weighted lateness, waste, freshness, cleaning, crew, changes (see `score`).

    Args:
        problem: What is asked for.
        guess: Where to begin; a guess that keeps every rule is never made worse.
        seconds: To spend at most.
        seed: Same input, same seed and ``deterministic`` give the same schedule.
        deterministic: One worker and the solver's own clock instead of the wall's.
        on_better: Told of each better schedule.
        stop: Asked about twenty times a second; True ends the search.

    Returns:
        The schedule with its terms; ``bound`` of the last goal only if every goal is proven. The guess, if nothing
        else is found.

    Raises:
        ValueError: the model is invalid, with the solver's own words.
    """
    budget = Budget(seconds, deterministic=deterministic, stop=stop)
    search = Search(problem, guess, budget, seed, on_better)
    proven = search.all_goals()
    best = search.best or guess or Schedule(tuple(None for _ in problem.jobs))
    return replace(best, terms=terms(problem, best), proven=proven, bound=search.bound if proven else None)
