"""Temperatures that can be reached: below their ceilings and what boiling allows; gates with something to look at."""

from typing import Final

from orchestrator.core.models import Process, Step
from orchestrator.kitchen.check_windows import in_words
from orchestrator.kitchen.draft import Draft, RecipeDraft
from orchestrator.thermal.boiling import boiling_point_c

_BOILED: Final = {Process.BLANCH, Process.COOK, Process.SIMMER, Process.REDUCE}
_SUGAR_C: Final = 3.0
"""So much hotter than water a sweet base or puree may boil. Common practice, no source."""


def check_temperatures(draft: Draft) -> None:
    """Every target can be met, and every gate has a temperature to be judged by."""
    for recipe in draft.recipes:
        for index, step in recipe.steps.items():
            _target(recipe, index, step)
            if draft.header is not None:
                _boiling(recipe, index, step, draft.header.altitude_m)
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


def _boiling(recipe: RecipeDraft, index: int, step: Step, altitude_m: float) -> None:
    """A pan gets no hotter than its water boils: by altitude (see `boiling_point_c`), and a little more for sugar."""
    if step.process not in _BOILED or step.target is None or step.target.at_least is None:
        return
    hottest_c = boiling_point_c(altitude_m) + _SUGAR_C
    if step.target.at_least > hottest_c:
        what = f"the target, {step.target.at_least:g} °C, is never reached: at {altitude_m:g} m water boils at "
        what += f"{boiling_point_c(altitude_m):.1f} °C, and sugar adds a few degrees"
        remedy = f"ask for {hottest_c:.1f} °C at most, or put altitude_m right in kitchen.yaml"
        recipe.add(("steps", index, "target", "at_least"), what, remedy)
