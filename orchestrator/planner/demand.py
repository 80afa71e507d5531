"""Orders become batches, net of what is on hand, and batches become tasks."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta

from orchestrator.core.allergens import inherited
from orchestrator.core.ids import LotCode, OrderId, RecipeId
from orchestrator.core.models import Batch, Order, Peg, PlanRequest, Recipe, TaskSpec
from orchestrator.core.quantities import Quantity
from orchestrator.planner.grouping import Grouping, grouped
from orchestrator.planner.kitchen_facts import facts_of
from orchestrator.planner.leavings import with_what_is_left
from orchestrator.planner.lots import Ledger, Need, actuals_of, opening_ledger
from orchestrator.planner.sizes import (
    EPS,
    batch_steps,
    order_steps,
    scale_for,
    size_range,
    split,
)
from orchestrator.planner.specs import all_specs


@dataclass(frozen=True, slots=True)
class Unmet:
    """An order of which something cannot be made, and why."""

    order: OrderId
    reason: str


@dataclass(frozen=True, slots=True)
class Demand:
    """What must be made and done, before it has a place in time."""

    batches: tuple[Batch, ...]
    pegs: tuple[Peg, ...]
    specs: tuple[TaskSpec, ...]
    unmet: tuple[Unmet, ...] = ()


class _Short(Exception):
    """A component runs short that cannot be made: the consumer cannot be made either."""

    def __init__(self, batch: LotCode, recipe: RecipeId, reason: str) -> None:
        super().__init__(reason)
        self.batch, self.recipe, self.reason = batch, recipe, reason


def explode(request: PlanRequest, grouping: Grouping | None = None) -> Demand:
    """Turn orders into batches, pegs and tasks.

    Stock is used first, oldest first; what is missing is pooled per recipe, sized with losses and split
    to what the machines hold; components follow in the same way. Batches, pegs and tasks of
    ``request.previous`` stay, but for lost and held lots; only what they leave uncovered is made anew.

    Args:
        request: Kitchen, orders, stock, and what has already happened.
        grouping: Which needs share a batch, where not by the rule of thumb.

    Returns:
        Batches, pegs whose quantities balance, tasks with stable ids, and what cannot be made.
    """
    blocked = dict(facts_of(request.kitchen).blocked)
    lost = frozenset(request.lost_lots)
    chosen = grouping or Grouping()
    while True:
        try:
            ledger, unmet = _attempt(request, blocked, lost, chosen)
            break
        except _Short as short:
            # Either the recipe of the consumer is blocked as well, or a batch that is already there is given up.
            if request.previous and any(b.lot == short.batch for b in request.previous.batches):
                lost |= {short.batch}
            blocked.setdefault(short.recipe, short.reason)
    _drop_unwanted(ledger)
    batches, pegs = _with_what_goes_in(ledger), tuple(ledger.pegs)
    return Demand(batches, pegs, with_what_is_left(request, batches, pegs, all_specs(ledger)), unmet)


def _with_what_goes_in(ledger: Ledger) -> tuple[Batch, ...]:
    """Batches with the allergens of the very lots that they take, which may have more than their recipes."""
    batches = ledger.batches.values()
    all_of = inherited(batches, ledger.pegs, {lot.lot: lot for lot in ledger.kitchen.stock})
    return tuple(
        batch
        if all_of[batch.lot] <= set(batch.allergens)
        else batch.model_copy(update={"allergens": tuple(sorted(all_of[batch.lot]))})
        for batch in batches
    )


def _attempt(
    request: PlanRequest, blocked: dict[RecipeId, str], lost: frozenset[LotCode], grouping: Grouping
) -> tuple[Ledger, tuple[Unmet, ...]]:
    ledger = opening_ledger(request, lost, grouping.released)
    needs: dict[RecipeId, list[Need]] = defaultdict(list)
    unmet: dict[OrderId, str] = {}
    for order in sorted(request.kitchen.orders, key=lambda o: (o.due, o.id)):
        for need in _order_needs(ledger, order, unmet):
            needs[need.recipe].append(need)
    for batch in ledger.batches.values():
        if batch.lot not in lost and batch.lot not in request.held_lots:
            for need in _batch_needs(ledger, batch, _batch_due(ledger, batch)):
                needs[need.recipe].append(need)
    for recipe in _consumers_first(request.kitchen.recipes):
        short = [Need(n.recipe, left, n.due, n.batch, n.order) for n in needs[recipe.id] if (left := _net(ledger, n))]
        if recipe.id in blocked:
            _block(short, blocked, unmet, ledger)
            continue
        for batch, due in _new_batches(ledger, recipe, short, grouping):
            for need in _batch_needs(ledger, batch, due):
                needs[need.recipe].append(need)
    return ledger, tuple(Unmet(order, why) for order, why in sorted(unmet.items()))


def _net(ledger: Ledger, need: Need) -> float:
    return ledger.take_free(need)


def _block(short: list[Need], blocked: dict[RecipeId, str], unmet: dict[OrderId, str], ledger: Ledger) -> None:
    for need in short:
        reason = blocked[need.recipe]
        if need.batch is not None:
            raise _Short(need.batch, ledger.batches[need.batch].recipe, reason)
        if need.order is not None:
            unmet.setdefault(need.order, reason)


def merged_lines(order: Order) -> dict[RecipeId, Quantity]:
    """How much of each product an order wants, lines of the same product together."""
    wanted: dict[RecipeId, Quantity] = {}
    for line in order.lines:
        before = wanted[line.product].value if line.product in wanted else 0.0
        wanted[line.product] = Quantity(value=line.quantity.value + before, unit=line.quantity.unit)
    return wanted


def _order_needs(ledger: Ledger, order: Order, unmet: dict[OrderId, str]) -> list[Need]:
    known = {recipe.id: recipe for recipe in ledger.kitchen.recipes}
    needs = []
    for product, wanted in merged_lines(order).items():
        recipe = known.get(product)
        if recipe is None or recipe.yields.unit is not wanted.unit:
            unmet[order.id] = f"{product}: there is no recipe that makes it in {wanted.unit}"
            continue
        steps = order_steps(recipe)
        if steps and f"{order.id}.{recipe.code}.{steps[0].id}" in actuals_of(ledger.request):
            continue  # handed over, or about to be: whatever became of its lots since
        amounts = {product: wanted.value}
        for take in (take for step in order_steps(recipe) for take in step.takes):
            if take.component is not None:
                share = take.amount.value * wanted.value / recipe.yields.value
                amounts[take.component] = amounts.get(take.component, 0.0) + share
        lead = timedelta(minutes=_lead_min(order_steps(recipe)))
        for what, amount in amounts.items():
            left = amount - ledger.pegged(what, order=order.id)
            if left > EPS:
                needs.append(Need(what, left, order.due - lead, order=order.id))
    return needs


def _lead_min(steps: tuple[object, ...]) -> int:
    """Least minutes that steps take one after the other, their least stays included."""
    total = 0
    for step in steps:
        duration, stay = getattr(step, "duration", None), getattr(step, "stay", None)
        total += duration.usual if duration is not None else stay.least if stay is not None else 0
    return total


def _batch_needs(ledger: Ledger, batch: Batch, due: datetime) -> list[Need]:
    """What a batch takes of components and is not yet meant to get."""
    steps = batch_steps(ledger.made_by(batch))
    amounts: dict[RecipeId, float] = {}
    first: dict[RecipeId, int] = {}
    for index, step in enumerate(steps):
        for take in step.takes:
            if take.component is not None:
                amounts[take.component] = amounts.get(take.component, 0.0) + take.amount.value * batch.scale
                first.setdefault(take.component, index)
    begun = actuals_of(ledger.request)
    needs = []
    for component, amount in amounts.items():
        left = amount - ledger.pegged(component, batch=batch.lot)
        taken = f"{batch.lot}.{steps[first[component]].id}" in begun
        if left > EPS and not taken:
            lead = timedelta(minutes=_lead_min(steps[first[component] :]))
            needs.append(Need(component, left, due - lead, batch=batch.lot))
    return needs


def _batch_due(ledger: Ledger, batch: Batch) -> datetime:
    """When the first consumer of a batch of the adopted plan wants it."""
    orders = {order.id: order.due for order in ledger.kitchen.orders}
    dues = []
    for peg in (peg for peg in ledger.pegs if peg.lot == batch.lot):
        if peg.order is not None and peg.order in orders:
            dues.append(orders[peg.order])
        elif peg.batch is not None and peg.batch in ledger.batches:
            dues.append(_batch_due(ledger, ledger.batches[peg.batch]))
    horizon = ledger.kitchen.planning_start + timedelta(days=ledger.kitchen.horizon_days)
    return min(dues, default=horizon)


def _consumers_first(recipes: tuple[Recipe, ...]) -> list[Recipe]:
    """Recipes so that each comes after all that take it."""
    known = {recipe.id: recipe for recipe in recipes}
    done: list[Recipe] = []

    def visit(recipe: Recipe, path: tuple[RecipeId, ...]) -> None:
        if recipe in done or recipe.id in path:
            return
        for take in (take for step in recipe.steps for take in step.takes):
            if take.component in known:
                visit(known[take.component], (*path, recipe.id))
        done.append(recipe)

    for recipe in recipes:
        visit(recipe, ())
    return done[::-1]


def _new_batches(ledger: Ledger, recipe: Recipe, needs: list[Need], grouping: Grouping) -> list[tuple[Batch, datetime]]:
    """Pool, size and split needs into batches, and peg them in order of due."""
    made: list[tuple[Batch, datetime]] = []
    if not needs:
        return made
    allergens = tuple(sorted(facts_of(ledger.kitchen).allergens[recipe.id]))
    for group in grouped(recipe, needs, grouping):
        queue = [(need, need.quantity) for need in group]
        more = grouping.more.get((recipe.id, group[0].consumer), 0)
        total, bounds = sum(n.quantity for n in group), size_range(ledger.kitchen, recipe)
        sizes = split(total, bounds, recipe.yields.unit, more)
        for size in sizes:
            batch = Batch(
                lot=ledger.next_code(recipe),
                recipe=recipe.id,
                revision=recipe.revision,
                size=Quantity(value=size, unit=recipe.yields.unit),
                scale=scale_for(recipe, size),
                allergens=allergens,
            )
            ledger.batches[batch.lot] = batch
            ledger.free[batch.lot] = size
            made.append((batch, queue[0][0].due))
            queue = _fill(ledger, batch, queue)
    return made


def _fill(ledger: Ledger, batch: Batch, queue: list[tuple[Need, float]]) -> list[tuple[Need, float]]:
    """Peg a batch to the needs at the head of the queue; what is left of the queue."""
    while queue:
        need, left = queue[0]
        part = min(left, ledger.free[batch.lot])
        if part > EPS:
            ledger.peg(batch.lot, need, part)
        if left - part > EPS:
            return [(need, left - part), *queue[1:]]
        if len(queue) == 1:
            return []
        queue = queue[1:]
        if ledger.free[batch.lot] <= EPS:
            return queue
    return queue


def _drop_unwanted(ledger: Ledger) -> None:
    """Leave out batches that nobody takes any more and that nobody has begun."""
    begun = {str(actual.task).split(".")[0] for actual in ledger.request.actuals}
    while True:
        wanted = {peg.lot for peg in ledger.pegs}
        idle = [lot for lot in ledger.batches if lot not in wanted and lot not in begun]
        if not idle:
            return
        for lot in idle:
            del ledger.batches[lot]
        ledger.pegs = [peg for peg in ledger.pegs if peg.batch is None or peg.batch in ledger.batches]
