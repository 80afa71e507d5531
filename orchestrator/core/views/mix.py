"""Mixes for the screens: figures with usual ranges, ice, standards, work. Loads numpy: imported by its page alone."""

from dataclasses import dataclass
from typing import Final

from orchestrator.core.mix.book import Book, book_of
from orchestrator.core.mix.composition import Composition, Line, composition
from orchestrator.core.mix.standards import Standard, standard
from orchestrator.core.mix.usual import SCOOP_C, SCOOP_ICE, Usual, usual
from orchestrator.core.mix.work import Work, drawn_at, work_of
from orchestrator.core.mix.yields import Yields, yields
from orchestrator.core.models import Kitchen, LimitKind, Process, Recipe
from orchestrator.core.models.ingredient import Ingredient
from orchestrator.core.state import State
from orchestrator.thermal.mix import FIGURES, Range
from orchestrator.thermal.mix_freezing import freezing_range_c, frozen_range, ice_curve

COLDEST_C: Final = -25.0
_STEPS: Final = 100

SHOWN: Final = tuple(name for name in FIGURES if name != "sucrose_equivalent")
"""Figures in 100 g of mix."""
STORED_C: Final = -18.0
"""Where no limit says how cold it is stored. Source: Codex CXC 8-1976 (from memory)."""


@dataclass(frozen=True, slots=True, eq=False)
class MixLine:
    """One line of the recipe beside its row of the table."""

    line: Line
    ingredient: Ingredient | None
    percent: float | None
    """Of all that is weighed in."""


@dataclass(frozen=True, slots=True)
class FigureLine:
    """One figure."""

    name: str
    found: Range
    usual: Usual | None
    mark: str
    """``below``, ``above``, ``within``, ``open``; empty without a range."""


@dataclass(frozen=True, slots=True)
class IceMark:
    """How much is ice where something happens."""

    name: str
    """``draw``, ``scoop``, ``core`` or ``store``."""
    celsius: float
    ice: Range
    from_recipe: bool
    """Whether the recipe or its limit says so; else it is common practice."""


@dataclass(frozen=True, slots=True, eq=False)
class MixView:
    """A recipe's mix."""

    recipe: Recipe
    made: Composition
    lines: tuple[MixLine, ...]
    figures: tuple[FigureLine, ...]
    equivalent: Range | None
    """Sucrose equivalents in 100 g of water."""
    out: Yields | None
    freezes: Range | None
    curve: tuple[tuple[float, float, float], ...]
    marks: tuple[IceMark, ...]
    frozen: bool
    """Whether it is churned or hardened: only then is ice of interest, and what is usual."""
    standard: Standard | None
    work: tuple[Work, ...]
    baked: bool
    """Whether it is baked: the figures are those of the batter."""


def mix_views(state: State) -> tuple[MixView, ...]:
    """Of every recipe; none before there is a kitchen."""
    if state.kitchen is None:
        return ()
    book = book_of(state.kitchen)
    return tuple(mix_view(recipe, state.kitchen, book) for recipe in state.kitchen.recipes)


def mix_view(recipe: Recipe, kitchen: Kitchen, book: Book, scale: float = 1.0) -> MixView:
    """Of one recipe, at so many times its amounts."""
    made = composition(recipe, book, scale)
    out = yields(made)
    frozen = any(step.process in (Process.CHURN, Process.HARDEN) for step in recipe.steps)
    ranges = usual(made) if frozen and out is not None else {}
    figures = []
    for name in SHOWN if out is not None else ():
        found, range_ = FIGURES[name].of(made.mixed), ranges.get(name)
        figures.append(FigureLine(name, found, range_, range_.mark(found) if range_ is not None else ""))
    weighed = sum(line.grams or 0.0 for line in made.lines)
    lines = tuple(
        MixLine(line, book.ingredient(line.name) if line.component is None else None, _percent(line, weighed, made))
        for line in made.lines
    )
    return MixView(
        recipe=recipe,
        made=made,
        lines=lines,
        figures=tuple(figures),
        equivalent=FIGURES["sucrose_equivalent"].of(made.mixed) if out is not None else None,
        out=out,
        freezes=freezing_range_c(made.mixed) if out is not None else None,
        curve=ice_curve(made.mixed, COLDEST_C, _STEPS) if out is not None and frozen else (),
        marks=_marks(recipe, kitchen, made) if out is not None and frozen else (),
        frozen=frozen,
        standard=standard(made, out),
        work=work_of(recipe, kitchen, book, scale),
        baked=any(step.process is Process.BAKE for step in recipe.steps),
    )


def _percent(line: Line, weighed: float, made: Composition) -> float | None:
    return 100.0 * line.grams / weighed if made.weighed and line.grams is not None and weighed > 0 else None


def _marks(recipe: Recipe, kitchen: Kitchen, made: Composition) -> tuple[IceMark, ...]:
    """Where it is drawn, scooped, hardened to and stored, from the warmest."""
    core = next((s.target.at_most for s in recipe.steps if s.process is Process.HARDEN and s.target is not None), None)
    kept = (_stored(kitchen, step.limit.id) for step in recipe.steps if step.limit is not None)
    stored = next((celsius for celsius in kept if celsius is not None), None)
    drawn = any(step.process is Process.CHURN and step.limit is not None for step in recipe.steps)
    places: list[tuple[str, float, bool]] = [
        ("draw", drawn_at(recipe, kitchen), drawn),
        ("scoop", SCOOP_C, False),
        ("store", STORED_C if stored is None else stored, stored is not None),
    ]
    if core is not None:
        places.append(("core", core, True))
    found = []
    for name, celsius, said in sorted(places, key=lambda place: -place[1]):
        ice = frozen_range(made.mixed, celsius)
        if ice is not None:
            found.append(IceMark(name, celsius, ice, said))
    return tuple(found)


def _stored(kitchen: Kitchen, limit: object) -> float | None:
    """The coldest that a limit of keeping frozen food asks for."""
    known = next((one for one in kitchen.limits if one.id == limit), None)
    if known is None or known.kind is not LimitKind.KEEP:
        return None
    asked = [row.at_most.celsius for row in known.rows if row.at_most is not None and row.at_most.celsius < 0.0]
    return min(asked, default=None)


__all__ = ["COLDEST_C", "SCOOP_ICE", "FigureLine", "IceMark", "MixLine", "MixView", "mix_view", "mix_views"]
