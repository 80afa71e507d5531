"""Changes of what recipes say, carried out on a request or refused."""

from collections.abc import Iterator

from orchestrator.core.allergens import stock_as_made
from orchestrator.core.changes_refusals import bad, unknown
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import RecipeId, StepId
from orchestrator.core.models import Kitchen, PlanRequest, Recipe, Step, Take
from orchestrator.core.models.change import AddRecipe, ReviseRecipe
from orchestrator.core.revisions import revised
from orchestrator.core.worked_out import not_reckoned


def may_revise(request: PlanRequest, change: ReviseRecipe) -> Refusal | None:
    """Why a recipe cannot be made so from now on."""
    after = revised(request.kitchen, change.recipe)
    return after if isinstance(after, Refusal) else cannot_be_made(after, change.recipe)


def revise(request: PlanRequest, change: ReviseRecipe) -> PlanRequest:
    """A recipe's next revision; what is begun keeps the one it began with."""
    after = revised(request.kitchen, change.recipe)
    if isinstance(after, Refusal):
        return request
    recipes = tuple(_with_minutes(known, change) for known in after.recipes)
    kitchen = stock_as_made(request.kitchen, after.model_copy(update={"recipes": recipes}))
    return request.model_copy(update={"kitchen": kitchen})


def _with_minutes(recipe: Recipe, change: ReviseRecipe) -> Recipe:
    """A recipe that the revised one goes into, with the usual minutes that follow from it; no revision of its own."""
    told = {one.step: one.usual for one in change.follow if one.recipe == recipe.id}
    if not told:
        return recipe
    steps = tuple(
        step.model_copy(update={"duration": step.duration.model_copy(update={"usual": told[step.id]})})
        if step.id in told and step.duration is not None
        else step
        for step in recipe.steps
    )
    return recipe.model_copy(update={"steps": steps})


def may_add_recipe(request: PlanRequest, change: AddRecipe) -> Refusal | None:
    """Why there cannot be such a recipe as well."""
    kitchen, recipe = request.kitchen, change.recipe
    for known in kitchen.recipes:
        if known.id == recipe.id:
            return bad(recipe.id, "there is a recipe of that id already", "another id, or make it the next revision")
        if known.code == recipe.code:
            return bad(recipe.code, f"the code belongs to {known.name}: lot codes begin with it", "another code")
    if any(order.id.startswith(recipe.code) and order.id[len(recipe.code) :].isdigit() for order in kitchen.orders):
        return bad(recipe.code, "an order's name would read like one of its lots", "another code")
    if recipe.revision != 1:
        return bad(recipe.id, f"revision {recipe.revision} follows on nothing", "revision 1")
    return cannot_be_made(_with(kitchen, recipe), recipe)


def add_recipe(request: PlanRequest, change: AddRecipe) -> PlanRequest:
    """A recipe more."""
    if any(known.id == change.recipe.id or known.code == change.recipe.code for known in request.kitchen.recipes):
        return request
    return request.model_copy(update={"kitchen": _with(request.kitchen, change.recipe)})


def _with(kitchen: Kitchen, recipe: Recipe) -> Kitchen:
    return kitchen.model_copy(update={"recipes": (*kitchen.recipes, recipe)})


def cannot_be_made(kitchen: Kitchen, recipe: Recipe) -> Refusal | None:
    """What a recipe names that this kitchen has not, or counts otherwise; none when it can be made there.

    Args:
        kitchen: With the recipe in it.
        recipe: That recipe.
    """
    names = [step.id for step in recipe.steps]
    if len(set(names)) < len(names):
        return bad(recipe.name, "two of its steps have the same id", "an id of its own for each step")
    if recipe.yields.value <= 0:
        return bad(recipe.name, "it yields nothing", "more than nothing")
    refused = next((told for step in recipe.steps for told in _wrong(kitchen, recipe, step)), None)
    return refused or _circle(kitchen, recipe) or not_reckoned(recipe, kitchen)


def _wrong(kitchen: Kitchen, recipe: Recipe, step: Step) -> Iterator[Refusal]:
    machines = [machine for machine in kitchen.equipment if machine.kind == step.equipment]
    if step.equipment is not None and not machines:
        yield unknown("kind of equipment", step.equipment, {machine.kind for machine in kitchen.equipment})
    if step.equipment is None and step.station is None:
        yield bad(step.title, "nothing says where it is done", "a kind of equipment, or a station")
    if step.station is not None and step.station not in [station.id for station in kitchen.stations]:
        yield unknown("station", step.station, (station.id for station in kitchen.stations))
    skills = {skill for member in kitchen.crew for skill in member.skills}
    if step.skill is not None and step.skill not in skills:
        yield unknown("skill of the crew", step.skill, skills)
    for link in step.after or ():
        if link.step not in [other.id for other in recipe.steps]:
            yield unknown(f"step of {recipe.name}", link.step, (other.id for other in recipe.steps))
    counted = {machine.capacity.unit for machine in machines if machine.capacity is not None}
    if step.load is not None and counted and step.load.unit not in counted:
        yield bad(step.title, f"its load is in {step.load.unit}", f"an amount in {', '.join(sorted(counted))}")
    yield from (told for take in step.takes for told in _taken(kitchen, take))


def _taken(kitchen: Kitchen, take: Take) -> Iterator[Refusal]:
    if take.component is None:
        return
    parts = {known.id: known for known in kitchen.recipes if known.makes == "component"}
    if take.component not in parts:
        yield unknown("component", take.component, parts)
    elif parts[take.component].yields.unit is not take.amount.unit:
        unit = parts[take.component].yields.unit
        yield bad(take.component, f"it is made in {unit}", f"an amount in {unit}")


def _circle(kitchen: Kitchen, recipe: Recipe) -> Refusal | None:
    """Whether it goes into itself, or its steps wait for each other."""
    known = {one.id: one for one in kitchen.recipes}
    above: set[RecipeId] = set()
    level = [recipe]
    while level:
        names = {t.component for one in level for step in one.steps for t in step.takes if t.component is not None}
        if recipe.id in names:
            return bad(recipe.name, "it would go into itself through what it takes", "take that component out")
        level = [known[name] for name in names - above if name in known]
        above |= names
    waits: dict[StepId, set[StepId]] = {}
    for before, step in zip((None, *recipe.steps), recipe.steps, strict=False):
        follows = {link.step for link in step.after} if step.after is not None else {before.id} if before else set()
        waits[step.id] = follows
    while free := [name for name, on in waits.items() if not on & set(waits)]:
        for name in free:
            del waits[name]
    if waits:
        return bad(recipe.name, f"its steps wait for each other: {', '.join(waits)}", "take one `after` out")
    return None
