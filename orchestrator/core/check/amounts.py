"""Rules of amounts: batch sizes, pegs, components taken, allergens, lots that may not be used."""

from collections.abc import Iterator

from orchestrator.core.check.book import EPSILON, Book, fault
from orchestrator.core.ids import LotCode, RecipeId, TaskId
from orchestrator.core.models import Batch, Peg, Recipe, TaskKind, Violation


def sizes(book: Book) -> Iterator[Violation]:
    """size = scale * yields - losses, between the recipe's least and most."""
    for batch in book.plan.batches:
        recipe = book.made_by(batch)
        if recipe is None:
            continue
        losses = sum(s.loss.value for s in recipe.steps if s.loss is not None and s.per == "batch")
        expected = recipe.yields.value * batch.scale - losses
        unit = recipe.yields.unit
        if batch.size.unit is not unit or abs(batch.size.value - expected) > EPSILON:
            says = f"{batch.lot}: {batch.size} is not {expected:g} {unit}, what scale {batch.scale:g} less losses gives"
            yield fault("batch size", says)
        if not recipe.batch.least.value - EPSILON <= batch.size.value <= recipe.batch.most.value + EPSILON:
            says = f"{batch.lot}: {batch.size} is not between {recipe.batch.least} and {recipe.batch.most}"
            yield fault("batch size", says)


def lots(book: Book) -> Iterator[Violation]:
    """What is pegged from a lot is no more than it holds, by its size or by a count of it."""
    for lot, pegs in book.pegs_of.items():
        batch, stock = book.batches.get(lot), book.stock.get(lot)
        holds = batch.size if batch is not None else stock.quantity if stock is not None else None
        if holds is None:
            yield fault("pegs", f"{lot} serves {', '.join(peg.consumer for peg in pegs)}, but there is no such lot")
            continue
        taken = sum(peg.quantity.value for peg in pegs)
        there = holds.value + book.request.counted.get(lot, 0.0)
        waits = [peg for peg in pegs if not _has_taken(book, peg)]
        more = taken > there + EPSILON and (bool(waits) or there >= holds.value)
        if any(peg.quantity.unit is not holds.unit for peg in pegs) or more:
            yield fault("pegs", f"{lot} holds {holds}, yet {taken:g} {pegs[0].quantity.unit} of it are promised")


def _has_taken(book: Book, peg: Peg) -> bool:
    """Whether work of its consumer has begun: then it has what it took, whatever was counted since."""
    owner = f"{peg.consumer}."
    return any(task.startswith(owner) for task in book.actuals)


def components(book: Book) -> Iterator[Violation]:
    """What the steps of a batch take of a component is covered by the lots pegged to it."""
    for batch in book.plan.batches:
        recipe = book.made_by(batch)
        if recipe is None or _gone(book, batch.lot):
            continue
        for component, needed in _takes(recipe, batch).items():
            pegged = _pegged(book, batch.lot, component)
            if pegged < needed - EPSILON and not _begun(book, batch, recipe, component):
                says = f"{batch.lot} takes {needed:g} of {component}, and {pegged:g} are pegged to it"
                yield fault("components", says)


def _gone(book: Book, lot: LotCode) -> bool:
    return lot in book.gone


def _takes(recipe: Recipe, batch: Batch) -> dict[RecipeId, float]:
    needed: dict[RecipeId, float] = {}
    for step in recipe.steps:
        for take in step.takes if step.per == "batch" else ():
            if take.component is not None:
                needed[take.component] = needed.get(take.component, 0.0) + take.amount.value * batch.scale
    return needed


def _pegged(book: Book, consumer: str, recipe: RecipeId) -> float:
    return sum(
        peg.quantity.value
        for peg in book.plan.pegs
        if peg.consumer == consumer and (made := book.recipe_of(peg.lot)) is not None and made.id == recipe
    )


def _begun(book: Book, batch: Batch, recipe: Recipe, component: RecipeId) -> bool:
    """Whether the step that takes the component has begun: then it was taken, whatever became of its lot."""
    takers = [step.id for step in recipe.steps if any(take.component == component for take in step.takes)]
    return any(TaskId(f"{batch.lot}.{step}") in book.actuals for step in takers)


def orders(book: Book) -> Iterator[Violation]:
    """Every order line is covered in full by pegs, or its outlook says unmet."""
    unmet = {outlook.order for outlook in book.plan.outlooks if not outlook.met}
    for order in book.kitchen.orders:
        if order.id in unmet:
            continue
        wanted: dict[RecipeId, float] = {}
        for line in order.lines:
            wanted[line.product] = wanted.get(line.product, 0.0) + line.quantity.value
        for product, quantity in wanted.items():
            pegged = _pegged(book, order.id, product)
            if pegged < quantity - EPSILON and not _handed_over(book, order.id, product):
                says = f"{order.id} wants {quantity:g} of {product}, and {pegged:g} are pegged to it"
                yield fault("orders", says)


def _handed_over(book: Book, order: str, product: RecipeId) -> bool:
    recipe = book.recipes.get(product)
    steps = [step for step in recipe.steps if step.per == "order"] if recipe is not None else []
    return bool(steps) and TaskId(f"{order}.{recipe.code if recipe else ''}.{steps[0].id}") in book.actuals


def usable(book: Book) -> Iterator[Violation]:
    """A lot on hold or lost is used by no task that waits, and none of its own work goes on."""
    named: set[TaskId] = set()
    for task in book.plan.tasks:
        if not book.movable(task):
            continue
        if task.lot is not None and _gone(book, task.lot) and task.kind is TaskKind.WORK:
            yield fault("held lot", f"{task.id} waits, but {task.lot} is on hold or lost", task)
        for link in task.links:
            before = book.tasks.get(link.after)
            source = before.lot if before is not None else None
            if source is not None and source != task.lot and _gone(book, source) and task.kind is TaskKind.WORK:
                named.add(task.id)
                yield fault("held lot", f"{task.id} takes from {source}, which is on hold or lost", task)
    yield from _promised(book, named)


def _promised(book: Book, named: set[TaskId]) -> Iterator[Violation]:
    """Nothing of such a lot is promised to a consumer that has not begun to take it, whatever its tasks are tied to."""
    for peg in book.plan.pegs:
        if not _gone(book, peg.lot):
            continue
        owner = f"{peg.consumer}."
        mine = [task for task in book.plan.tasks if task.id.startswith(owner) and task.kind is TaskKind.WORK]
        if mine and all(book.movable(task) for task in mine) and not named & {task.id for task in mine}:
            yield fault(
                "held lot", f"{peg.consumer} is promised food of {peg.lot}, which is on hold or lost", *mine[:1]
            )


def _of_lot(book: Book, lot: LotCode) -> set[str]:
    """What a lot brings: a batch what it declares, stock what it has beyond its recipe, or had by it as it was made."""
    batch, stock = book.batches.get(lot), book.stock.get(lot)
    if batch is not None:
        return set(batch.allergens)
    return set() if stock is None else {*stock.allergens, *(stock.of_recipe or ())}


def allergens(book: Book) -> Iterator[Violation]:
    """A batch declares every allergen of its ingredients and of the lots it takes."""
    for batch in book.plan.batches:
        recipe = book.made_by(batch)
        if recipe is None:
            continue
        missing = book.allergens(recipe) - set(batch.allergens)
        for peg in book.plan.pegs:
            if peg.batch == batch.lot:
                missing |= _of_lot(book, peg.lot) - set(batch.allergens)
        if missing:
            yield fault("allergens", f"{batch.lot} does not declare {', '.join(sorted(missing))}")
