"""Labels that can be printed: products that are there, placeholders that mean something."""

import string
from typing import Final

from orchestrator.kitchen.draft import Draft
from orchestrator.kitchen.faults import one_of

PLACEHOLDERS: Final = (
    "name",
    "lot",
    "made",
    "use_by",
    "best_before",
    "contains",
    "also",
    "storage",
    "net",
    "kitchen",
    "code",
)
"""What a label's template may ask for."""


def check_labels(draft: Draft) -> None:
    """Every product is one that a recipe makes, and every placeholder of the template is known."""
    names = {recipe.id for recipe in draft.recipes}
    for entry in draft.products:
        if entry.value is not None and entry.value.recipe not in names:
            entry.add(("recipe",), f"there is no recipe {entry.value.recipe!r}", one_of(names, entry.value.recipe))
    document = next((one for one in draft.documents if one.file == "labels.yaml"), None)
    for number, line in enumerate(draft.template if document is not None else ()):
        where = ("template", number)
        try:
            asked = [name for _, name, _, _ in string.Formatter().parse(line) if name is not None]
        except ValueError:
            document.add(where, f"a brace is not closed in {line!r}", "write placeholders like {lot}")  # type: ignore[union-attr]
            continue
        for name in asked:
            if name not in PLACEHOLDERS:
                document.add(where, f"unknown placeholder {name!r}", one_of(PLACEHOLDERS, name))  # type: ignore[union-attr]
