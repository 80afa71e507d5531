"""Batches and order lines become tasks: ids, links, durations, loads, by the recipes' steps."""

import math
from collections.abc import Iterator

from orchestrator.core.ids import LotCode, OrderId, StationId, TaskId
from orchestrator.core.models import (
    Batch,
    Duration,
    Kitchen,
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
from orchestrator.planner.lives import Lives
from orchestrator.planner.lots import Ledger, actuals_of
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
    lives = Lives(ledger)
    for batch in ledger.batches.values():
        yield from _batch_specs(ledger, batch, lives)
    for order in ledger.kitchen.orders:
        yield from _order_specs(ledger, order, lives)


def _keep_figures(ledger: Ledger, specs: dict[TaskId, TaskSpec]) -> None:
    """What has begun keeps the minutes that it began with, though others were adopted since."""
    previous, actuals = ledger.request.previous, actuals_of(ledger.request)
    work = [task for task in previous.tasks if task.kind is TaskKind.WORK] if previous is not None else []
    begun = {task.lot or task.order for task in work if task.id in actuals}
    for task in work:
        spec = specs.get(task.id)
        if spec is not None and (task.lot or task.order) in begun and spec.quantity == task.quantity:
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
    ledger: Ledger, step: Step, taken: set[str], *, batch: LotCode | None = None, order: OrderId | None = None
) -> list[TaskLink]:
    """Links of a step to the lots of the components it takes; a component waits for the first step only."""
    links = []
    for component in (take.component for take in step.takes if take.component is not None):
        if component in taken:
            continue
        taken.add(component)
        links += _links_to(ledger, component, batch=batch, order=order)
    return links


def _links_to(
    ledger: Ledger, recipe: str, batch: LotCode | None = None, order: OrderId | None = None
) -> list[TaskLink]:
    pegs = [p for p in ledger.pegs if p.batch == batch and p.order == order and ledger.recipe_of(p.lot) == recipe]
    return [link for peg in pegs if (link := _source_link(ledger, peg)) is not None]


def _amount(step: Step, factor: float, whole: Quantity) -> Quantity:
    """What a task works on: its load where that is in the unit of the yield, else the whole."""
    if step.load is not None and step.load.unit is whole.unit:
        return step.load.times(factor)
    return whole


def _batch_specs(ledger: Ledger, batch: Batch, lives: Lives) -> Iterator[TaskSpec]:
    recipe, limits = ledger.made_by(batch), lives.of_batch(batch.lot)
    steps = batch_steps(recipe)
    taken: set[str] = set()
    last = terminal_stay(recipe)
    for step in steps:
        links = _before(recipe, step, batch.lot, steps)
        if step is last:
            for peg in (peg for peg in ledger.pegs if peg.lot == batch.lot):
                yield _share(ledger, batch, step, (peg.consumer, peg.quantity), links)
            continue
        links += _sources(ledger, step, taken, batch=batch.lot)
        pieces = recipe.yields.value * batch.scale
        amount = _amount(step, batch.scale, batch.size)
        if step.cycle is not None:
            amount = Quantity(value=pieces, unit=recipe.yields.unit)
        yield TaskSpec(
            id=TaskId(f"{batch.lot}.{step.id}"),
            lot=batch.lot,
            load=scaled_load(step.load, batch.scale),
            quantity=amount,
            links=tuple(links),
            lives=limits.get(step.id, ()),
            revision=batch.revision,
            **_common(ledger.kitchen, recipe, step, pieces),
        )


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


def _order_specs(ledger: Ledger, order: Order, lives: Lives) -> Iterator[TaskSpec]:
    for product in dict.fromkeys(line.product for line in order.lines):
        served = sum(line.quantity.value for line in order.lines if line.product == product)
        recipe = next((r for r in ledger.kitchen.recipes if r.id == product), None)
        if recipe is None or ledger.pegged(product, order=order.id) <= EPS:
            continue
        specs = list(_line_specs(ledger, order, recipe, Quantity(value=served, unit=recipe.yields.unit)))
        yield from specs[:-1]
        yield specs[-1].model_copy(update={"lives": lives.of_line(order.id, recipe)})


def _line_specs(ledger: Ledger, order: Order, recipe: Recipe, quantity: Quantity) -> Iterator[TaskSpec]:
    steps = order_steps(recipe)
    prefix = f"{order.id}.{recipe.code}"
    sources = _links_to(ledger, recipe.id, order=order.id)
    if not steps:
        yield _plain_hand_over(ledger.kitchen, order, recipe, quantity, sources)
    taken: set[str] = set()
    factor = quantity.value / recipe.yields.value
    for index, step in enumerate(steps):
        links = _before(recipe, step, prefix, steps) + (sources if index == 0 else [])
        links += _sources(ledger, step, taken, order=order.id)
        common = _common(ledger.kitchen, recipe, step, quantity.value)
        yield TaskSpec(
            id=TaskId(f"{prefix}.{step.id}"),
            order=order.id,
            load=scaled_load(step.load, factor),
            quantity=quantity,
            links=tuple(links),
            **(common | {"title": f"{step.title} for {order.customer}"}),
        )


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
    for batch in ledger.batches.values():
        recipe = ledger.made_by(batch)
        stay = terminal_stay(recipe)
        shut = batch.lot in ledger.lost or batch.lot in ledger.request.held_lots
        if stay is None or (shut and not _filled(ledger, recipe, batch)) or batch.lot in ledger.lost:
            continue
        mine = [s for s in specs.values() if s.lot == batch.lot and s.kind is TaskKind.STAY and s.step == stay.id]
        kept = sum(s.quantity.value for s in mine if s.quantity is not None and not str(s.id).endswith(f".{REST}"))
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
