"""Temperatures that can be reached: targets below their ceilings, gates that have something to look at."""

from orchestrator.core.models import Step
from orchestrator.kitchen.check_windows import in_words
from orchestrator.kitchen.folder import Draft, RecipeDraft


def check_temperatures(draft: Draft) -> None:
    """Every target can be met, and every gate has a temperature to be judged by."""
    for recipe in draft.recipes:
        for index, step in recipe.steps.items():
            _target(recipe, index, step)
            for number, gate in enumerate(step.gates):
                if gate.of == "equipment" and step.equipment is None:
                    what = f"a gate asks for the temperature of equipment, but {step.id!r} uses none"
                    remedy = "add `equipment: ...` to the step, or write `of: before`"
                    recipe.add(("steps", index, "gates", number, "of"), what, remedy)


def _target(recipe: RecipeDraft, index: int, step: Step) -> None:
    target = step.target
    if target is None:
        return
    where = ("steps", index, "target")
    if target.ceiling is not None and target.at_least is not None and target.ceiling < target.at_least:
        what = f"the ceiling, {target.ceiling:g} °C, lies below the target, {target.at_least:g} °C"
        recipe.add((*where, "ceiling"), what, "raise the ceiling, or lower at_least")
    if step.duration is not None and target.hold > step.duration.longest:
        what = f"the target is held for {in_words(target.hold)}, longer than {step.id!r} ever lasts"
        recipe.add(
            (*where, "hold"), what, f"hold it for {in_words(step.duration.longest)} at most, or lengthen the step"
        )
