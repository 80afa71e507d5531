"""Reads a kitchen's folder, or tells everything that is wrong with it."""

from pathlib import Path

from orchestrator.core.limits import with_aim
from orchestrator.core.models import Kitchen, Recipe
from orchestrator.core.models.buying import Buying
from orchestrator.core.models.label import LabelBook
from orchestrator.core.models.tongue import Texts, Ways
from orchestrator.core.supplies_now import with_what_is_left
from orchestrator.kitchen.checks import check_all
from orchestrator.kitchen.draft import Draft
from orchestrator.kitchen.faults import KitchenFaults
from orchestrator.kitchen.folder import read_folder
from orchestrator.kitchen.ingredients import known_ingredients
from orchestrator.kitchen.reckoning import with_reckoned_minutes
from orchestrator.kitchen.shipped import shipped_labels, shipped_texts


def read_kitchen(folder: Path) -> Kitchen:
    """The kitchen that a folder describes.

    Args:
        folder: Holds kitchen.yaml, equipment.yaml, crew.yaml, orders.yaml, recipes/, and if wanted
            probes.yaml, stock.yaml, supplies.yaml, limits.yaml, rescue.yaml, ingredients.yaml,
            allergens.yaml, labels.yaml, suppliers.yaml,
            notify.yaml, texts.es.yaml and texts.es/*.yaml.

    Returns:
        The kitchen; all instants aware, UTC.

    Raises:
        KitchenFaults: Everything that is wrong, at once.
    """
    draft = read_folder(Path(folder))
    check_all(draft)
    faults = draft.faults()
    if faults or draft.header is None:
        raise KitchenFaults(faults)
    kitchen = with_reckoned_minutes(_compose(draft), draft)
    if faults := draft.faults():
        raise KitchenFaults(faults)
    return kitchen


def _compose(draft: Draft) -> Kitchen:
    assert draft.header is not None  # checked by the caller
    header = draft.header
    kitchen = Kitchen(
        name=header.name,
        time_zone=header.time_zone,
        planning_start=header.planning_start,
        horizon_days=header.horizon_days,
        temperature_unit=header.temperature_unit,
        altitude_m=header.altitude_m,
        ways=Ways(language=header.language, clock=header.clock, amounts=header.amounts),
        stations=header.stations,
        equipment=tuple(entry.value for entry in draft.equipment if entry.value),
        crew=tuple(entry.value for entry in draft.crew if entry.value),
        probes=tuple(entry.value for entry in draft.probes if entry.value),
        mappings=tuple(entry.value for entry in draft.mappings if entry.value),
        recipes=tuple(_aimed(draft, entry.recipe) for entry in draft.recipes if entry.recipe),
        orders=tuple(entry.value for entry in draft.orders if entry.value),
        stock=tuple(entry.value for entry in draft.stock if entry.value),
        supplies=tuple(entry.value for entry in draft.supplies if entry.value),
        par_levels=header.par_levels,
        warnings=header.warnings,
        limits=tuple(draft.known_limits().values()),
        cards=draft.known_cards(),
        ingredients=known_ingredients(draft),
        currency=draft.currency,
        allergens=draft.known_allergens(),
        allergen_lists=header.allergen_lists,
        texts=(Texts(language="es", texts=shipped_texts() | draft.texts),),
        labels=_labels(draft),
        buying=Buying(
            suppliers=tuple(entry.value for entry in draft.suppliers if entry.value),
            ingredients=tuple(entry.value for entry in draft.bought if entry.value),
        ),
        calls=draft.calls.model_copy(update={"people": tuple(entry.value for entry in draft.callees if entry.value)}),
    )
    return with_what_is_left(kitchen)


def _labels(draft: Draft) -> LabelBook:
    """What is shipped, with the kitchen's own sheets and template in its place; products are a kitchen's own."""
    shipped = shipped_labels()
    own = {entry.value.id: entry.value for entry in draft.sheets if entry.value is not None}
    sheets = tuple(({one.id: one for one in shipped.sheets} | own).values())
    products = tuple(entry.value for entry in draft.products if entry.value is not None)
    template = draft.template or shipped.template
    return LabelBook(sheets=sheets, template=template, languages=draft.label_languages, products=products)


def _aimed(draft: Draft, recipe: Recipe) -> Recipe:
    """The recipe with a target for each step that has a limit only."""
    unit = draft.header.temperature_unit if draft.header is not None else "C"
    steps = tuple(with_aim(step, draft.known_limits(), unit) for step in recipe.steps)
    return recipe if steps == recipe.steps else recipe.model_copy(update={"steps": steps})


def check_summary(kitchen: Kitchen) -> dict[str, int]:
    """What was read, counted, in the order in which people ask for it.

    Args:
        kitchen: A kitchen without faults.

    Returns:
        Counts by what they count, such as ``{"stations": 3, "equipment": 13, ...}``.
    """
    return {
        "stations": len(kitchen.stations),
        "equipment": len(kitchen.equipment),
        "crew": len(kitchen.crew),
        "shifts": sum(len(member.shifts) for member in kitchen.crew),
        "probes": len(kitchen.probes),
        "mappings": len(kitchen.mappings),
        "products": sum(recipe.makes == "product" for recipe in kitchen.recipes),
        "components": sum(recipe.makes == "component" for recipe in kitchen.recipes),
        "steps": sum(len(recipe.steps) for recipe in kitchen.recipes),
        "orders": len(kitchen.orders),
        "order lines": sum(len(order.lines) for order in kitchen.orders),
        "lots on hand": len(kitchen.stock),
        "limits": len(kitchen.limits),
        "people to call": len(kitchen.calls.people),
    }
