"""Every text of a kitchen's files that people read: what a translation may be of."""

from collections.abc import Iterator

from orchestrator.core.models import Kitchen, Recipe
from orchestrator.core.models.allergen import AllergenList
from orchestrator.core.models.limit import Limit
from orchestrator.core.models.rescue import RescueCard


def texts_of(kitchen: Kitchen) -> tuple[str, ...]:
    """Each once, in the order of the files; ids, codes and sources of limits are not among them."""
    found = [
        *(one.name for one in kitchen.stations),
        *(one.name for one in kitchen.equipment),
        *(one.name for one in kitchen.crew),
        *(one.name for one in kitchen.probes),
        *(kind for machine in kitchen.equipment for kind in _of_machine(machine.kind, machine.cautions)),
        *(stop.why for machine in kitchen.equipment for stop in machine.maintenance),
        *(skill for member in kitchen.crew for skill in member.skills),
        *(text for recipe in kitchen.recipes for text in _of_recipe(recipe)),
        *(row.name for row in kitchen.ingredients),
        *(text for limit in kitchen.limits for text in _of_limit(limit)),
        *(text for card in kitchen.cards for text in _of_card(card)),
        *(word for one in kitchen.allergens for word in _of_allergens(one)),
        *kitchen.labels.template,
        *(product.storage for product in kitchen.labels.products),
        *(sheet.title for sheet in kitchen.labels.sheets),
    ]
    return tuple(dict.fromkeys(text for text in found if text and not text.startswith("{") and text != "# {name}"))


def names_of(kitchen: Kitchen) -> tuple[str, ...]:
    """Names that may be translated and need not be: the kitchen's own, and those of customers."""
    return tuple(dict.fromkeys([kitchen.name, *(order.customer for order in kitchen.orders)]))


def _of_machine(kind: str, cautions: tuple[str, ...]) -> Iterator[str]:
    yield kind
    yield from cautions


def _of_recipe(recipe: Recipe) -> Iterator[str]:
    yield recipe.name
    for step in recipe.steps:
        yield step.title
        yield step.process
        yield from step.method
        yield from step.cautions
        yield from (gate.says for gate in step.gates)
        yield from (take.ingredient for take in step.takes if take.ingredient is not None)


def _of_allergens(one: AllergenList) -> Iterator[str]:
    yield one.title
    for group in one.groups:
        yield group.group
        yield from group.words


def _of_limit(limit: Limit) -> Iterator[str]:
    yield limit.title
    yield limit.caution


def _of_card(card: RescueCard) -> Iterator[str]:
    yield card.title
    yield from card.look_for
    yield from card.helps
    yield from card.discard_when
    yield from card.cautions
