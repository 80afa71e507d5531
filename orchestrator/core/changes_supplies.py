"""Changes of ingredients: when they are there, and what stands in for them; carried out on a request."""

from datetime import datetime

from orchestrator.core.allergens import allergens_of, stock_as_made
from orchestrator.core.changes_refusals import bad, unknown
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import LotCode, RecipeId, TaskId
from orchestrator.core.models import Batch, Kitchen, Plan, PlanRequest, Recipe, Step, Supply
from orchestrator.core.models.change import SupplyMoved, SupplyThere, SwapIngredient
from orchestrator.core.quantities import Quantity
from orchestrator.core.worked_out import worked_out


def ingredients(kitchen: Kitchen) -> dict[str, Quantity]:
    """Every ingredient that some step takes, with the first amount that a recipe writes of it: its unit counts."""
    found: dict[str, Quantity] = {}
    for take in (take for recipe in kitchen.recipes for step in recipe.steps for take in step.takes):
        if take.ingredient is not None:
            found.setdefault(take.ingredient, take.amount)
    return found


def may_move(request: PlanRequest, change: SupplyMoved) -> Refusal | None:
    """An ingredient that some recipe takes, in the unit it takes it in."""
    known = ingredients(request.kitchen)
    if change.ingredient not in known:
        return unknown("ingredient", change.ingredient, known)
    unit = known[change.ingredient].unit
    if change.on_hand is not None and change.on_hand.unit is not unit:
        return bad(change.ingredient, f"recipes take it in {unit}", f"an amount in {unit}")
    return None


def moved(request: PlanRequest, change: SupplyMoved) -> PlanRequest:
    """An ingredient is there then."""
    supply = Supply(
        ingredient=change.ingredient,
        ready=change.ready,
        why=change.why,
        on_hand=change.on_hand,
        counted_at=request.now if change.on_hand is not None else None,
    )
    return _with_kitchen(request, with_supply(request.kitchen, supply))


def is_taken(request: PlanRequest, change: SupplyThere | SwapIngredient) -> Refusal | None:
    """An ingredient that some recipe takes."""
    known = ingredients(request.kitchen)
    return None if change.ingredient in known else unknown("ingredient", change.ingredient, known)


def there(request: PlanRequest, change: SupplyThere) -> PlanRequest:
    """Nothing waits for an ingredient any more."""
    return _with_kitchen(request, without_supply(request.kitchen, change.ingredient))


def swapped(request: PlanRequest, change: SwapIngredient) -> PlanRequest:
    """Other allergens go into the recipes, and into every batch that has not yet taken the ingredient."""
    begun = {actual.task: actual.start for actual in request.actuals}
    kitchen = swap(request.kitchen, change)
    previous = None if request.previous is None else relabelled(request.previous, request.kitchen, kitchen, begun)
    return request.model_copy(update={"kitchen": kitchen, "previous": previous})


def with_supply(kitchen: Kitchen, supply: Supply) -> Kitchen:
    """The kitchen with this said of an ingredient, in place of what was said before."""
    others = tuple(s for s in kitchen.supplies if s.ingredient != supply.ingredient)
    return kitchen.model_copy(update={"supplies": (*others, supply)})


def without_supply(kitchen: Kitchen, ingredient: str) -> Kitchen:
    """The kitchen with an ingredient there."""
    return kitchen.model_copy(update={"supplies": tuple(s for s in kitchen.supplies if s.ingredient != ingredient)})


def swap(kitchen: Kitchen, change: SwapIngredient) -> Kitchen:
    """The kitchen with one ingredient in the place of another, in the next revision of every recipe that takes it.

    What has begun keeps its own. What is said of the ingredient's supply stays where it is the same ingredient.
    """
    recipes = tuple(_swapped(recipe, change) for recipe in kitchen.recipes)
    former = tuple(old for old, new in zip(kitchen.recipes, recipes, strict=True) if old is not new)
    after = kitchen.model_copy(update={"recipes": recipes, "former": (*kitchen.former, *former)})
    # Another ingredient may hold more water, or less: minutes that the mix gives follow it.
    mixed = tuple(
        new if old is new else worked_out(new, after) for old, new in zip(kitchen.recipes, recipes, strict=True)
    )
    after = stock_as_made(kitchen, after.model_copy(update={"recipes": mixed}))
    return after if change.by == change.ingredient else without_supply(after, change.ingredient)


def _swapped(recipe: Recipe, change: SwapIngredient) -> Recipe:
    if all(take.ingredient != change.ingredient for step in recipe.steps for take in step.takes):
        return recipe
    steps = tuple(_step(step, change) for step in recipe.steps)
    return recipe.model_copy(update={"steps": steps, "revision": recipe.revision + 1})


def _step(step: Step, change: SwapIngredient) -> Step:
    new = {"ingredient": change.by, "allergens": tuple(sorted(set(change.allergens)))}
    takes = tuple(t.model_copy(update=new) if t.ingredient == change.ingredient else t for t in step.takes)
    return step.model_copy(update={"takes": takes}) if takes != step.takes else step


def concerned(kitchen: Kitchen, ingredient: str) -> tuple[RecipeId, ...]:
    """Recipes with an ingredient in them, directly or through components."""
    recipes = {recipe.id: recipe for recipe in kitchen.recipes}

    def has(recipe: Recipe, above: frozenset[RecipeId]) -> bool:
        for take in (take for step in recipe.steps for take in step.takes):
            part = recipes.get(take.component) if take.component is not None else None
            if take.ingredient == ingredient:
                return True
            if part is not None and part.id not in above and has(part, above | {recipe.id}):
                return True
        return False

    return tuple(recipe.id for recipe in kitchen.recipes if has(recipe, frozenset()))


def relabelled(plan: Plan, before: Kitchen, after: Kitchen, begun: dict[TaskId, datetime]) -> Plan:
    """The plan with the allergens that its batches have by the changed recipes.

    A batch that has taken its ingredients keeps what it has; what is made from others gets theirs too. None loses an
    allergen by this: what stood in the kitchen before may still be in it.
    """
    recipes = {recipe.id: recipe for recipe in after.recipes}
    old = {recipe.id: recipe for recipe in before.recipes}
    own: dict[LotCode, set[str]] = {}
    for batch in plan.batches:
        recipe = recipes.get(batch.recipe)
        fresh = recipe is not None and recipe != old.get(batch.recipe) and not _taken(batch, recipe, begun)
        own[batch.lot] = set(batch.allergens) | (_direct(recipe) if fresh and recipe is not None else set())
    changed = True
    while changed:
        changed = False
        for peg in plan.pegs:
            if peg.batch in own and not own.get(peg.lot, set()) <= own[peg.batch]:
                own[peg.batch] |= own[peg.lot]
                changed = True
    batches = tuple(b.model_copy(update={"allergens": tuple(sorted(own[b.lot]))}) for b in plan.batches)
    return plan.model_copy(update={"batches": batches})


def _direct(recipe: Recipe) -> set[str]:
    return set(recipe.allergens) | {a for step in recipe.steps for take in step.takes for a in take.allergens}


def _taken(batch: Batch, recipe: Recipe, begun: dict[TaskId, datetime]) -> bool:
    """Whether every step that takes an ingredient has begun."""
    takers = [step.id for step in recipe.steps if any(take.ingredient for take in step.takes)]
    return all(TaskId(f"{batch.lot}.{step}") in begun for step in takers)


def _with_kitchen(request: PlanRequest, kitchen: Kitchen) -> PlanRequest:
    return request.model_copy(update={"kitchen": kitchen})


def new_allergens(kitchen: Kitchen, change: SwapIngredient) -> tuple[str, ...]:
    """Allergens that what has the ingredient in it did not have: their labels are wrong from now on."""
    recipes = {recipe.id: recipe for recipe in kitchen.recipes}
    direct = [r for r in kitchen.recipes if any(t.ingredient == change.ingredient for s in r.steps for t in s.takes)]
    known = [allergens_of(recipes, recipe) for recipe in direct]
    return tuple(sorted({a for a in change.allergens if any(a not in of for of in known)}))
