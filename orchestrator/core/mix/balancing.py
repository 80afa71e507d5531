"""Balancing a recipe's own lines: a proposal beside the recipe, which stays as it is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import orchestrator.thermal.mix_balance as solver
from orchestrator.core.mix.book import Book
from orchestrator.core.mix.composition import Composition
from orchestrator.core.quantities import Quantity
from orchestrator.thermal.mix import FIGURES, Parts, Range
from orchestrator.thermal.mix_balance import Wanted

PRICES: Final = {"freely": 1.0, "rather not": 4.0}
"""What a gram's change counts."""
STAYS: Final = "stays"


@dataclass(frozen=True, slots=True)
class Changed:
    """One line, before and after."""

    name: str
    before_g: float
    after_g: float
    after: Quantity | None
    """In the unit in which the recipe writes it; nothing of what is added anew."""


@dataclass(frozen=True, slots=True)
class Told:
    """One figure, before and after."""

    figure: str
    before: Range
    after: Range
    wanted: Wanted | None


@dataclass(frozen=True, slots=True)
class Proposal:
    """What balancing found."""

    found: bool
    lines: tuple[Changed, ...]
    """Of the least change; where there is none, of what misses the ranges least."""
    figures: tuple[Told, ...]
    conflict: tuple[Wanted, ...] = ()
    """Ranges that cannot be had together; each of them is needed for that."""
    weight_conflicts: bool = False

    @property
    def moved_g(self) -> float:
        """Grams added and taken away."""
        return sum(abs(line.after_g - line.before_g) for line in self.lines)


class NotBalanced(ValueError):
    """It cannot be tried at all; the message is one of `REASONS`."""


REASONS: Final = ("not weighed", "nothing may change", "no ranges")


def balanced(
    made: Composition,
    book: Book,
    wanted: Sequence[Wanted],
    *,
    may: Mapping[int, str],
    adding: Sequence[str] = (),
    same_weight: bool = True,
) -> Proposal:
    """The least change of a mix that brings its figures into ranges.

    Args:
        made: The composition.
        book: Where what is added is looked up.
        wanted: Ranges of `FIGURES`.
        may: By the number of a line: ``freely``, ``rather not`` or ``stays``; a line left out stays.
        adding: Names of ingredients that may be added; unknown ones are passed over.
        same_weight: Whether the mix keeps its weight.

    Raises:
        NotBalanced: A line has no weight, nothing may change, or no range is given.
    """
    if not made.weighed:
        raise NotBalanced(REASONS[0])
    if not wanted:
        raise NotBalanced(REASONS[2])
    numbers = [at for at, line in enumerate(made.lines) if not line.later]
    fresh = [found for name in adding if (found := book.ingredient(name)) is not None]
    manners = [may.get(at, STAYS) for at in numbers] + ["freely"] * len(fresh)
    if all(manner == STAYS for manner in manners):
        raise NotBalanced(REASONS[1])
    lines = [made.lines[at] for at in numbers]
    now = [line.grams or 0.0 for line in lines] + [0.0] * len(fresh)
    rows = [line.per_gram for line in lines] + [book.rows[one.id] for one in fresh]
    pot = _pot(now, rows, manners, same_weight)
    answer = solver.balance(pot, wanted)
    grams = answer.grams if answer.grams is not None else answer.nearest
    after = [float(value) for value in grams] if grams is not None else now
    names = [line.name for line in lines] + [one.name for one in fresh]
    amounts = [line.amount for line in lines] + [None] * len(fresh)
    changed = [_changed(*one) for one in zip(names, now, after, amounts, strict=True)]
    return Proposal(
        found=answer.grams is not None,
        lines=tuple(line for line in changed if line.before_g or line.after_g > 0.05),
        figures=_figures(pot, now, after, wanted),
        conflict=tuple(wanted[number] for number in answer.conflict),
        weight_conflicts=answer.weight_conflicts,
    )


def _pot(now: Sequence[float], rows: Sequence[Parts], manners: Sequence[str], same_weight: bool) -> solver.Pot:
    most = 4.0 * sum(now)
    return solver.pot(
        grams=now,
        rows=rows,
        least=[grams if manner == STAYS else 0.0 for grams, manner in zip(now, manners, strict=True)],
        most=[grams if manner == STAYS else most for grams, manner in zip(now, manners, strict=True)],
        price=[PRICES.get(manner, 1.0) for manner in manners],
        same_weight=same_weight,
    )


def _changed(name: str, before: float, after: float, amount: Quantity | None) -> Changed:
    return Changed(name, before, after, amount.times(after / before) if amount is not None and before > 0 else None)


def _figures(
    pot: solver.Pot, before: Sequence[float], after: Sequence[float], wanted: Sequence[Wanted]
) -> tuple[Told, ...]:
    asked = {one.figure: one for one in wanted}
    old, new = solver.mixed(pot, before), solver.mixed(pot, after)
    return tuple(Told(name, ratio.of(old), ratio.of(new), asked.get(name)) for name, ratio in FIGURES.items())
