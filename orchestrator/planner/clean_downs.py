"""The rule of clean-downs: what lies between two runs on one machine."""

from orchestrator.planner.paths import attended, prepares
from orchestrator.planner.upkeep import Need, needed
from orchestrator.planner.variables import Board, Literal, Path, Term


def clean_downs(board: Board) -> None:
    """Where run j follows run i directly, c(j) ≥ e(i) and c(j) + minutes ≤ s(j).

    c(j) is the start of an attended clean-down, a rinse or a full clean as `needed` says; none between runs of the same
    base, and none after a day-end clean. A hygiene clean is more than a rinse and takes its place. The machine need not
    run for it, so stops do not matter.
    """
    for path in board.paths.values():
        for run in path.runs if path.machine.cleaners else ():
            _clean_down(board, path, run)


def _clean_down(board: Board, path: Path, run: int) -> None:
    arcs: dict[Need, list[tuple[int, Literal]]] = {"rinse": [], "full": []}
    families = {i: board.problem.jobs[i].family for i in path.runs} | {-1: path.condition.family}
    for first, arc in path.before(run):
        kind = needed(families[first], families[run])
        if kind:
            arcs[kind].append((first, arc))
    fresh: Term = path.fresh.get(run, 0)
    spared: dict[Need, Term] = {"rinse": fresh + path.hygiene.get(run, 0), "full": fresh}
    done: list[Term] = [fresh, path.hygiene.get(run, 0)]
    for kind, after in arcs.items():
        if not after or not kind:
            continue
        clean = attended(board, path, run, kind)
        prepares(board, path, run, clean, after)
        asked = sum(arc for _, arc in after)
        board.model.add(clean.done <= asked)
        board.model.add(clean.done >= asked - spared[kind])
        done.append(clean.done)
    board.model.add(sum(done) <= 1)
