"""Batches and order lines become tasks: ids, links, durations, loads, by the recipes' steps."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from orchestrator.core.ids import LotCode, OrderId, RecipeId, StationId, StepId, TaskId
from orchestrator.core.models import (
    Batch,
    Duration,
    Kitchen,
    Life,
    Order,
    Peg,
    PlannedTask,
    Process,
    Recipe,
    Stay,
    Step,
    TaskKind,
    TaskLink,
    TaskSpec,
    WindowClass,
)
from orchestrator.core.models.recipe import Link
from orchestrator.core.quantities import Quantity
from orchestrator.planner.kitchen_facts import facts_of
from orchestrator.planner.lives import Limits, Lives
from orchestrator.planner.lots import Ledger, Pegged, actuals_of
from orchestrator.planner.sizes import (
    EPS,
    batch_steps,
    machines_of,
    order_steps,
    scaled_load,
    terminal_stay,
)
from orchestrator.planner.stock import REST, stock_specs, window_min


def all_specs(ledger: Ledger) -> tuple[TaskSpec, ...]:
    """Tasks of every batch, order line and stock lot, and what has already happened of any other.

    Links lead only to tasks that are there.
    """
    actuals = actuals_of(ledger.request)
    specs: dict[TaskId, TaskSpec] = {}
    shut = {*ledger.request.held_lots, *ledger.lost}
    for spec in _fresh_specs(ledger):
        owner = spec.lot
        # A lot on hold or lost keeps what has happened to it; the rest waits for a decision.
        if owner is None or owner not in shut or spec.id in actuals or ledger.stock(owner) is not None:
            specs[spec.id] = spec
    _keep_figures(ledger, specs)
    _carry_over(ledger, specs)
    _leave_rests(ledger, specs)
    return tuple(_linked_within(spec, specs) for spec in specs.values())


def _fresh_specs(ledger: Ledger) -> Iterator[TaskSpec]:
    for stock in ledger.kitchen.stock:
        if stock.lot not in ledger.lost:
            yield from stock_specs(ledger, stock)
    at = _At(ledger, Pegged(ledger))
    lives, facts = Lives(ledger), facts_of(ledger.kitchen)
    for batch in ledger.batches.values():
        limits = lives.of_batch(batch.lot)
        shares = tuple((peg.consumer, peg.quantity) for peg in at.pegged.of_lot(batch.lot))
        key = batch, at.origins(batch=batch.lot), shares, tuple(limits.items())
        yield from facts.tasks(key, partial(_batch_specs, at, batch, limits))
    for order in ledger.kitchen.orders:
        for recipe, served in _lines(ledger, order):
            life = lives.of_line(order.id, recipe)
            wanted = order.id, order.customer, recipe.id, served, at.origins(order=order.id), life
            yield from facts.tasks(wanted, partial(_line_specs, at, order, recipe, served, life))


@dataclass(frozen=True, slots=True)
class _At:
    """A ledger with its pegs in order."""

    ledger: Ledger
    pegged: Pegged

    def origins(self, *, batch: LotCode | None = None, order: OrderId | None = None) -> tuple[object, ...]:
        """Which lots a consumer takes, and by which recipe each is made: all that its links to them hang on."""
        return tuple(self._origin(peg.lot) for peg in self.pegged.by(batch, order))

    def _origin(self, lot: LotCode) -> tuple[object, ...]:
        made = self.ledger.batches.get(lot)
        stock = self.ledger.stock(lot)
        known = (None, None) if made is None else (made.recipe, made.revision)
        return lot, *known, None if stock is None else stock.recipe


def _keep_figures(ledger: Ledger, specs: dict[TaskId, TaskSpec]) -> None:
    """What has begun keeps the minutes that it began with, though others were adopted since."""
    previous, actuals = ledger.request.previous, actuals_of(ledger.request)
    work = [task for task in previous.tasks if task.kind is TaskKind.WORK] if previous is not None else []
    begun = {task.lot or task.order for task in work if task.id in actuals}
    for task in work:
        spec = specs.get(task.id)
        if spec is None or spec.duration == task.duration or (task.lot or task.order) not in begun:
            continue
        if spec.quantity == task.quantity:
            specs[task.id] = spec.model_copy(update={"duration": task.duration})


def _carry_over(ledger: Ledger, specs: dict[TaskId, TaskSpec]) -> None:
    """Keep every task that has begun, clean-downs too, though nothing asks for it any more."""
    previous = ledger.request.previous
    actuals = actuals_of(ledger.request)
    for task in previous.tasks if previous is not None else ():
        actual = actuals.get(task.id)
        if actual is None or task.id in specs:
            continue
        stays = task.kind is TaskKind.STAY and actual.status == "in hand"
        if stays and task.lot in ledger.lost:
            continue
        spec = as_spec(task)
        if stays and task.quantity is not None:
            # Its consumer no longer takes it: the food counts among what is over, the stay is but a fact.
            spec = spec.model_copy(update={"load": 0.0, "quantity": task.quantity.times(0.0)})
        specs[task.id] = spec


def as_spec(task: PlannedTask) -> TaskSpec:
    """A placed task without its place."""
    return TaskSpec.model_validate({name: getattr(task, name) for name in TaskSpec.model_fields})


def _linked_within(spec: TaskSpec, specs: dict[TaskId, TaskSpec]) -> TaskSpec:
    links = tuple(link for link in spec.links if link.after in specs)
    return spec if len(links) == len(spec.links) else spec.model_copy(update={"links": links})


def _station(kitchen: Kitchen, step: Step) -> StationId:
    if step.station is not None:
        return step.station
    machines = machines_of(kitchen, step.equipment)
    return machines[0].station if machines else kitchen.stations[0].id


def _step_duration(step: Step, kitchen: Kitchen, pieces: float) -> Duration:
    if step.duration is not None:
        return step.duration
    if step.cycle is not None:
        trays = max(1, math.ceil(pieces / step.cycle.pieces - EPS))
        minutes = trays * step.cycle.each
        return Duration(shortest=minutes, usual=minutes, longest=minutes)
    assert step.stay is not None  # a step has exactly one of the three
    return window_min(step.stay, kitchen)


def _before(recipe: Recipe, step: Step, prefix: str, per: tuple[Step, ...]) -> list[TaskLink]:
    """Links to the steps before, inside a batch or an order line; stays join without a gap."""
    index = per.index(step)
    written = step.after if step.after is not None else ((Link(step=per[index - 1].id),) if index else ())
    found = []
    for position, link in enumerate(written):
        earlier = recipe.step(link.step)
        if earlier.per != step.per:
            continue
        after = TaskId(f"{prefix}.{link.step}")
        fills = step.stay is not None and position == len(written) - 1
        if fills or earlier.stay is not None:
            found.append(TaskLink(after=after, least=0, most=0, window=link.window))
        else:
            found.append(TaskLink(after=after, least=link.least, most=link.most, window=link.window))
    return found


def _source_link(ledger: Ledger, peg: Peg) -> TaskLink | None:
    """What a consumer waits for: the stay of its share, or the last task of the lot."""
    if ledger.stock(peg.lot) is not None:
        return TaskLink(after=TaskId(f"{peg.lot}.hold.{peg.consumer}"), most=0)
    recipe = ledger.made_by(ledger.batches[peg.lot])
    stay = terminal_stay(recipe)
    if stay is not None:
        return TaskLink(after=TaskId(f"{peg.lot}.{stay.id}.{peg.consumer}"), most=0)
    steps = batch_steps(recipe)
    if not steps:
        return None
    after = TaskId(f"{peg.lot}.{steps[-1].id}")
    return TaskLink(after=after, most=recipe.shelf_life, window=WindowClass.SAFETY)


def _sources(
    at: _At, step: Step, taken: set[str], *, batch: LotCode | None = None, order: OrderId | None = None
) -> list[TaskLink]:
    """Links of a step to the lots of the components it takes; a component waits for the first step only."""
    links = []
    for component in (take.component for take in step.takes if take.component is not None):
        if component in taken:
            continue
        taken.add(component)
        links += _links_to(at, component, batch=batch, order=order)
    return links


def _links_to(at: _At, recipe: RecipeId, batch: LotCode | None = None, order: OrderId | None = None) -> list[TaskLink]:
    pegs = at.pegged.taken(recipe, batch, order)
    return [link for peg in pegs if (link := _source_link(at.ledger, peg)) is not None]


def _amount(step: Step, factor: float, whole: Quantity) -> Quantity:
    """What a task works on: its load where that is in the unit of the yield, else the whole."""
    if step.load is not None and step.load.unit is whole.unit:
        return step.load.times(factor)
    return whole


def _batch_specs(at: _At, batch: Batch, limits: Limits) -> tuple[TaskSpec, ...]:
    kitchen, recipe = at.ledger.kitchen, at.ledger.made_by(batch)
    steps, last = batch_steps(recipe), terminal_stay(recipe)
    taken: set[str] = set()
    found: list[TaskSpec] = []
    for step in steps:
        links = _before(recipe, step, batch.lot, steps)
        if step is last:
            shares = ((peg.consumer, peg.quantity) for peg in at.pegged.of_lot(batch.lot))
            found += [_share(at.ledger, batch, step, share, links) for share in shares]
            continue
        links += _sources(at, step, taken, batch=batch.lot)
        pieces = recipe.yields.value * batch.scale
        amount = _amount(step, batch.scale, batch.size)
        if step.cycle is not None:
            amount = Quantity(value=pieces, unit=recipe.yields.unit)
        made = TaskSpec(
            id=TaskId(f"{batch.lot}.{step.id}"),
            lot=batch.lot,
            load=scaled_load(step.load, batch.scale),
            quantity=amount,
            links=tuple(links),
            lives=limits.get(step.id, ()),
            revision=batch.revision,
            **_common(kitchen, recipe, step, pieces),
        )
        found.append(made)
    return tuple(found)


def _common(kitchen: Kitchen, recipe: Recipe, step: Step, pieces: float) -> dict[str, object]:
    """What a task has of its step, whoever it is for."""
    return {
        "kind": TaskKind.WORK if step.stay is None else TaskKind.STAY,
        "process": step.process,
        "title": step.title,
        "recipe": recipe.id,
        "step": step.id,
        "station": _station(kitchen, step),
        "equipment_kind": step.equipment,
        "duration": _step_duration(step, kitchen, pieces),
        "stay": step.stay,
        "attended": step.attended,
        "skill": step.skill,
        "hands": step.hands,
    }


def _share(ledger: Ledger, batch: Batch, step: Step, part: tuple[str, Quantity], links: list[TaskLink]) -> TaskSpec:
    """The part of a finished batch that waits for one consumer."""
    consumer, quantity = part
    recipe = ledger.made_by(batch)
    common = _common(ledger.kitchen, recipe, step, 0.0)
    if consumer == REST:
        # Nobody takes it: it stays to the horizon, and its date is the engine's to watch.
        common |= {"stay": Stay(), "duration": window_min(Stay(), ledger.kitchen)}
    return TaskSpec(
        id=TaskId(f"{batch.lot}.{step.id}.{consumer}"),
        lot=batch.lot,
        load=scaled_load(step.load, batch.scale * quantity.value / batch.size.value),
        quantity=quantity,
        links=tuple(links),
        revision=batch.revision,
        **common,
    )


def _lines(ledger: Ledger, order: Order) -> Iterator[tuple[Recipe, Quantity]]:
    """The products of an order that there is anything for, and how much of each it wants."""
    for product in dict.fromkeys(line.product for line in order.lines):
        served = sum(line.quantity.value for line in order.lines if line.product == product)
        recipe = next((r for r in ledger.kitchen.recipes if r.id == product), None)
        if recipe is not None and ledger.pegged(product, order=order.id) > EPS:
            yield recipe, Quantity(value=served, unit=recipe.yields.unit)


def _line_specs(
    at: _At, order: Order, recipe: Recipe, quantity: Quantity, life: tuple[Life, ...]
) -> tuple[TaskSpec, ...]:
    steps, kitchen = order_steps(recipe), at.ledger.kitchen
    prefix = f"{order.id}.{recipe.code}"
    sources = _links_to(at, recipe.id, order=order.id)
    if not steps:
        return (_plain_hand_over(kitchen, order, recipe, quantity, sources).model_copy(update={"lives": life}),)
    taken: set[str] = set()
    factor = quantity.value / recipe.yields.value
    found: list[TaskSpec] = []
    for index, step in enumerate(steps):
        links = _before(recipe, step, prefix, steps) + (sources if index == 0 else [])
        links += _sources(at, step, taken, order=order.id)
        common = _common(kitchen, recipe, step, quantity.value)
        made = TaskSpec(
            id=TaskId(f"{prefix}.{step.id}"),
            order=order.id,
            load=scaled_load(step.load, factor),
            quantity=quantity,
            links=tuple(links),
            lives=life if step is steps[-1] else (),
            **(common | {"title": f"{step.title} for {order.customer}"}),
        )
        found.append(made)
    return tuple(found)


def _plain_hand_over(
    kitchen: Kitchen, order: Order, recipe: Recipe, quantity: Quantity, sources: list[TaskLink]
) -> TaskSpec:
    """A recipe without steps for each order is still handed over: an instant without hands."""
    return TaskSpec(
        id=TaskId(f"{order.id}.{recipe.code}.hand-over"),
        kind=TaskKind.WORK,
        process=Process.HAND_OVER,
        title=f"Hand over {recipe.name} for {order.customer}",
        order=order.id,
        recipe=recipe.id,
        station=kitchen.stations[0].id,
        quantity=quantity,
        duration=Duration(shortest=0, usual=0, longest=0),
        links=tuple(sources),
    )


def _leave_rests(ledger: Ledger, specs: dict[TaskId, TaskSpec]) -> None:
    """What of a finished lot is meant for nobody waits in its place until the horizon."""
    stays: dict[tuple[LotCode | None, StepId | None], list[TaskSpec]] = {}
    for spec in specs.values():
        if spec.kind is TaskKind.STAY and spec.quantity is not None and not str(spec.id).endswith(f".{REST}"):
            stays.setdefault((spec.lot, spec.step), []).append(spec)
    for batch in ledger.batches.values():
        recipe = ledger.made_by(batch)
        stay = terminal_stay(recipe)
        shut = batch.lot in ledger.lost or batch.lot in ledger.request.held_lots
        if stay is None or (shut and not _filled(ledger, recipe, batch)) or batch.lot in ledger.lost:
            continue
        mine = stays.get((batch.lot, stay.id), ())
        kept = sum(spec.quantity.value for spec in mine if spec.quantity is not None)
        left = max(0.0, ledger.there(batch.lot, batch.size.value) - kept)
        rest = TaskId(f"{batch.lot}.{stay.id}.{REST}")
        if left > EPS * 10:
            amount = Quantity(value=left, unit=batch.size.unit)
            links = _before(recipe, stay, batch.lot, batch_steps(recipe))
            specs[rest] = _share(ledger, batch, stay, (REST, amount), links)


def _filled(ledger: Ledger, recipe: Recipe, batch: Batch) -> bool:
    steps = batch_steps(recipe)
    before = TaskId(f"{batch.lot}.{steps[-2].id}") if len(steps) > 1 else None
    return before is not None and before in actuals_of(ledger.request)
