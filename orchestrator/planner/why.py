"""Why a task is not a minute earlier, and not a minute later: what that would break, or which goal would suffer."""

from collections.abc import Iterator

from orchestrator.core.check import check
from orchestrator.core.ids import TaskId
from orchestrator.core.models import Plan, PlanRequest, Violation
from orchestrator.core.models.explanation import Hold, HoldKind, WhyNot
from orchestrator.core.models.questions import WhyAnswer
from orchestrator.planner.assemble import assemble
from orchestrator.planner.holds import broken
from orchestrator.planner.holds_places import Found
from orchestrator.planner.problem import Schedule
from orchestrator.planner.score import score, terms
from orchestrator.planner.shift import Movers, fillers, moved, takers
from orchestrator.planner.why_posed import MOST_SAID, Posed, posed_plan, unplaced
from orchestrator.planner.why_words import HoldWords

_TIES = (HoldKind.FOLLOWS, HoldKind.WINDOW, HoldKind.CLEAN)
"""Holds by work that would simply have to move along."""


def why(request: PlanRequest, plan: Plan, task: TaskId) -> WhyAnswer:
    """What holds a task from both sides.

    Args:
        request: Kitchen and facts.
        plan: The plan that is asked about.
        task: One of its tasks.

    Returns:
        For either side at least one reason: a rule that a minute would break, or the goal that would suffer.

    Raises:
        KeyError: no such task in the plan.
    """
    planned = plan.task(task)
    at = posed_plan(request, plan)
    words = HoldWords(at.request, at.demand, at.problem, at.schedule)
    job = next((i for i, spec in enumerate(at.demand.specs) if spec.id == task), None)
    clean = next((k for k in range(len(at.schedule.cleans)) if words.clean_id(k) == task), None)
    if job is not None and at.problem.jobs[job].stay:
        return WhyAnswer(task=task, earlier=_of_stay(at, words, job), later=_of_stay(at, words, job))
    if job is None and clean is None:
        return unplaced(at, planned)
    who = Movers(jobs=frozenset({job})) if job is not None else Movers(cleans=frozenset({clean or 0}))
    return WhyAnswer(task=task, earlier=_side(at, words, who, -1), later=_side(at, words, who, 1))


def _of_stay(at: Posed, words: HoldWords, stay: int) -> WhyNot:
    """A stay is no work of its own: it lasts from one task to another."""
    made, task = at.problem.jobs[stay], at.demand.specs[stay].id
    fills, takes = fillers(at.problem, stay), takers(at.problem, stay)
    if made.fixed is not None and not takes:
        hold = Hold(kind=HoldKind.BEGUN, says="it is there already", task=task)
        return WhyNot(holds=(hold,))
    says = words.stay(stay, fills if made.fixed is None else [], takes)
    names = tuple(at.demand.specs[job].id for job in (*fills, *takes))
    return WhyNot(holds=(Hold(kind=HoldKind.FOLLOWS, says=says, task=task, tasks=names),))


def _side(at: Posed, words: HoldWords, who: Movers, minutes: int) -> WhyNot:
    """One minute to one side: alone, then with all that hangs on it."""
    alone, trial = _breaks(at, who, minutes)
    if not alone:
        return WhyNot(holds=tuple(_no_rule(at, words, who, trial, minutes)))
    group, found = who, alone
    while found and _only_ties(found):
        grown = group.joined(_tied(at, found))
        if grown == group:
            break
        group = grown
        found, trial = _breaks(at, group, minutes)
    holds = tuple(words.hold(f, minutes) for f in alone[:MOST_SAID])
    if group == who:
        return WhyNot(holds=holds)
    held = [f for f in found if not _tie(f, found)] or found
    together = tuple(words.hold(f, minutes) for f in held[:MOST_SAID])
    along = tuple(sorted(words.names(group) - words.names(who)))
    return WhyNot(holds=holds, along=along, together=together or tuple(_no_rule(at, words, group, trial, minutes)))


def _breaks(at: Posed, who: Movers, minutes: int) -> tuple[list[Found], Schedule]:
    return broken(at.problem, at.schedule, who, moved(at.problem, at.schedule, who, minutes))


def _only_ties(found: list[Found]) -> bool:
    return all(_tie(f, found) for f in found)


def _tie(one: Found, found: list[Found]) -> bool:
    """Whether what stands in the way would simply have to move along: by a link, or as it is tied by one anyway."""
    if one.kind in _TIES:
        return True
    tied = {other for f in found if f.kind in _TIES for other in f.others}
    cleans = {f.clean for f in found if f.kind is HoldKind.CLEAN}
    busy = one.kind in (HoldKind.PERSON, HoldKind.MACHINE)
    return busy and set(one.others) <= tied and one.clean in {None, *cleans}


def _tied(at: Posed, found: list[Found]) -> Movers:
    """What hangs on moved work by links, windows and clean-downs."""
    jobs = {o for f in found for o in f.others if not at.problem.jobs[o].stay}
    cleans = {f.clean for f in found if f.kind is HoldKind.CLEAN and f.clean is not None}
    return Movers(frozenset(jobs), frozenset(cleans))


def _no_rule(at: Posed, words: HoldWords, who: Movers, trial: Schedule, minutes: int) -> Iterator[Hold]:
    """No rule known here is broken: another rule of the checker, a goal, or nothing."""
    task = min(words.names(who))
    others = [v for v in _checked(at, trial) if v not in _checked(at, at.schedule)]
    for violation in others[:MOST_SAID]:
        named = tuple(name for name in violation.tasks if name != task)
        yield Hold(kind=HoldKind.RULE, says=violation.says, task=task, tasks=named, goal=violation.rule)
    if others:
        return
    others_at_it = _instead(at, who, trial)
    crew = tuple(at.request.kitchen.crew[worker].id for worker in others_at_it)
    worse = score(at.problem, trial) > score(at.problem, at.schedule)
    rising = _rising(at, trial) if worse else []
    if not rising:
        yield Hold(kind=HoldKind.FREE, says=words.free(minutes, others_at_it), task=task, crew=crew)
    for name, stage, by in rising[:MOST_SAID]:
        late = stage == rising[0][1] and "late" in name
        kind = HoldKind.DUE if late else HoldKind.GOAL
        yield Hold(kind=kind, says=words.goal(name, by, minutes, others_at_it), task=task, goal=name, by=by, crew=crew)


def _instead(at: Posed, who: Movers, trial: Schedule) -> tuple[int, ...]:
    """Who would have to do the work that now others do."""
    found: dict[int, None] = {}
    for job in sorted(who.jobs):
        before, after = at.schedule.places[job], trial.places[job]
        if before is not None and after is not None:
            found |= {w: None for a, b in zip(before.workers, after.workers, strict=True) for w in b if w not in a}
    return tuple(found)


def _rising(at: Posed, trial: Schedule) -> list[tuple[str, int, float]]:
    """Terms that the move makes worse, those of the first goal that does before all others."""
    before = {name: value for name, _, value in terms(at.problem, at.schedule)}
    after = terms(at.problem, trial)
    worse = [
        (name, stage, value - before.get(name, 0.0)) for name, stage, value in after if value > before.get(name, 0)
    ]
    return sorted(worse, key=lambda term: term[1])


def _checked(at: Posed, schedule: Schedule) -> tuple[Violation, ...]:
    plan = assemble(at.request, at.demand, at.problem, schedule)
    return check(plan.model_copy(update={"given_up": at.plan.given_up}), at.request)
