"""Windows that can be reached: least within most, and no detour longer than what a window allows."""

import math

from orchestrator.core.models import Recipe, Step
from orchestrator.kitchen.check_capacity import losses
from orchestrator.kitchen.check_cycles import circles, step_graph
from orchestrator.kitchen.draft import Draft, RecipeDraft


def check_windows(draft: Draft) -> None:
    """Every window of every recipe can be met by the shortest work."""
    for recipe in draft.recipes:
        for index, step in recipe.steps.items():
            _ordered(recipe, index, step)
            _within_shelf_life(recipe, index, step)
        _detours(recipe)


def in_words(minutes: float) -> str:
    """Minutes as people write them: ``45 min``, ``12 h``, ``1 h 30 min``, ``5 d``."""
    days, rest = divmod(int(minutes), 1440)
    hours, left = divmod(rest, 60)
    parts = [f"{days} d"] * bool(days) + [f"{hours} h"] * bool(hours) + [f"{left} min"] * bool(left)
    return " ".join(parts) or "0 min"


def shortest_min(recipe: RecipeDraft, step: Step) -> int:
    """The fewest minutes that a step can last, at the least of a batch."""
    if step.duration is not None:
        return step.duration.shortest
    if step.stay is not None:
        return step.stay.least
    assert step.cycle is not None  # a step has exactly one of the three
    pieces = recipe.batch.least.value + losses(recipe) if recipe.batch is not None else 1.0
    return math.ceil(pieces / step.cycle.pieces) * step.cycle.each


def _ordered(recipe: RecipeDraft, index: int, step: Step) -> None:
    for number, link in enumerate(step.after or ()):
        if link.most is not None and link.least > link.most:
            what = f"the window of {step.id!r} after {link.step!r} opens after {in_words(link.least)} "
            what += f"and closes after {in_words(link.most)}"
            recipe.add(("steps", index, "after", number, "least"), what, "make least no more than most")
    if step.stay is not None and step.stay.most is not None and step.stay.least > step.stay.most:
        what = f"the stay {step.id!r} lasts at least {in_words(step.stay.least)} and at most {in_words(step.stay.most)}"
        recipe.add(("steps", index, "stay", "least"), what, "make least no more than most")


def _within_shelf_life(recipe: RecipeDraft, index: int, step: Step) -> None:
    """A wait that alone lasts longer than what is made keeps."""
    keeps = recipe.recipe.shelf_life if recipe.recipe is not None else None
    if keeps is None or step.per == "order":
        return
    most = step.stay.most if step.stay is not None else None
    if step.stay is not None and step.stay.least > keeps and (most is None or step.stay.least <= most):
        what = f"the stay {step.id!r} lasts at least {in_words(step.stay.least)}, longer than the shelf life"
        recipe.add(("steps", index, "stay", "least"), what, f"make least no more than {in_words(keeps)}")


def _detours(recipe: RecipeDraft) -> None:
    """A step that must soon follow one step, and also others that cannot be done by then."""
    whole = recipe.recipe
    if whole is None or circles(step_graph(recipe)):
        return
    for index, step in enumerate(whole.steps):
        for number, link in enumerate(step.after or ()):
            if link.most is None or link.step not in recipe.step_ids or link.least > link.most:
                continue
            needed, path = longest_way(recipe, whole, recipe.step_ids.index(link.step), index)
            if needed > link.most:
                what = f"{step.id!r} must follow {link.step!r} within {in_words(link.most)}, "
                what += f"but {' → '.join(path)} takes at least {in_words(needed)}"
                where = ("steps", index, "after", number, "most")
                recipe.add(where, what, f"allow at least {in_words(needed)}, or take a step out between them")


def longest_way(recipe: RecipeDraft, whole: Recipe, start: int, goal: int) -> tuple[int, list[str]]:
    """The fewest minutes from the end of one step to the start of another, and the way that asks for them.

    Args:
        recipe: The draft of the recipe, without circles.
        whole: The recipe itself.
        start: Position of the first step.
        goal: Position of the second.

    Returns:
        Minutes along the longest way, -1 if there is none; and the step ids on it.
    """
    graph = step_graph(recipe)
    known: dict[int, tuple[int, list[str]]] = {}

    def way(index: int) -> tuple[int, list[str]]:
        """To the start of a step."""
        if index in known:
            return known[index]
        step, best = whole.steps[index], (-1, [str(whole.steps[index].id)])
        least = {
            recipe.step_ids.index(link.step): link.least for link in step.after or () if link.step in recipe.step_ids
        }
        for before in graph[index]:
            if before == start:
                minutes, path = 0, [str(whole.steps[start].id)]
            else:
                minutes, path = way(before)
                if minutes < 0:
                    continue
                minutes += shortest_min(recipe, whole.steps[before])
            if minutes + least.get(before, 0) > best[0]:
                best = minutes + least.get(before, 0), [*path, str(step.id)]
        known[index] = best
        return best

    return way(goal)
