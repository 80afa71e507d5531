"""A new plan close to the one before: what can stay stays, the rest is re-inserted in order of time."""

import contextlib
from dataclasses import replace

from orchestrator.planner.clusters import place_cluster
from orchestrator.planner.first_guess import first_guess
from orchestrator.planner.generation import generate
from orchestrator.planner.greedy import MUCH_TROUBLE, Search, trouble
from orchestrator.planner.imminent import hold_imminent
from orchestrator.planner.lags import network
from orchestrator.planner.patience import OutOfPatience, Patience
from orchestrator.planner.placer import placed_again
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score import Score, savable, score, terms
from orchestrator.planner.structure import structure
from orchestrator.planner.wishes import soon

WORTH_MOVING_MIN = 60
"""So many weighted minutes of lateness must be saved before a fresh plan replaces one that moves little."""
TRIALS = 70
"""Of greedy search around what a repair leaves late: less than two tenths of a second at 20 batches. A count, not a
time: the same facts get the same repair."""
PUT_BACK, SEARCHED = 0.45, 0.65
"""Of what patience there is, for putting back with others giving way; and of the rest, for that search. What is left is
for a fresh first guess, where trouble is left."""
AFRESH = 0.4
"""Of the rest, for that first guess where much is in trouble: then it comes before the search, which begins with it."""
ANEW = 0.4
"""Of all of it, kept for the question put anew, where orders are left out."""
CALM_TRIALS = 25
"""Of those, when no order is late and no window broken any more."""


def repair(problem: Problem, *, search: bool = True, patience: Patience | None = None) -> Schedule:
    """Re-insert the previous placements.

    Each group of jobs goes, in the order in which the plan before had them, where it was if that still holds,
    else as near to it as machines, people and windows allow: never a pure shift of everything after it. Where an order
    is late then, or a window broken, work around it is taken out and put back otherwise.

    Args:
        problem: With ``previous`` places; without any this is a first guess.
        search: Whether greedy search has a hand in it; without, it is serial generation alone.
        patience: Of whoever waits for it. Once it is over, what there is by then is the answer; there always is one.

    Returns:
        A schedule that keeps every safety window. Where repair leaves out an order, breaks a window or is late and
        a fresh first guess does clearly better, the first guess is returned instead; but what people are about to
        begin stays where it is in that one too.
    """
    if not any(place is not None for place in problem.previous):
        return first_guess(problem)
    patience = patience or Patience()
    with patience.part(PUT_BACK):
        mended = generate(problem, network(problem), "previous", patience=patience)
    worth = score(problem, mended)
    if not (worth.unmet or worth.breaks or savable(problem, mended, worth).late):
        return replace(mended, terms=terms(problem, mended))
    with patience.part(1 - ANEW if worth.unmet else 1):
        mended = _out_of_trouble(problem, mended, patience, search=search)
    return replace(mended, terms=terms(problem, mended))


def repair_again(problem: Problem, known: Problem, guess: Schedule, patience: Patience) -> Schedule:
    """Put the same work where the answer to a question put before has it; what was not in that, where it was before.

    Args:
        problem: As ``known``, with some orders or lots more or less.
        known: The question before.
        guess: Its answer.
        patience: Of whoever waits for it; mostly over.
    """
    number = {job.id: index for index, job in enumerate(problem.jobs)}
    places = list(problem.previous)
    for job, place in zip(known.jobs, guess.places, strict=True):
        if place is not None and job.id in number:
            places[number[job.id]] = place
    runs = [number.get(known.jobs[clean.before].id, -1) if clean.before >= 0 else -1 for clean in guess.cleans]
    cleans = [replace(clean, before=run) for clean, run in zip(guess.cleans, runs, strict=True) if run >= 0]
    near = replace(problem, previous=tuple(places), cleans_before=tuple(cleans))
    found = generate(near, network(near), "previous", patience=patience)
    return replace(found, terms=terms(problem, found))


def brought_back(problem: Problem, guess: Schedule) -> Schedule:
    """A schedule with those of the orders it leaves out that find their places beside all the rest, whose turn never
    came because patience was over.

    Args:
        problem: What was to be placed.
        guess: Leaves orders out.
    """
    placer, reach = placed_again(problem, network(problem), guess), structure(problem).reach
    net, back = placer.net, False
    for due in sorted(range(len(problem.dues)), key=lambda d: problem.dues[d].due):
        missing = [job for job in net.free_jobs() if due in reach[job] and job not in placer.starts]
        clusters = dict.fromkeys(net.cluster_of[job] for job in missing)
        mark = placer.journal.mark()
        if all(place_cluster(placer, cluster, soon, backward=False) for cluster in clusters):
            back = back or bool(clusters)
        else:
            placer.journal.undo(mark)
    if not back:
        return guess
    found = placer.schedule(guess.method)
    return replace(found, terms=terms(problem, found))


def _out_of_trouble(problem: Problem, mended: Schedule, patience: Patience, *, search: bool) -> Schedule:
    """A search around what is in trouble; where that does not do, a fresh first guess if it is clearly better."""
    held = hold_imminent(problem, mended)
    much = trouble(savable(problem, mended, score(problem, mended))) >= MUCH_TROUBLE * len(problem.dues)
    if not (patience.endless or patience.over) and much:
        # Where most has to move, the search goes on from a fresh first guess; orders that this leaves out too, it would
        # hardly bring back, and the question is put anew without them.
        mended = _afresh(problem, held, mended, patience, AFRESH)
        unmet = score(problem, mended).unmet
        return mended if unmet or not search else _around_trouble(held, mended, patience)
    with patience.part(SEARCHED):
        mended = _around_trouble(held, mended, patience) if search else mended
    return _afresh(problem, held, mended, patience, 1)


def _afresh(problem: Problem, held: Problem, mended: Schedule, patience: Patience, share: float) -> Schedule:
    """A fresh first guess where that is clearly better; with orders left out, any share of patience is worth it."""
    worth = score(problem, mended)
    if worth.unmet or worth.breaks or savable(problem, mended, worth).late > WORTH_MOVING_MIN:
        with contextlib.suppress(OutOfPatience), patience.part(1 if worth.unmet else share):
            fresh = first_guess(held, patience)
            if clearly_better(score(problem, fresh), worth):
                return fresh
    return mended


def _around_trouble(problem: Problem, mended: Schedule, patience: Patience) -> Schedule:
    """Greedy search until nothing is in trouble, and a little longer to bring back what need not have moved."""
    if patience.over:
        return mended
    search = Search(problem, mended, 0, patience)
    left = TRIALS
    while left > 0 and search.units.clusters and not patience.over:
        was = search.ledger.troubled()
        search.trial_and_keep()
        left = min(left - 1, CALM_TRIALS) if was and not search.ledger.troubled() else left - 1
    return search.written_down()


def clearly_better(fresh: Score, mended: Score) -> bool:
    """Whether a plan that moves everything is worth it: for orders met, windows kept, or much less lateness."""
    if (fresh.unmet, fresh.breaks) != (mended.unmet, mended.breaks):
        return (fresh.unmet, fresh.breaks) < (mended.unmet, mended.breaks)
    return fresh.late + WORTH_MOVING_MIN < mended.late
