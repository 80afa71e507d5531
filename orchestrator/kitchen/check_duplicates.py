"""Names that may be given once only."""

import re
from collections.abc import Sequence
from typing import Any

from orchestrator.kitchen.draft import Draft, Entry


def check_duplicates(draft: Draft) -> None:
    """Ids of one kind of thing differ; so do recipe codes, and no name can be taken for a lot code."""
    for entries, key in (
        (draft.stations, "id"),
        (draft.equipment, "id"),
        (draft.crew, "id"),
        (draft.probes, "id"),
        (draft.orders, "id"),
        (draft.stock, "lot"),
        (draft.supplies, "ingredient"),
        (draft.limits, "id"),
        (draft.cards, "id"),
        (draft.ingredients, "id"),
        (draft.prices, "ingredient"),
    ):
        _once(entries, key)
    for entries in (draft.stations, draft.equipment, draft.crew, draft.probes):
        _plain_ids(entries)
    _recipes(draft)
    _lines(draft)
    _step_ids(draft)
    _lot_codes(draft)


def _once(entries: Sequence[Entry[Any]], key: str) -> None:
    first: dict[str, Entry[Any]] = {}
    for entry in entries:
        name = entry.raw_text(key)
        if name is None:
            continue
        if name in first:
            line = first[name].document.fault((*first[name].path, key), "", "").line
            entry.add((key,), f"the {key} {name!r} is taken, on line {line}", "give each one a name of its own")
        else:
            first[name] = entry


def _plain_ids(entries: Sequence[Entry[Any]]) -> None:
    """Ids become parts of task names, topics and addresses."""
    for entry in entries:
        name = entry.raw_text("id")
        if name is not None and not re.fullmatch("[a-z0-9-]+", name):
            remedy = "use lower-case letters, digits and hyphens, like hob-1"
            entry.add(("id",), f"{name!r} cannot be the id", remedy)


def _lines(draft: Draft) -> None:
    """One line a product and order: tasks are named after both."""
    for order in draft.orders:
        lines = order.value.lines if order.value else ()
        for index, line in enumerate(lines):
            if line.product in [other.product for other in lines[:index]]:
                what = f"{line.product!r} stands on two lines of this order"
                order.add(("lines", index, "product"), what, "add them up on one line")


def _recipes(draft: Draft) -> None:
    ids: dict[str, str] = {}
    codes: dict[str, str] = {}
    for recipe in draft.recipes:
        file = recipe.document.file
        if recipe.id in ids:
            recipe.add(
                ("id",), f"the id {recipe.id!r} is taken, in {ids[recipe.id]}", "give each recipe an id of its own"
            )
        elif file != f"recipes/{recipe.id}.yaml":
            recipe.add(
                ("id",), f"the id {recipe.id!r} is not the name of its file", f"rename the file to {recipe.id}.yaml"
            )
        ids.setdefault(recipe.id, file)
        if recipe.code in codes:
            what = f"the code {recipe.code!r} is taken, in {codes[recipe.code]}"
            recipe.add(("code",), what, "give each recipe a code of its own: lot codes begin with it")
        elif recipe.code is not None:
            codes[recipe.code] = file


def _step_ids(draft: Draft) -> None:
    for recipe in draft.recipes:
        for index, step in enumerate(recipe.step_ids):
            if step is not None and step in recipe.step_ids[:index]:
                what = f"two steps have the id {step!r}"
                recipe.add(("steps", index, "id"), what, "give each step of a recipe an id of its own")


def _lot_codes(draft: Draft) -> None:
    """Lot codes are a recipe's code and a number; nothing else may look like one."""
    codes = {recipe.code: recipe.id for recipe in draft.recipes if recipe.code}
    for order in draft.orders:
        name = order.raw_text("id")
        match = re.fullmatch(r"([A-Z]{1,2})\d+", name or "")
        if match and match.group(1) in codes:
            what = f"the order {name!r} reads like a lot of {codes[match.group(1)]}"
            order.add(("id",), what, "choose a name that is no code with a number")
    for lot in draft.stock:
        if lot.value is None:
            continue
        name, recipe = str(lot.value.lot), str(lot.value.recipe)
        code = next((code for code, owner in codes.items() if owner == recipe), None)
        if code is not None and not re.fullmatch(rf"{re.escape(code)}\d+", name):
            lot.add(("lot",), f"{name!r} is no lot code of {recipe}", f"write its code and a number, like {code}1")
