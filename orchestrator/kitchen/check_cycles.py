"""Circles: a component that needs itself, a step that must wait for itself."""

from collections.abc import Hashable, Mapping, Sequence
from typing import TypeVar

from orchestrator.kitchen.draft import Draft, RecipeDraft

N = TypeVar("N", bound=Hashable)


def circles(graph: Mapping[N, Sequence[N]]) -> list[list[N]]:
    """One circle through each part of a graph that has any, each once.

    Args:
        graph: From each node to those it points at; unknown ones are ignored.

    Returns:
        Circles as lists of nodes in order, without the first repeated at the end.
    """
    found: list[list[N]] = []
    done: set[N] = set()
    for root in graph:
        trail: list[N] = []
        stack: list[tuple[N, int]] = [(root, 0)]
        while stack:
            node, step = stack.pop()
            if step == 0:
                if node in done:
                    continue
                trail.append(node)
            following = [other for other in graph[node] if other in graph]
            if step == len(following):
                done.add(trail.pop())
                continue
            stack.append((node, step + 1))
            other = following[step]
            if other in trail:
                found.append(trail[trail.index(other) :])
            elif other not in done:
                stack.append((other, 0))
    return found


def check_component_cycles(draft: Draft) -> None:
    """No recipe needs itself by way of its components."""
    # A product taken as a component is a fault of its own.
    recipes = {recipe.id: recipe for recipe in draft.recipes if recipe.makes != "product"}
    graph = {name: _components(recipe) for name, recipe in recipes.items()}
    for circle in circles(graph):
        recipe, following = recipes[circle[0]], circle[1 % len(circle)]
        path = " → ".join([*circle, circle[0]])
        for index, step in recipe.steps.items():
            for number, take in enumerate(step.takes):
                if take.component == following:
                    where = ("steps", index, "takes", number, "component")
                    recipe.add(where, f"recipes go round in a circle: {path}", "take one of these components out")
                    break
            else:
                continue
            break


def _components(recipe: RecipeDraft) -> list[str]:
    taken = [take.component for step in recipe.steps.values() for take in step.takes if take.component]
    return list(dict.fromkeys(str(name) for name in taken))


def step_graph(recipe: RecipeDraft) -> dict[int, list[int]]:
    """From each step that is right, by position, to those it comes after."""
    graph: dict[int, list[int]] = {}
    for index, step in recipe.steps.items():
        if step.after is None:
            before = [i for i in recipe.steps if i < index and recipe.steps[i].per == step.per]
            graph[index] = before[-1:]
        else:
            graph[index] = [recipe.step_ids.index(link.step) for link in step.after if link.step in recipe.step_ids]
    return graph


def check_step_cycles(draft: Draft) -> None:
    """No step waits for itself by way of others."""
    for recipe in draft.recipes:
        for circle in circles(step_graph(recipe)):
            path = " → ".join(str(recipe.step_ids[index]) for index in [*reversed(circle), circle[-1]])
            index = max(circle)
            what = f"steps wait for each other in a circle: {path}"
            recipe.add(("steps", index, "after"), what, "let each step come after earlier ones only")
