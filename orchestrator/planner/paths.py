"""The order of runs on a machine to which something is done between them."""

import itertools

from ortools.sat.python import cp_model

from orchestrator.planner.free_time import starts
from orchestrator.planner.problem import CleanDown, Schedule, Upkeep, minutes_on
from orchestrator.planner.upkeep import condition, happened
from orchestrator.planner.variables import Board, CleanKey, CleanVars, Literal, Path, Term


def paths(board: Board) -> None:
    """Runs on a machine that is cleaned or pre-cooled form one path: s(j) ≥ e(i) where run j follows run i directly.

    The path is a circuit through a depot, which stands for what the machine is in at first.
    """
    for index, machine in enumerate(board.problem.machines):
        if machine.kept:
            runs = [
                i
                for i, job, jobvars in board.placed()
                if index in jobvars.on and job.family is not None and not happened(board.problem, job)
            ]
            guessed = guessed_sequence(board.guess, runs, index)
            path = Path(index, machine, condition(board.problem, index), runs, guessed)
            board.paths[index] = path
            _circuit(board, path)


def _circuit(board: Board, path: Path) -> None:
    follows = set(zip([-1, *path.guessed], [*path.guessed, -1], strict=True))
    nodes = {run: node for node, run in enumerate([-1, *path.runs])}
    path.arcs = {(first, then): board.literal((first, then) in follows) for first, then in _pairs(board, path)}
    for run in nodes:
        path.preceded[run] = [first for first, then in path.arcs if then == run and first != run]
        path.followed[run] = [then for first, then in path.arcs if first == run and then != run]
    itself = [(nodes[run], nodes[run], ~board.at(run).on[path.index]) for run in path.runs]
    board.model.add_circuit([*((nodes[i], nodes[j], arc) for (i, j), arc in path.arcs.items()), *itself])
    for (first, then), arc in path.arcs.items():
        if then >= 0:
            board.model.add(board.at(then).start >= end_before(board, path, first)).only_enforce_if(arc)


def end_before(board: Board, path: Path, run: int) -> Term:
    """When a run ends; of -1, from when on the machine may be used."""
    return path.condition.ready if run < 0 else board.at(run).end


def _pairs(board: Board, path: Path) -> list[tuple[int, int]]:
    """Runs of which the second may follow the first directly: of those with a known place, neighbours only."""
    known = [-1, *sorted((i for i in path.runs if i in board.constants), key=lambda i: board.constants[i].start), -1]
    others = [run for run in path.runs if run not in board.constants]
    found = list(dict.fromkeys(itertools.pairwise(known)))
    for first, then in itertools.pairwise(known):
        since = path.condition.ready if first < 0 else board.constants[first].end
        until = board.problem.horizon if then < 0 else board.constants[then].start
        for run in others:
            earliest, latest = _limits(board, path, run)
            if max(since, earliest) <= min(latest, until - minutes_on(board.problem.jobs[run], path.index)):
                found += [(first, run), (run, then)]
    for run, other in itertools.permutations(others, 2):
        end = _limits(board, path, run)[0] + minutes_on(board.problem.jobs[run], path.index)
        found += [(run, other)] if end <= _limits(board, path, other)[1] else []
    return found


def _limits(board: Board, path: Path, run: int) -> tuple[int, int]:
    """Earliest and latest start of a run."""
    limit = board.limits.get(run)
    return (path.condition.ready, board.problem.horizon) if limit is None else (limit.start[0], limit.start[1])


def guessed_sequence(guess: Schedule | None, runs: list[int], machine: int) -> list[int]:
    """The runs that a schedule has on a machine, in time."""
    if guess is None:
        return []
    places = [
        (place.start, run) for run in runs if (place := guess.places[run]) is not None and place.machine == machine
    ]
    return [run for _, run in sorted(places)]


def guessed(board: Board, key: CleanKey) -> CleanDown | None:
    """What the guess does of this kind for this run."""
    cleans = () if board.guess is None else board.guess.cleans
    return next((c for c in cleans if (c.machine, c.before, c.kind) == (key.machine, key.run, key.kind)), None)


def attended(board: Board, path: Path, run: int, kind: Upkeep, done: Literal | None = None) -> CleanVars:
    """Cleaning of one kind for one run: whoever does it is there for all of it.

    Args:
        board: The model.
        path: Of the machine.
        run: The run that it prepares or follows; -1 for the last that has happened.
        kind: What is done.
        done: Whether it is, if that is known by another name already.
    """
    machine, key = path.machine, CleanKey(path.index, path.condition.last if run < 0 else run, kind)
    guess, place = guessed(board, key), board.place(key.run)
    if path.settled(run, board.constants, after=kind == "day-end"):
        return _as_it_is(board, key, machine.takes(kind), guess, done)
    begin = guess.start if guess is not None else place.start if place is not None else None
    start = board.integer(board.problem.now, board.problem.horizon, begin)
    clean = CleanVars(start, machine.takes(kind), board.literal(guess is not None) if done is None else done)
    for worker in machine.able(kind):
        does = board.literal(guess is not None and worker in guess.workers)
        clean.hands[worker] = does
        domain = cp_model.Domain.from_intervals([[a, b - 1] for a, b in starts(board.free(worker), clean.minutes)])
        board.model.add_linear_expression_in_domain(clean.start, domain).only_enforce_if(does)
    board.model.add(sum(clean.hands.values()) == clean.done)
    board.cleans[key] = clean
    return clean


def _as_it_is(board: Board, key: CleanKey, minutes: int, guess: CleanDown | None, done: Literal | None) -> CleanVars:
    """Cleaning between two runs that stay where they are: it stays too."""
    there = board.false if guess is None else board.true
    if done is not None:
        board.model.add(done == there)
    clean = CleanVars(board.problem.now if guess is None else guess.start, minutes, there)
    clean.hands = dict.fromkeys(() if guess is None else guess.workers, board.true)
    if guess is not None:
        board.cleans[key] = clean
    return clean


def prepares(board: Board, path: Path, run: int, clean: CleanVars, after: list[tuple[int, Literal]]) -> None:
    """c ≥ e(i) where run i comes directly before, and c + minutes ≤ s(j) less its pre-cool."""
    cooled = path.cooled.get(run, 0)
    if path.settled(run, board.constants):
        return
    board.model.add(clean.start + clean.minutes + cooled <= board.at(run).start).only_enforce_if(clean.done)
    for first, arc in after:
        board.model.add(clean.start >= end_before(board, path, first)).only_enforce_if(arc)
