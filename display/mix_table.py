"""Mixes as rows for a spreadsheet: plain numbers, figures at their least and most, nothing where none is known."""

from collections.abc import Iterable, Iterator
from typing import Final

from orchestrator.core.mix.figures import FIGURE_NAMES, Range
from orchestrator.core.views.mix import MixView

COLUMNS: Final = (
    "recipe", "name", "revision", "weight_g", "mix_l_least", "mix_l_most",
    *(f"{name}_{end}" for name in FIGURE_NAMES for end in ("least", "most")),
    "freezes_c_least", "freezes_c_most", "overrun_least", "overrun_most", "cost", "currency", "unpriced", "missing",
)  # fmt: skip


def mix_rows(views: Iterable[MixView], currency: str) -> Iterator[list[str]]:
    """A row a recipe, under `COLUMNS`.

    Args:
        views: In the order of the rows.
        currency: Of every cost (ISO 4217); empty where the kitchen names none.
    """
    for view in views:
        out, found = view.out, {one.name: one.found for one in view.figures}
        if view.equivalent is not None:
            found["sucrose_equivalent"] = view.equivalent
        yield [
            str(view.recipe.id),
            view.recipe.name,
            str(view.recipe.revision),
            f"{view.made.grams:.1f}" if out is not None else "",
            *_ends(out.mix_l if out is not None else None),
            *(cell for name in FIGURE_NAMES for cell in _ends(found.get(name))),
            *_ends(view.freezes),
            *_ends(out.overrun if out is not None else None),
            f"{view.made.cost:.2f}",
            currency,
            "; ".join(view.made.unpriced),
            "; ".join(f"{one.name}: {one.lack.value}" for one in view.made.missing),
        ]


def _ends(found: Range | None) -> tuple[str, str]:
    return ("", "") if found is None else (f"{found.low:.4f}", f"{found.high:.4f}")
