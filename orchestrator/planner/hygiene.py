"""The rule of hygiene cleaning: a machine is not in use for longer than its interval without a thorough clean."""

from orchestrator.planner.paths import attended, guessed, prepares
from orchestrator.planner.problem import minutes_on
from orchestrator.planner.upkeep import allowed_in_use, needed
from orchestrator.planner.variables import Board, CleanKey, Path, Term


def hygiene(board: Board) -> None:
    """e(j) − u(j) ≤ every, where u(j) is the start of the first run since the last thorough clean.

    u(j) = s(j) after a hygiene clean, a full clean or a day-end clean, else u(j) ≤ u(i) where run j follows run i
    directly. A run that alone lasts longer than the interval begins on a clean machine.
    """
    for path in board.paths.values():
        if path.machine.every is not None:
            _path(board, path)


def _path(board: Board, path: Path) -> None:
    since = _guessed_since(board, path)
    first = min(0, path.condition.used or 0)
    use = {run: board.integer(first, board.problem.horizon, since.get(run)) for run in path.runs}
    for run in path.runs:
        jobvars, there = board.at(run), board.at(run).on[path.index]
        clean = attended(board, path, run, "hygiene")
        board.model.add_implication(clean.done, there)
        path.hygiene[run] = clean.done
        prepares(board, path, run, clean, path.before(run))
        board.model.add(use[run] <= jobvars.start)
        allowed = allowed_in_use(path.machine, minutes_on(board.problem.jobs[run], path.index))
        board.model.add(jobvars.end - use[run] <= allowed).only_enforce_if(there)
    families = {i: board.problem.jobs[i].family for i in path.runs} | {-1: path.condition.family}
    for (first, then), arc in path.arcs.items():
        used: Term | None = path.condition.used if first < 0 else use[first]
        if then < 0 or used is None or needed(families[first], families[then]) == "full":
            continue
        cleaned = [path.hygiene[then], *([path.fresh[then]] if then in path.fresh else [])]
        board.model.add(use[then] <= used).only_enforce_if(arc, *(~done for done in cleaned))


def _guessed_since(board: Board, path: Path) -> dict[int, int]:
    """Since when the guess has the machine in use at each run."""
    found: dict[int, int] = {}
    used, families = path.condition.used, {i: board.problem.jobs[i].family for i in path.runs}
    before, family = -1, path.condition.family
    for run in path.guessed:
        place = board.place(run)
        assert place is not None  # it is in the guessed sequence
        thorough = needed(family, families[run]) == "full" or guessed(board, CleanKey(path.index, run, "hygiene"))
        closing = path.condition.last if before < 0 else before
        if used is None or thorough or guessed(board, CleanKey(path.index, closing, "day-end")):
            used = place.start
        found[run] = used
        before, family = run, families[run]
    return found
