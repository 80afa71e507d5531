"""Allergens under one name each: clean-downs compare them word by word, and lists of laws know them by it."""

import difflib
from typing import Final

from orchestrator.core.models.allergen import AllergenList
from orchestrator.kitchen.documents import Path_
from orchestrator.kitchen.draft import Draft, RecipeDraft
from orchestrator.kitchen.faults import one_of

TOO_WIDE: Final = {
    "nut": ("tree nut", "nut"),
    "tree nut": ("tree nut", "nut"),
    "gluten": ("gluten",),
    "cereal": ("gluten",),
    "fish": ("fish",),
    "crustacean": ("crustacean shellfish",),
    "shellfish": ("crustacean shellfish", "crustacean", "mollusc"),
}
"""Names of groups, and the groups that they may stand for; plurals as well."""


def check_allergens(draft: Draft) -> None:
    """Allergens are written in lower case, by kind where a law asks for the kind, and none differs from another or
    from a word of the lists by a slip only."""
    printed = draft.header.allergen_lists if draft.header is not None else ()
    known = {one.id: one for one in draft.known_allergens()}
    _unknown_lists(draft, printed, set(known))
    lists = [known[name] for name in printed if name in known]
    listed = {word: one.title for one in lists for group in one.groups for word in group.words}
    first: dict[str, str] = {}
    for recipe in draft.recipes:
        for where, name in _written(recipe):
            if name != name.strip().lower() or not name.strip():
                recipe.add(
                    where, f"the allergen {name!r} is not in lower case", f"write {name.strip().lower() or 'milk'}"
                )
                continue
            unnamed = _kinds(lists, name)
            if unnamed:
                what = f"the allergen {name!r} does not say which: a law whose list is printed asks for the kind"
                recipe.add(where, what, f"write what it is, such as {', '.join(unnamed[:3])}")
                continue
            slip = _slip(name, listed, first)
            if slip:
                recipe.add(where, *slip)
            first.setdefault(name, recipe.document.file)
    for entry in draft.stock:
        for position, name in enumerate(entry.value.allergens if entry.value is not None else ()):
            slip = _slip(name, listed, first)
            if slip:
                entry.add(("allergens", position), *slip)


def _unknown_lists(draft: Draft, printed: tuple[str, ...], known: set[str]) -> None:
    document = next((one for one in draft.documents if one.file == "kitchen.yaml"), None)
    for position, name in enumerate(printed):
        if name not in known and document is not None:
            what = f"there is no list of allergens {name!r}"
            document.add(("allergen_lists", position), what, one_of(known, name))


def _slip(name: str, listed: dict[str, str], first: dict[str, str]) -> tuple[str, str] | None:
    """A fault and its remedy for a word that is nearly another one."""
    if name in listed or name in first:
        return None
    near = [other for other in difflib.get_close_matches(name, first, cutoff=0.85) if other != name]
    if near:
        what = f"the allergen {name!r} looks like {near[0]!r}, in {first[near[0]]}"
        return what, "write one allergen in one way: clean-downs compare the words"
    near = difflib.get_close_matches(name, listed, n=1, cutoff=0.85)
    if near:
        return f"the allergen {name!r} looks like {near[0]!r}, which is on a list", f"write {near[0]}"
    return None


def _kinds(lists: list[AllergenList], name: str) -> list[str]:
    """Words to choose from where a name stands for a whole group that must be named by kind; else none."""
    groups = TOO_WIDE.get(name, TOO_WIDE.get(name.removesuffix("s"), ()))
    asking = [group for one in lists for group in one.groups if group.by_kind and group.group in groups]
    return [word for group in asking[:1] for word in group.words]


def _written(recipe: RecipeDraft) -> list[tuple[Path_, str]]:
    found: list[tuple[Path_, str]] = [
        (("steps", index, "takes", number, "allergens", position), name)
        for index, step in recipe.steps.items()
        for number, take in enumerate(step.takes)
        for position, name in enumerate(take.allergens)
    ]
    found += [
        (("steps", index, "leaves", number, "allergens", position), name)
        for index, step in recipe.steps.items()
        for number, leave in enumerate(step.leaves)
        for position, name in enumerate(leave.allergens)
    ]
    own = recipe.recipe.allergens if recipe.recipe is not None else ()
    return [((("allergens", position)), name) for position, name in enumerate(own)] + found
