"""The rule of clean-downs: what lies between two runs on one machine."""

from ortools.sat.python import cp_model

from orchestrator.planner.free_time import starts
from orchestrator.planner.problem import CleanDown, Family, Fixed, Machine, Problem, Schedule
from orchestrator.planner.variables import Board, CleanKey, CleanVars, Literal, Term


def needed(before: Family | None, run: Family | None) -> str:
    """What must lie between two runs: nothing, a rinse or a full clean.

    Args:
        before: What the machine ran last; none if that does not matter.
        run: What it is to run next.

    Returns:
        ``""`` for the same base; ``"rinse"`` when neither an allergen nor depth of colour drops; ``"full"`` when one
        does.
    """
    if before is None or run is None or before.base == run.base:
        return ""
    return "full" if before.drops_to(run) else "rinse"


def clean_for(problem: Problem, machine: int) -> Family | None:
    """What a machine is clean for before the first run that can still be moved: see `Problem.families_before`."""
    runs = [
        (job.fixed, job.family)
        for job in problem.jobs
        if job.fixed is not None
        and job.fixed.machine == machine
        and job.family is not None
        and _happened(problem, job.fixed)
    ]
    in_hand = [(fixed.start, family) for fixed, family in runs if fixed.end is None or fixed.end > problem.now]
    ended = [(fixed.start, family) for fixed, family in runs]
    if in_hand:
        return max(in_hand, key=lambda run: run[0])[1]
    if machine in problem.families_before:
        return problem.families_before[machine]
    return max(ended, key=lambda run: run[0])[1] if ended else None


def _happened(problem: Problem, fixed: Fixed) -> bool:
    return fixed.start < problem.now or (fixed.end is not None and fixed.end <= problem.now)


def clean_downs(board: Board) -> None:
    """Runs on a machine form one path; where run j follows run i directly, c(j) ≥ e(i) and c(j) + minutes ≤ s(j).

    c(j) is the start of an attended clean-down, a rinse or a full clean as `needed` says; none between runs of the same
    base. The path is a circuit through a depot that stands for what the machine was clean for. The machine need not
    run for it, so stops do not matter.
    """
    for index, machine in enumerate(board.problem.machines):
        if machine.cleaners:
            _path(board, index, machine)


def _path(board: Board, index: int, machine: Machine) -> None:
    problem = board.problem
    runs = [
        i
        for i, job, jobvars in board.placed()
        if index in jobvars.on and job.family is not None and not (job.fixed and _happened(problem, job.fixed))
    ]
    if not runs:
        return
    sequence = guessed_sequence(board.guess, runs, index)
    follows = set(zip([-1, *sequence], [*sequence, -1], strict=True))
    arcs: list[tuple[int, int, cp_model.LiteralT]] = []
    kinds: dict[int, dict[str, list[Literal]]] = {run: {"": [], "rinse": [], "full": []} for run in runs}
    cleans = {run: _cleans(board, index, machine, run) for run in runs}
    ready = max([0, *(p.end for i, p in board.constants.items() if p.machine == index and i not in runs)])
    for node, run in enumerate(runs, start=1):
        there = board.at(run).on[index]
        arcs.append((node, node, ~there))
        arcs.append((node, 0, board.literal((run, -1) in follows)))
        for other, before in enumerate([-1, *runs]):
            if before == run or _never(board, before, run):
                continue
            arc = board.literal((before, run) in follows)
            arcs.append((other, node, arc))
            kind = needed(
                clean_for(problem, index) if before < 0 else problem.jobs[before].family, problem.jobs[run].family
            )
            kinds[run][kind].append(arc)
            end: Term = ready if before < 0 else board.at(before).end
            begin = cleans[run][kind].start if kind else board.at(run).start
            board.model.add(begin >= end).only_enforce_if(arc)
    arcs.append((0, 0, board.literal(not sequence)))
    board.model.add_circuit(arcs)
    for run in runs:
        for kind, clean in cleans[run].items():
            board.model.add(sum(kinds[run][kind]) == clean.done)
            _attend(board, run, clean)


def _never(board: Board, before: int, run: int) -> bool:
    """True if both have a known place, the other way round."""
    first, second = board.constants.get(before), board.constants.get(run)
    return first is not None and second is not None and first.start > second.start


def guessed_sequence(guess: Schedule | None, runs: list[int], machine: int) -> list[int]:
    """The runs that a schedule has on a machine, in time."""
    if guess is None:
        return []
    places = [
        (place.start, run) for run in runs if (place := guess.places[run]) is not None and place.machine == machine
    ]
    return [run for _, run in sorted(places)]


def _guessed(board: Board, machine: int, run: int) -> CleanDown | None:
    cleans = () if board.guess is None else board.guess.cleans
    return next((clean for clean in cleans if (clean.machine, clean.before) == (machine, run)), None)


def _cleans(board: Board, index: int, machine: Machine, run: int) -> dict[str, CleanVars]:
    """The rinse and the full clean that may prepare a run: either is at the same place, as at most one is done."""
    guess, place = _guessed(board, index, run), board.place(run)
    begin = guess.start if guess else place.start if place else None
    start = board.integer(board.problem.now, board.problem.horizon, begin)
    found: dict[str, CleanVars] = {}
    for kind, full, minutes in (("rinse", False, machine.rinse), ("full", True, machine.full)):
        same = guess is not None and guess.full == full
        clean = found[kind] = CleanVars(start, minutes, board.literal(same))
        for worker in machine.cleaners:
            clean.hands[worker] = board.literal(guess is not None and same and worker in guess.workers)
        board.cleans[CleanKey(index, run, full)] = clean
    return found


def _attend(board: Board, run: int, clean: CleanVars) -> None:
    """Whoever cleans is there for all of it, and it ends before the run starts."""
    board.model.add(clean.start + clean.minutes <= board.at(run).start).only_enforce_if(clean.done)
    board.model.add(sum(clean.hands.values()) == clean.done)
    for worker, does in clean.hands.items():
        domain = cp_model.Domain.from_intervals([[a, b - 1] for a, b in starts(board.free(worker), clean.minutes)])
        board.model.add_linear_expression_in_domain(clean.start, domain).only_enforce_if(does)
