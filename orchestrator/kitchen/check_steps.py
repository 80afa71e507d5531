"""The order and kind of steps in a recipe: batch before order, stays between work, a place to stand."""

from orchestrator.core.models import Step
from orchestrator.kitchen.draft import Draft, RecipeDraft
from orchestrator.kitchen.faults import one_of


def check_steps(draft: Draft) -> None:
    """Every step has a place and known steps before it, and batch work never follows order work."""
    for recipe in draft.recipes:
        for index, step in recipe.steps.items():
            _place(recipe, index, step)
            _links(recipe, index, step)
            _stay(recipe, index, step)
            _per_order(recipe, index, step)


def _place(recipe: RecipeDraft, index: int, step: Step) -> None:
    if step.station is None and step.equipment is None:
        what = f"{step.id!r} has neither a station nor equipment"
        recipe.add(("steps", index), what, "add `station: ...` or `equipment: ...`: where does a cook stand?")
    if step.load is not None and step.equipment is None:
        what = f"{step.id!r} has a load but no equipment"
        recipe.add(("steps", index, "load"), what, "add `equipment: ...`, or take the load out")


def _links(recipe: RecipeDraft, index: int, step: Step) -> None:
    seen: set[str] = set()
    for number, link in enumerate(step.after or ()):
        where = ("steps", index, "after", number, "step")
        if link.step not in recipe.step_ids:
            known = [name for name in recipe.step_ids if name and name != step.id]
            recipe.add(where, f"there is no step {link.step!r} in this recipe", one_of(known, link.step))
            continue
        if link.step in seen:
            recipe.add(where, f"{link.step!r} is named twice", "keep one link to each step")
        seen.add(link.step)
        before = recipe.steps.get(recipe.step_ids.index(link.step))
        if before is not None and before.stay is not None and (link.least or link.most is not None):
            what = f"the stay {link.step!r} ends as {step.id!r} begins, without a gap"
            recipe.add(where, what, "give least and most to the stay itself")
        if before is not None and before.per == "order" and step.per == "batch":
            what = f"{step.id!r} is done per batch but comes after {link.step!r}, which is done per order"
            recipe.add(where, what, "let it come after a step that is done per batch")
        if before is not None and before.per == "batch" and step.per == "order":
            what = f"{step.id!r} is done per order and names {link.step!r}, which is done per batch"
            remedy = "take the link out: the first step per order follows the whole batch"
            recipe.add(where, what, remedy)


def _stay(recipe: RecipeDraft, index: int, step: Step) -> None:
    if step.stay is None:
        return
    where = ("steps", index, "stay")
    if step.per == "order":
        recipe.add(where, f"the stay {step.id!r} is done per order", "let it belong to the batch: take `per` out")
        return
    if step.takes:
        recipe.add(("steps", index, "takes"), f"the stay {step.id!r} takes something in", "let a step of work take it")
    links = step.after
    if links is not None and (len(links) != 1 or links[0].least or links[0].most is not None):
        what = f"the stay {step.id!r} begins as one step ends, without a gap"
        recipe.add(("steps", index, "after"), what, "name that one step, without least and most")
        return
    before = recipe.steps.get(index - 1) if links is None else _named(recipe, links[0].step)
    if links is None and index == 0:
        recipe.add(where, f"the stay {step.id!r} has nothing before it", "let it follow the step that fills it")
    elif before is not None and before.stay is not None:
        what = f"the stay {step.id!r} follows another stay, {before.id!r}"
        recipe.add(where, what, "put the step that moves the food between them")


def _named(recipe: RecipeDraft, name: str) -> Step | None:
    return recipe.steps.get(recipe.step_ids.index(name)) if name in recipe.step_ids else None


def _per_order(recipe: RecipeDraft, index: int, step: Step) -> None:
    earlier = [other for position, other in recipe.steps.items() if position < index]
    if step.per == "batch":
        order_step = next((other for other in earlier if other.per == "order"), None)
        if order_step is not None and step.after is None:
            what = f"{step.id!r} is done per batch but stands after {order_step.id!r}, which is done per order"
            recipe.add(("steps", index), what, "move it above the steps done per order")
        return
    if recipe.makes == "component":
        what = f"{step.id!r} is done per order, but nobody orders a component"
        recipe.add(("steps", index, "per"), what, "take `per` out, or make this recipe a product")
    if not any(other.per == "batch" for other in recipe.steps.values()) and len(recipe.steps) == len(recipe.step_ids):
        recipe.add(("steps", index, "per"), "no step is done per batch", "describe how a batch is made first")
    for number, take in enumerate(step.takes):
        if take.component is not None:
            what = f"{step.id!r} is done per order and takes the component {take.component!r}"
            recipe.add(("steps", index, "takes", number), what, "let a step of the batch take it")
