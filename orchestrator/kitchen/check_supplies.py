"""Supplies that something waits for: ingredients that a recipe takes, there within the planned days."""

from datetime import timedelta

from orchestrator.kitchen.draft import Draft
from orchestrator.kitchen.faults import one_of


def check_supplies(draft: Draft) -> None:
    """Every supply is of an ingredient that some step takes, and is there before the planned days end."""
    taken = {take.ingredient for recipe in draft.recipes for step in recipe.steps.values() for take in step.takes}
    names = {name for name in taken if name is not None}
    # Of a recipe with faults some steps are unknown: then nothing is called unknown.
    whole = bool(draft.recipes) and all(recipe.recipe is not None for recipe in draft.recipes)
    for entry in draft.supplies:
        supply = entry.value
        if supply is None:
            continue
        if whole and supply.ingredient not in names:
            what = f"no step takes {supply.ingredient!r}"
            entry.add(("ingredient",), what, one_of(names, supply.ingredient))
        if draft.header is None:
            continue
        end = draft.header.planning_start + timedelta(days=draft.header.horizon_days)
        if supply.ready >= end:
            shown = f"{supply.ready.astimezone(draft.zone):%a %d %b %Y %H:%M}"
            what = f"{supply.ingredient!r} is there {shown}, after the last planned minute"
            entry.add(("ready",), what, "nothing that takes it can be planned: correct the time, or leave it out")
