"""One recipe as YAML: read and checked as if it stood in the folder of the kitchen in use, and written."""

from collections.abc import Mapping
from typing import Any, Final
from zoneinfo import ZoneInfo

from orchestrator.core.ids import RecipeId
from orchestrator.core.limits import with_aim
from orchestrator.core.models import Kitchen, Recipe, Step
from orchestrator.core.models.recipe_text import RecipeFault, RecipeRead
from orchestrator.core.worked_out import worked_out
from orchestrator.kitchen.check_allergens import check_allergens
from orchestrator.kitchen.check_capacity import check_batches, check_runs
from orchestrator.kitchen.check_crew import check_attended
from orchestrator.kitchen.check_cycles import check_component_cycles, check_step_cycles
from orchestrator.kitchen.check_duplicates import check_duplicates
from orchestrator.kitchen.check_limits import check_limits
from orchestrator.kitchen.check_names import check_order_names, check_step_names
from orchestrator.kitchen.check_steps import check_steps
from orchestrator.kitchen.check_temperatures import check_temperatures
from orchestrator.kitchen.check_units import check_order_units, check_recipe_units
from orchestrator.kitchen.check_windows import check_windows
from orchestrator.kitchen.documents import Document, document_of
from orchestrator.kitchen.draft import Draft, Entry, RecipeDraft
from orchestrator.kitchen.faults import Fault
from orchestrator.kitchen.files import KitchenFile
from orchestrator.kitchen.folder import recipe_draft
from orchestrator.kitchen.recipe_yaml import as_yaml, recipe_data

_CHECKS: Final = (
    check_duplicates,
    check_step_names,
    check_order_names,
    check_step_cycles,
    check_component_cycles,
    check_steps,
    check_temperatures,
    check_limits,
    check_allergens,
    check_recipe_units,
    check_order_units,
    check_batches,
    check_runs,
    check_windows,
    check_attended,
)
"""What a recipe can break; the rest of a kitchen does not change by it."""


class YamlRecipes:
    """Implements `ports.recipes.RecipeTexts`."""

    def read(self, text: str, kitchen: Kitchen, of: RecipeId | None) -> RecipeRead:
        """What a text says; see the port."""
        document = document_of("recipes/new.yaml", text)
        data = document.data if isinstance(document.data, dict) else {}
        name = data.get("id") if isinstance(data.get("id"), str) else None
        document.file = f"recipes/{name or 'new'}.yaml"
        if not document.readable:
            return RecipeRead(recipe=None, data=data, faults=_told(document, ()))
        zone = ZoneInfo(kitchen.time_zone)
        before = _faults_of(_draft(kitchen, of=None))
        draft = _draft(kitchen, of=of)
        mine = recipe_draft(document, str(name or "new"), zone)
        draft.recipes.append(mine)
        draft.documents.append(document)
        if of is not None and name is not None and name != of:
            document.add(("id",), f"the id would be {name!r}", f"keep {of}, or write it as a recipe of its own")
        elsewhere = [fault for fault in _faults_of(draft) if fault not in before and fault.file != document.file]
        faults = _told(document, elsewhere)
        recipe = None if faults or mine.recipe is None else _numbered(kitchen, mine.recipe, of)
        return RecipeRead(recipe=recipe, data=data, faults=faults)

    def write(self, recipe: Recipe, kitchen: Kitchen) -> str:
        """A recipe as YAML."""
        limits = {str(limit.id): limit for limit in kitchen.limits}
        steps = tuple(_without_aim(step, limits, kitchen) for step in recipe.steps)
        return as_yaml(recipe_data(recipe.model_copy(update={"steps": steps})))

    def write_data(self, data: Mapping[str, Any]) -> str:
        """Plain data as YAML."""
        return as_yaml(data)


def _numbered(kitchen: Kitchen, recipe: Recipe, of: RecipeId | None) -> Recipe:
    """With what the kitchen gives it, targets and minutes, and the number that it would get."""
    present = next((one.revision for one in kitchen.recipes if one.id == of), 0)
    return worked_out(recipe, kitchen).model_copy(update={"revision": present + 1})


def _without_aim(step: Step, limits: dict[str, Any], kitchen: Kitchen) -> Step:
    """Without the target that its limit gives it anyway."""
    if step.limit is None or step.target is None:
        return step
    bare = step.model_copy(update={"target": None})
    return bare if with_aim(bare, limits, kitchen.temperature_unit).target == step.target else step


def _faults_of(draft: Draft) -> set[Fault]:
    for check in _CHECKS:
        check(draft)
    return set(draft.faults())


def _told(document: Document, elsewhere: Any) -> tuple[RecipeFault, ...]:
    at = {place: path for path, place in document.places.items()}
    own = [
        RecipeFault(line=f.line, column=f.column, where=at.get((f.line, f.column), ()), what=f.what, remedy=f.remedy)
        for f in sorted(set(document.faults))
    ]
    others = [
        RecipeFault(line=0, column=0, what=f"{fault.file.removeprefix('in use/')}: {fault.what}", remedy=fault.remedy)
        for fault in sorted(elsewhere)
    ]
    return (*own, *others)


def _draft(kitchen: Kitchen, of: RecipeId | None) -> Draft:
    """The kitchen in use as if it had just been read, but for the recipe that is written anew."""
    document = Document("in use", readable=True)
    draft = Draft(zone=ZoneInfo(kitchen.time_zone), documents=[document])
    draft.header = KitchenFile.model_construct(
        name=kitchen.name,
        time_zone=kitchen.time_zone,
        planning_start=kitchen.planning_start,
        horizon_days=kitchen.horizon_days,
        temperature_unit=kitchen.temperature_unit,
        altitude_m=kitchen.altitude_m,
        stations=kitchen.stations,
        allergen_lists=kitchen.allergen_lists,
    )
    for key in ("stations", "equipment", "crew", "probes", "orders", "stock", "supplies", "limits", "allergens"):
        entries = [
            Entry(document, (key, index), one.model_dump(mode="json"), one)
            for index, one in enumerate(getattr(kitchen, key))
        ]
        setattr(draft, key, entries)
        draft.listed.add(key)
    draft.recipes = [_known(recipe) for recipe in kitchen.recipes if recipe.id != of]
    draft.documents += [one.document for one in draft.recipes]
    return draft


def _known(recipe: Recipe) -> RecipeDraft:
    return RecipeDraft(
        Document(f"recipes/{recipe.id}.yaml", readable=True),
        recipe.id,
        recipe,
        recipe.makes,
        recipe.code,
        recipe.yields,
        recipe.batch,
        dict(enumerate(recipe.steps)),
        tuple(str(step.id) for step in recipe.steps),
    )
