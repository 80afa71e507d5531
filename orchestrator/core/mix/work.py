"""What the mix asks of the kitchen's work: ice for a chill, water to drive off, hardening by tub."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from orchestrator.core.ids import StepId
from orchestrator.core.mix.book import Book, book_of
from orchestrator.core.mix.composition import Composition, composition
from orchestrator.core.mix.yields import yields
from orchestrator.core.models import Duration, Equipment, Kitchen, LimitKind, Process, Recipe, Step
from orchestrator.core.models.recipe import LOSES_WATER
from orchestrator.thermal.boiling import boiling_point_c
from orchestrator.thermal.hardening import hardening_min
from orchestrator.thermal.mix import FIGURES, heat_capacity_kj_per_kg_k, weight_g
from orchestrator.thermal.mix_freezing import frozen_range
from orchestrator.thermal.mix_work import ice_kg

TUBS_MM: Final = (80, 100, 120, 150)
"""Least dimension of tubs that a small kitchen has; common practice."""
DRAWN_C: Final = -6.0
"""Where no limit says how cold it is drawn: the middle of what Goff prints, 2015."""
BLAST_C: Final = -30.0
"""Where no machine says how cold its air is; common practice."""
ROOM_C: Final = 20.0
HEATED: Final = frozenset({Process.SIMMER, Process.REDUCE, Process.BLANCH, Process.COOK, Process.ROAST})
COOLED: Final = frozenset({Process.CHILL, Process.SHOCK})


@dataclass(frozen=True, slots=True)
class Chill:
    """Ice that a chill melts."""

    step: Step
    food_kg: float
    from_c: float
    begins: Literal["target", "boiling", "room"]
    """Where that temperature is taken from."""
    to_c: float
    ice_kg: float


@dataclass(frozen=True, slots=True)
class DrivenOff:
    """Water that a step drives off."""

    step: Step
    before_kg: float
    off_kg: float

    @property
    def left_kg(self) -> float:
        """What the pot weighs when it is done, without the pot."""
        return self.before_kg - self.off_kg


@dataclass(frozen=True, slots=True)
class Hardening:
    """Minutes to the core, by the tub's least dimension."""

    step: Step
    air_c: float
    air_known: bool
    drawn_c: float
    core_c: float
    load_share: float
    by_tub: tuple[tuple[float, float], ...]
    """Millimetres and minutes."""


Work = Chill | DrivenOff | Hardening


def work_of(recipe: Recipe, kitchen: Kitchen, book: Book, scale: float = 1.0) -> tuple[Work, ...]:
    """Of every step that cools, loses water or hardens, in the recipe's order, as far as its mix is known."""
    return tuple(found for at, _ in enumerate(recipe.steps) for found in _step(recipe, at, kitchen, book, scale))


def chill_of(recipe: Recipe, step: StepId, kitchen: Kitchen, scale: float) -> Chill | None:
    """Ice that one step melts in a batch of that scale; nothing where it does not cool, or its mix is not known."""
    at = next((index for index, one in enumerate(recipe.steps) if one.id == step), None)
    if at is None or recipe.steps[at].process not in COOLED:
        return None
    found = _step(recipe, at, kitchen, book_of(kitchen), scale)
    return next((one for one in found if isinstance(one, Chill)), None)


def _step(recipe: Recipe, at: int, kitchen: Kitchen, book: Book, scale: float) -> Iterator[Work]:
    step = recipe.steps[at]
    if step.process not in COOLED | LOSES_WATER | {Process.HARDEN}:
        return
    made = composition(recipe.model_copy(update={"steps": recipe.steps[: at + 1]}), book, scale)
    if not made.weighed:
        return
    if step.process in COOLED and step.target is not None and step.target.at_most is not None:
        yield _chill(recipe, at, made, kitchen.altitude_m, step.target.at_most)
    if made.reductions and made.reductions[-1].step == step.id:
        last = made.reductions[-1]
        yield DrivenOff(step, last.before_g / 1000.0, last.off_g / 1000.0)
    if step.process is Process.HARDEN:
        found = hardening(recipe, step, made, kitchen, TUBS_MM)
        if found is not None:
            yield found


def _chill(recipe: Recipe, at: int, made: Composition, altitude_m: float, to_c: float) -> Chill:
    from_c, begins = _warm_from(recipe, at, altitude_m)
    kg = weight_g(made.mixed) / 1000.0
    ice = ice_kg(kg, heat_capacity_kj_per_kg_k(made.mixed), max(from_c, to_c), to_c)
    return Chill(recipe.steps[at], kg, from_c, begins, to_c, ice)


def _warm_from(recipe: Recipe, at: int, altitude_m: float) -> tuple[float, Literal["target", "boiling", "room"]]:
    """How warm the food comes to a step: by the target of the last step that heats, else as hot as it can be."""
    for step in reversed(recipe.steps[:at]):
        if step.target is not None and step.target.at_least is not None:
            return step.target.at_least, "target"
        if step.process in HEATED:
            return boiling_point_c(altitude_m), "boiling"
    return ROOM_C, "room"


def hardening(
    recipe: Recipe, step: Step, made: Composition, kitchen: Kitchen, tubs_mm: tuple[float, ...]
) -> Hardening | None:
    """Minutes of a hardening step by tub; nothing where the mix has no water, or the air is too warm to harden it."""
    core_c = step.target.at_most if step.target is not None else None
    if core_c is None:
        return None
    drawn_c = drawn_at(recipe, kitchen)
    before, after = frozen_range(made.mixed, drawn_c), frozen_range(made.mixed, core_c)
    out = yields(made)
    if before is None or after is None:
        return None
    machine = next((one for one in kitchen.equipment if one.kind == step.equipment), None)
    air_c, known = _air(machine)
    share = _load_share(step, machine)
    density = out.product_kg_per_l if out is not None else None
    if air_c >= min(core_c, -6.0):
        return None
    minutes = (
        hardening_min(
            tub_m=mm / 1000.0,
            air_c=air_c,
            to_freeze=max(after.high - before.low, 0.0),
            water=FIGURES["water"].of(made.mixed).high / 100.0,
            load_share=share,
            density_kg_per_m3=1000.0 * density if density else 560.0,
        )
        for mm in tubs_mm
    )
    return Hardening(step, air_c, known, drawn_c, core_c, share, tuple(zip(tubs_mm, minutes, strict=True)))


def drawn_at(recipe: Recipe, kitchen: Kitchen) -> float:
    """How cold the churn's limit lets it be drawn, in the middle of its range."""
    for step in recipe.steps:
        limit = kitchen.limit(step.limit.id) if step.process is Process.CHURN and step.limit is not None else None
        if limit is not None and limit.kind is LimitKind.DRAW:
            row = limit.rows[0]
            ends = [end.celsius for end in (row.at_least, row.at_most) if end is not None]
            return sum(ends) / len(ends)
    return DRAWN_C


def _air(machine: Equipment | None) -> tuple[float, bool]:
    if machine is not None and machine.holds is not None:
        return machine.holds.high, True
    return BLAST_C, False


def _load_share(step: Step, machine: Equipment | None) -> float:
    if machine is None or machine.capacity is None or step.load is None or step.load.unit is not machine.capacity.unit:
        return 0.5
    return min(step.load.value / machine.capacity.value, 1.0)


def reckoned_min(recipe: Recipe, step: Step, kitchen: Kitchen, book: Book) -> float | None:
    """Minutes that a step's mix gives, as its `reckon` asks; nothing where it asks for none or none can be told."""
    if step.reckon is None:
        return None
    steps = recipe.steps[: recipe.steps.index(step) + 1]
    made = composition(recipe.model_copy(update={"steps": steps}), book)
    if not made.weighed:
        return None
    if step.reckon.tub_mm is not None:
        found = hardening(recipe, step, made, kitchen, (step.reckon.tub_mm,))
        return None if found is None else found.by_tub[0][1]
    if not made.reductions or made.reductions[-1].step != step.id or step.reckon.drives_off_kg_per_h is None:
        return None
    return 60.0 * made.reductions[-1].off_g / 1000.0 / step.reckon.drives_off_kg_per_h


def with_reckoned(recipe: Recipe, kitchen: Kitchen, book: Book) -> Recipe:
    """The recipe with usual minutes worked out wherever a step asks for it, never beyond its shortest and longest."""
    steps = tuple(_with_minutes(recipe, step, kitchen, book) for step in recipe.steps)
    return recipe if steps == recipe.steps else recipe.model_copy(update={"steps": steps})


def _with_minutes(recipe: Recipe, step: Step, kitchen: Kitchen, book: Book) -> Step:
    minutes = reckoned_min(recipe, step, kitchen, book)
    if minutes is None or step.duration is None:
        return step
    bounds = step.duration
    usual = min(max(round(minutes), bounds.shortest), bounds.longest)
    duration = Duration(shortest=bounds.shortest, usual=usual, longest=bounds.longest)
    return step if duration == bounds else step.model_copy(update={"duration": duration})
