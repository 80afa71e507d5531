"""Mixes as rows for a spreadsheet: plain numbers, figures at their least and most, nothing where none is known."""

import csv
import io
from collections.abc import Iterable, Iterator

from orchestrator.core.mix.figures import FIGURE_NAMES, Range
from orchestrator.core.views.mix import MixView


def mix_csv(views: Iterable[MixView], currency: str) -> str:
    """As CSV (RFC 4180), a line a recipe.

    Args:
        views: In the order of the lines.
        currency: Of every cost (ISO 4217); empty where the kitchen names none.
    """
    into = io.StringIO()
    csv.writer(into).writerows(_rows(views, currency))
    return into.getvalue()


def _rows(views: Iterable[MixView], currency: str) -> Iterator[list[str]]:
    figures = [f"{name}_{end}" for name in FIGURE_NAMES for end in ("least", "most")]
    yield [
        "recipe", "name", "revision", "weight_g", "mix_l_least", "mix_l_most", *figures, "freezes_c_least",
        "freezes_c_most", "overrun_least", "overrun_most", "cost", "currency", "unpriced",
        "missing",
    ]  # fmt: skip
    for view in views:
        out, found = view.out, {one.name: one.found for one in view.figures}
        if view.equivalent is not None:
            found["sucrose_equivalent"] = view.equivalent
        yield [
            _harmless(str(view.recipe.id)),
            _harmless(view.recipe.name),
            str(view.recipe.revision),
            f"{view.made.grams:.1f}" if out is not None else "",
            *_ends(out.mix_l if out is not None else None),
            *(cell for name in FIGURE_NAMES for cell in _ends(found.get(name))),
            *_ends(view.freezes),
            *_ends(out.overrun if out is not None else None),
            f"{view.made.cost:.2f}",
            currency,
            _harmless("; ".join(view.made.unpriced)),
            _harmless("; ".join(f"{one.name}: {one.lack.value}" for one in view.made.missing)),
        ]


def _ends(found: Range | None) -> tuple[str, str]:
    return ("", "") if found is None else (f"{found.low:.4f}", f"{found.high:.4f}")


def _harmless(cell: str) -> str:
    """Words that a spreadsheet would take for a formula are marked as text; numbers stay numbers."""
    return f"'{cell}" if cell[:1] in {"=", "+", "-", "@", "\t", "\r"} else cell
