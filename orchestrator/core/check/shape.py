"""Rules of shape: ids, horizon, and that tasks are what the recipes say, linked as they say."""

from collections import Counter
from collections.abc import Iterator
from datetime import timedelta
from math import ceil

from orchestrator.core.check.book import EPSILON, Book, fault
from orchestrator.core.ids import LotCode, TaskId
from orchestrator.core.models import Batch, PlannedTask, Recipe, Step, TaskKind, TaskLink, Violation, WindowClass
from orchestrator.core.models.recipe import Link
from orchestrator.core.quantities import Unit


def ids(book: Book) -> Iterator[Violation]:
    """Every task, lot and outlook is there once."""
    for kind, names in (
        ("task", [task.id for task in book.plan.tasks]),
        ("lot", [batch.lot for batch in book.plan.batches] + list(book.stock)),
        ("outlook", [outlook.order for outlook in book.plan.outlooks]),
    ):
        for name, count in Counter(map(str, names)).items():
            if count > 1:
                yield fault("ids", f"{kind} {name} is there {count} times", TaskId(name))


def horizon(book: Book) -> Iterator[Violation]:
    """plan.start <= start and end <= plan.end <= the kitchen's horizon, for all that can be moved."""
    latest = book.kitchen.planning_start + timedelta(days=book.kitchen.horizon_days)
    if book.plan.end > latest:
        yield fault("horizon", f"the plan ends {book.clock(book.plan.end)}, after {book.clock(latest)}")
    for task in book.plan.tasks:
        if book.movable(task) and not book.plan.start <= task.start <= task.end <= book.plan.end:
            span = f"{book.clock(task.start)} to {book.clock(task.end)}"
            yield fault("horizon", f"{task.id} at {span} lies outside the plan", task)


def recipes(book: Book) -> Iterator[Violation]:
    """Every step of every batch and every met order line has its task, as the recipe writes it."""
    for batch in book.plan.batches:
        recipe = book.made_by(batch)
        if recipe is not None:
            yield from _holds(book, batch)
            yield from _batch(book, batch, recipe)
        elif batch.recipe not in book.recipes:
            yield fault("recipe", f"{batch.lot}: there is no recipe {batch.recipe}")
    for order in book.kitchen.orders:
        for code in {str(line.product): None for line in order.lines}:
            recipe = next((r for r in book.kitchen.recipes if r.id == code), None)
            lots = _pegged_to(book, order.id, code)
            if recipe is not None and lots:
                yield from _steps(book, recipe, [s for s in recipe.steps if s.per == "order"], order.id, served_by=lots)


def _pegged_to(book: Book, consumer: str, recipe: str) -> tuple[LotCode, ...]:
    """Lots of that recipe which serve a consumer, each once."""
    lots = {peg.lot: None for peg in book.plan.pegs if peg.consumer == consumer}
    return tuple(lot for lot in lots if (made := book.recipe_of(lot)) is not None and made.id == recipe)


def _holds(book: Book, batch: Batch) -> Iterator[Violation]:
    """A batch that nobody has begun is of the recipe's present revision."""
    now = book.recipes.get(batch.recipe)
    if now is None or now.revision == batch.revision:
        return
    if not any(str(task).split(".")[0] == batch.lot for task in book.actuals):
        says = f"{batch.lot} is of revision {batch.revision} of {now.name}, and nobody has begun it"
        yield fault("recipe", f"{says}: revision {now.revision} holds")


def _batch(book: Book, batch: Batch, recipe: Recipe) -> Iterator[Violation]:
    per_batch = [step for step in recipe.steps if step.per == "batch"]
    yield from _steps(book, recipe, per_batch, batch.lot, batch=batch)


def _steps(
    book: Book,
    recipe: Recipe,
    steps: list[Step],
    owner: str,
    *,
    served_by: tuple[LotCode, ...] = (),
    batch: Batch | None = None,
) -> Iterator[Violation]:
    for index, step in enumerate(steps):
        if step.per == "batch" and step.stay is not None and index == len(steps) - 1:
            if batch is not None:
                yield from _last_stay(book, batch, steps, step)
            continue
        name = f"{owner}.{step.id}" if step.per == "batch" else f"{owner}.{recipe.code}.{step.id}"
        task = book.tasks.get(TaskId(name))
        if task is None:
            if TaskId(name) not in book.actuals and not _given_up(book, owner):
                yield fault("recipe", f"{name} ({step.title}) is missing", TaskId(name))
        elif book.movable(task):
            yield from _as_written(task, step, batch)
            yield from _lasts(book, task, step)
            yield from _station(book, task, step)
            yield from _linked(book, task, _links_before(recipe, steps, index, owner))
            yield from _waits_for_lots(book, task, step, served_by if index == 0 else (), owner)


def begun_batches(book: Book) -> Iterator[Violation]:
    """A begun batch keeps every step of work that has not begun, unless it is held, lost or openly given up."""
    previous = book.request.previous
    for batch in previous.batches if previous is not None else ():
        recipe = book.made_by(batch)
        if recipe is None or batch.lot in book.gone:
            continue
        work = [TaskId(f"{batch.lot}.{s.id}") for s in recipe.steps if s.per == "batch" and s.stay is None]
        left = [name for name in work if name not in book.actuals]
        missing = [name for name in left if name not in book.tasks]
        if missing and len(left) < len(work):
            says = f"{batch.lot} has begun, and {', '.join(missing)} is no longer planned"
            yield fault("begun batches keep their remaining steps", says, *missing)


def _given_up(book: Book, owner: str) -> bool:
    """Lots on hold or lost keep only what has happened to them."""
    return owner in book.gone


def _as_written(task: PlannedTask, step: Step, batch: Batch | None) -> Iterator[Violation]:
    """Kind, equipment, hands and load are those of the step at this scale."""
    scale = batch.scale if batch is not None else 1.0
    told: list[tuple[str, object, object]] = [
        ("kind", task.kind, TaskKind.STAY if step.stay is not None else TaskKind.WORK),
        ("process", task.process, step.process),
        ("equipment kind", task.equipment_kind, step.equipment),
        ("attended portions", task.attended, step.attended),
        ("skill", task.skill, step.skill if step.attended else task.skill),
        ("hands", task.hands, step.hands if step.attended else task.hands),
        ("stay", task.stay, step.stay),
    ]
    if batch is not None and task.revision not in (None, batch.revision):  # old plans leave it out
        yield fault("recipe", f"{task.id}: revision is {task.revision}, its batch is of {batch.revision}", task)
    for what, has, wanted in told:
        if has != wanted:
            yield fault("recipe", f"{task.id}: {what} is {has}, the recipe says {wanted}", task)
    if step.load is not None and batch is not None and task.load < step.load.value * scale - EPSILON:
        says = f"{task.id} loads {task.load:g} of {step.load.value * scale:g} {step.load.unit}"
        yield fault("recipe", says, task)


def _lasts(book: Book, task: PlannedTask, step: Step) -> Iterator[Violation]:
    """Minutes are the recipe's; what has begun keeps those of its plan, though others were adopted since."""
    before = book.own_figures(task)
    if before is not None:
        if task.duration != before:
            yield fault("recipe", f"{task.id}: duration is {task.duration}, it began with {before}", task)
    elif step.duration is not None and task.duration != step.duration:
        yield fault("recipe", f"{task.id}: duration is {task.duration}, the recipe says {step.duration}", task)
    elif step.cycle is not None and task.quantity is not None and task.quantity.unit is Unit.EACH:
        wanted_min = ceil(task.quantity.value / step.cycle.pieces - EPSILON) * step.cycle.each
        if task.duration.usual != wanted_min:
            says = f"{task.id} is {task.quantity} in {task.duration.usual} min, the recipe says {wanted_min} min"
            yield fault("recipe", says, task)


def _station(book: Book, task: PlannedTask, step: Step) -> Iterator[Violation]:
    """The step's station, else that of its machine."""
    machine = book.equipment.get(task.equipment) if task.equipment is not None else None
    wanted = step.station or (machine.station if machine is not None else task.station)
    if task.station != wanted:
        yield fault("recipe", f"{task.id} is at {task.station}; it belongs to {wanted}", task)


def _links_before(recipe: Recipe, steps: list[Step], index: int, owner: str) -> list[TaskLink]:
    """What the recipe says comes before a step, as links of its task."""
    step = steps[index]
    written_above = (Link(step=steps[index - 1].id),) if index else ()
    before = step.after if step.after is not None else written_above
    prefix = owner if step.per == "batch" else f"{owner}.{recipe.code}"
    found = []
    for link in before:
        earlier = recipe.step(link.step)
        if earlier.per != step.per:
            continue  # the stays and lots pegged to an order line are judged with its pegs
        joins = earlier.stay is not None or step.stay is not None
        most = 0 if joins else link.most
        found.append(TaskLink(after=TaskId(f"{prefix}.{link.step}"), least=link.least, most=most, window=link.window))
    return found


def _linked(book: Book, task: PlannedTask, wanted: list[TaskLink]) -> Iterator[Violation]:
    """The task carries every link that the recipe asks for, no looser than written."""
    for link in wanted:
        if not any(_as_tight(own, link) for own in task.links if own.after == link.after):
            most = "" if link.most is None else f", at most {link.most} min"
            says = f"{task.id} must follow {link.after} by at least {link.least} min{most} ({link.window})"
            yield fault("recipe", says, task, link.after)


def _as_tight(own: TaskLink, link: TaskLink) -> bool:
    bounded = link.least > 0 or bool(link.most)
    return (
        own.least >= link.least
        and (link.most is None or (own.most is not None and own.most <= link.most))
        and (not bounded or own.window is link.window)
    )


def _waits_for_lots(
    book: Book, task: PlannedTask, step: Step, served_by: tuple[LotCode, ...], owner: str
) -> Iterator[Violation]:
    """A step that takes a component waits for the lots pegged to its batch; an order's first step for its own."""
    waits = list(served_by)
    for take in step.takes:
        if take.component is not None:
            waits += _pegged_to(book, owner, take.component)
    for lot in waits:
        wanted = _source(book, lot, owner)
        if wanted is not None:
            yield from _linked(book, task, [wanted])


def _source(book: Book, lot: LotCode, owner: str) -> TaskLink | None:
    """The link by which a consumer takes from a lot: from its last stay, or from its last task."""
    if lot in book.stock:
        return TaskLink(after=TaskId(f"{lot}.hold.{owner}"), most=0)
    recipe = book.recipe_of(lot)
    per_batch = [step for step in recipe.steps if step.per == "batch"] if recipe is not None else []
    if recipe is None or not per_batch:
        return None
    last = per_batch[-1]
    if last.stay is not None:
        return TaskLink(after=TaskId(f"{lot}.{last.id}.{owner}"), most=0)
    return TaskLink(after=TaskId(f"{lot}.{last.id}"), most=recipe.shelf_life, window=WindowClass.SAFETY)


def _last_stay(book: Book, batch: Batch, steps: list[Step], step: Step) -> Iterator[Violation]:
    """The stay that ends a recipe is split by consumer, each with its share of the place."""
    fill = TaskLink(after=TaskId(f"{batch.lot}.{steps[-2].id}"), most=0) if len(steps) > 1 else None
    for peg in book.pegs_of.get(batch.lot, ()):
        name = TaskId(f"{batch.lot}.{step.id}.{peg.consumer}")
        task = book.tasks.get(name)
        if task is None:
            if name not in book.actuals:
                yield fault("recipe", f"{name} ({step.title}) is missing", name)
            continue
        if not book.movable(task):
            continue
        if task.stay != step.stay or task.equipment_kind != step.equipment:
            yield fault("recipe", f"{name} is not the stay that the recipe writes", task)
        if fill is not None:
            yield from _linked(book, task, [fill])
        if step.load is not None:
            share = step.load.value * batch.scale * min(1.0, peg.quantity.value / batch.size.value)
            if task.load < share - EPSILON:
                yield fault("recipe", f"{name} loads {task.load:g}; its share is {share:g} {step.load.unit}", task)
