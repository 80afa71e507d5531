"""Other ways to put needs into batches: two as one, one as two, one run more; around what is in trouble first."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from orchestrator.core.ids import LotCode, OrderId, RecipeId
from orchestrator.core.models import Batch, WindowClass
from orchestrator.planner.checked import Candidate
from orchestrator.planner.demand import Demand, explode
from orchestrator.planner.grouping import Grouping
from orchestrator.planner.imminent import is_imminent
from orchestrator.planner.score import lateness
from orchestrator.planner.sizes import EPS, size_range
from orchestrator.planner.structure import span, structure


@dataclass(frozen=True, slots=True)
class _Way:
    """One change of the grouping, and what decides its turn."""

    grouping: Grouping
    recipe: RecipeId
    due: datetime


def alternatives(candidate: Candidate) -> list[Grouping]:
    """Groupings that differ from a candidate's in one place, those around its trouble first.

    Batches that have begun, or that people are getting ready for or hold in place, stay as they are.

    Args:
        candidate: Its schedule says which orders are in trouble.

    Returns:
        Each has the candidate's own choices besides the one that differs.
    """
    book = _Book(candidate)
    ways = [way for recipe in book.recipes() for way in _Ways(book, recipe).all()]
    return [way.grouping for way in sorted(ways, key=book.turn)]


def _whole(candidate: Candidate) -> Demand:
    """What a candidate's grouping makes of the request with every order in it, those left out too."""
    question = candidate.question
    if not question.unmet:
        return candidate.posed.demand
    return explode(replace(question, unmet={}).effective(), question.grouping)


class _Book:
    """Batches that may be formed anew, who takes of them, and which orders are in trouble."""

    def __init__(self, candidate: Candidate) -> None:
        self.candidate = candidate
        self.kitchen = candidate.question.request.kitchen
        self.demand = _whole(candidate)
        self.dues = {order.id: order.due for order in self.kitchen.orders}
        self.batches = {batch.lot: batch for batch in self.demand.batches}
        self.takers: dict[LotCode, list[str]] = {}
        for peg in self.demand.pegs:
            self.takers.setdefault(peg.lot, []).append(peg.consumer)
        self.free = [batch for batch in self.demand.batches if batch.lot in self.takers and self._may_change(batch)]
        self.trouble = self._trouble()
        self.wanted = self._kinds()

    def recipes(self) -> list[RecipeId]:
        """Recipes of batches that may be formed anew, in order."""
        return list(dict.fromkeys(batch.recipe for batch in self.free))

    def _may_change(self, batch: Batch) -> bool:
        problem, question = self.candidate.posed.problem, self.candidate.question
        request = question.request
        if batch.lot in question.held or batch.lot in request.held_lots or batch.lot in request.lost_lots:
            return False
        settled = question.holds() | {actual.task for actual in request.actuals}
        soon = {job.id for index, job in enumerate(problem.jobs) if is_imminent(problem, index)}
        mine = {spec.id for spec in self.demand.specs if spec.lot == batch.lot}
        return not mine & (settled | soon)

    def due(self, consumer: str) -> datetime:
        """When a consumer wants what it takes: an order its due instant, a batch what its first taker does."""
        if consumer in self.dues:
            return self.dues[OrderId(consumer)]
        wanted = (self.due(taker) for taker in self.takers.get(LotCode(consumer), ()))
        return min(wanted, default=self.kitchen.planned_until)

    def _trouble(self) -> dict[str, datetime]:
        """Orders left out, late or served outside a quality window, with their due instants."""
        problem, schedule = self.candidate.posed.problem, self.candidate.schedule
        shape = structure(problem)
        bad = {index for index, minutes in enumerate(lateness(problem, schedule)) if minutes != 0}
        for window in shape.windows:
            minutes = span(window, schedule.places) if window.window is WindowClass.QUALITY else None
            if minutes is not None and window.missed_by(minutes) > 0:
                bad |= shape.reach[window.job]
        names = [*self.candidate.question.unmet, *(problem.dues[index].order for index in sorted(bad))]
        return {name: self.dues[OrderId(name)] for name in names if name in self.dues}

    def _kinds(self) -> frozenset[str]:
        """Kinds of equipment that orders in trouble need."""
        lines = {line.product for order in self.kitchen.orders if order.id in self.trouble for line in order.lines}
        known = {recipe.id: recipe for recipe in self.kitchen.recipes}
        for _ in known:
            takes = (take for name in lines if name in known for step in known[name].steps for take in step.takes)
            lines = lines | {take.component for take in takes if take.component is not None}
        return self._kinds_of(lines)

    def _kinds_of(self, recipes: set[RecipeId]) -> frozenset[str]:
        steps = (step for recipe in self.kitchen.recipes if recipe.id in recipes for step in recipe.steps)
        return frozenset(step.equipment for step in steps if step.equipment is not None)

    def turn(self, way: _Way) -> tuple[bool, float, str]:
        """What shares equipment with an order in trouble first, the nearest to it in time; then all else in time."""
        beside = bool(self.wanted & self._kinds_of({way.recipe}))
        near = self.trouble.values() if beside else (self.kitchen.planning_start,)
        return not beside, min(abs((way.due - due).total_seconds()) for due in near), way.recipe


class _Ways:
    """Those of one recipe."""

    def __init__(self, book: _Book, recipe: RecipeId) -> None:
        self.book, self.recipe = book, recipe
        self.chosen = book.candidate.question.grouping
        self.lots = [batch for batch in book.free if batch.recipe == recipe]
        takers = {taker for batch in self.lots for taker in book.takers[batch.lot]}
        self.line = sorted(takers, key=lambda taker: (book.due(taker), taker))
        """Consumers in order of due."""
        self.cuts = {taker: self._begins(taker) for taker in self.line[1:]}

    def _lots_of(self, taker: str) -> list[Batch]:
        return [batch for batch in self.lots if taker in self.book.takers[batch.lot]]

    def _begins(self, taker: str) -> bool:
        """Whether no batch serves both a consumer and one before it."""
        before = set(self.line[: self.line.index(taker)])
        return not any(before.intersection(self.book.takers[batch.lot]) for batch in self._lots_of(taker))

    def all(self) -> Iterator[_Way]:
        """Each place where a batch could begin or end otherwise; then each batch in one run more; then all at once."""
        for number, taker in enumerate(self.line[1:]):
            pair = (self.line[number], taker)
            yield self._way({**self.cuts, taker: not self.cuts[taker]}, pair, self.book.due(taker))
        starts = [taker for taker in self.line if self.cuts.get(taker, True)]
        for taker in starts:
            if self._holds_one_more(taker):
                key = (self.recipe, taker)
                way = self._way(self.cuts, tuple(self._group(taker)), self.book.due(taker))
                more = {**self.chosen.more, key: self.chosen.more.get(key, 0) + 1}
                yield replace(way, grouping=replace(way.grouping, more=more))
        for apart in (False, True) if len(self.line) > 2 else ():
            if set(self.cuts.values()) != {apart}:
                yield self._way(dict.fromkeys(self.cuts, apart), tuple(self.line), self.book.due(self.line[0]))

    def _group(self, taker: str) -> Iterator[str]:
        """Consumers served together with the one with which a batch begins."""
        yield taker
        for other in self.line[self.line.index(taker) + 1 :]:
            if self.cuts[other]:
                return
            yield other

    def _holds_one_more(self, taker: str) -> bool:
        """Whether what is wanted of a batch does for one run more than it has."""
        group = set(self._group(taker))
        runs = [batch for batch in self.lots if group.intersection(self.book.takers[batch.lot])]
        lots = {batch.lot for batch in runs}
        wanted = sum(peg.quantity.value for peg in self.book.demand.pegs if peg.lot in lots and peg.consumer in group)
        recipe = next(r for r in self.book.kitchen.recipes if r.id == self.recipe)
        return wanted >= (len(runs) + 1) * size_range(self.book.kitchen, recipe).least - EPS

    def _way(self, cuts: dict[str, bool], takers: tuple[str, ...], due: datetime) -> _Way:
        """Pinned wherever this recipe's batches begin now, so that nothing else shifts."""
        told = {(self.recipe, taker): cut for taker, cut in cuts.items()}
        anew = {batch.lot for taker in takers for batch in self._lots_of(taker)}
        released = self.chosen.released | anew | self._made_for(anew)
        return _Way(replace(self.chosen, cuts={**self.chosen.cuts, **told}, released=released), self.recipe, due)

    def _made_for(self, lots: set[LotCode]) -> set[LotCode]:
        """What is made for these batches, all the way down, and may be formed anew too."""
        found: set[LotCode] = set()
        for batch in self.book.free:
            if batch.lot not in lots and lots.intersection(self.book.takers[batch.lot]):
                found |= {batch.lot} | self._made_for({batch.lot})
        return found
