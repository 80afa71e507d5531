"""Figures of mixes in words: numbers with their unit, ranges, weights, money."""

from collections.abc import Iterable
from typing import Final

from display.formats import THIN, Formats
from display.panels import Showing
from orchestrator.core.measures import converted
from orchestrator.core.mix.balancing import Changed, Told
from orchestrator.core.mix.composition import Composition, Missing
from orchestrator.core.mix.figures import Range, Wanted
from orchestrator.core.mix.yields import Yields
from orchestrator.core.models import Duration
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.typed_amounts import US_UNIT

_LB_A_GALLON: Final = converted(1.0, "kg", "lb") / converted(1.0, "L", "gal")


class MixWords:
    """For one showing."""

    def __init__(self, showing: Showing) -> None:
        self._w = showing.words
        self._f: Formats = showing.formats
        self._names = {recipe.id: recipe.name for recipe in showing.kitchen.recipes}
        self.currency = showing.kitchen.currency

    def range(self, found: Range, digits: int = 1, factor: float = 1.0) -> str:
        """``14.3``, or ``12.0–14.3`` where an unknown ingredient moves it."""
        low, high = (self._f.number(end * factor, digits) for end in (found.low, found.high))
        return low if low == high else f"{low}–{high}"

    def figure(self, name: str, found: Range) -> str:
        """With its unit."""
        unit = "g" if name == "sucrose_equivalent" else "%"
        return f"{self.range(found)}{THIN}{unit}"

    def percent(self, share: float, digits: int = 0) -> str:
        """Of a share of one."""
        return f"{self._f.number(100.0 * share, digits)}{THIN}%"

    def ice(self, found: Range) -> str:
        """Share of the water."""
        return f"{self.range(found, 0, 100.0)}{THIN}%"

    def degrees(self, found: Range) -> str:
        """A temperature; from the warmer to the colder where it is an interval."""
        warm, cold = self._f.temperature(found.high), self._f.temperature(found.low)
        return warm if warm == cold else f"{self._f.degrees(found.high)} – {cold}"

    def grams(self, grams: float | None) -> str:
        """``640 g``, ``3.64 kg``; words where it is not known."""
        if grams is None:
            return self._w("mix_unknown")
        if self._f.us:
            return self._f.in_us(grams, "g")
        return f"{grams:.0f}{THIN}g" if abs(grams) < 1000 else f"{self._f.number(grams / 1000, 2)}{THIN}kg"

    def difference(self, line: Changed) -> str:
        """``+120 g``, ``−80 g``, or a dash."""
        moved = line.after_g - line.before_g
        if abs(moved) < 0.5:
            return "–"
        return f"{'+' if moved > 0 else '−'}{self.grams(abs(moved))}"

    def money(self, value: float) -> str:
        """To the hundredth, with the currency where the kitchen's files name one: ``12.30 EUR``."""
        told = self._f.number(value, 2)
        return f"{told}{THIN}{self.currency}" if self.currency else told

    def litres(self, found: Range) -> str:
        """``4.00 L``, or ``1.06 gal``."""
        if not self._f.us:
            return f"{self.range(found, 2)}{THIN}L"
        low, high = self._f.in_us(found.low, Unit.LITRE), self._f.in_us(found.high, Unit.LITRE)
        return low if low == high else f"{low}–{high}"

    def dense(self, found: Range) -> str:
        """Of a litre, ``1.088 kg``; of a US gallon, ``9.08 lb``: the standards of the US are written so."""
        if not self._f.us:
            return f"{self.range(found, 3)}{THIN}kg"
        return f"{self.range(found, 2, _LB_A_GALLON)}{THIN}lb"

    def dense_one(self, kg_per_l: float) -> str:
        """The same of one number."""
        return self.dense(Range(kg_per_l, kg_per_l))

    def by_volume(self, word: str) -> str:
        """The word for a weight by volume: of a litre, or of a gallon."""
        return f"{word}_us" if self._f.us else word

    def minutes(self, minutes: float) -> str:
        """Rounded to five, since a formula is no measurement."""
        return self._f.length(max(5.0, 5.0 * round(minutes / 5.0)))

    def duration(self, duration: Duration | None) -> str:
        """Usual, with shortest and longest."""
        if duration is None:
            return "–"
        usual, shortest, longest = (self._f.length(x) for x in (duration.usual, duration.shortest, duration.longest))
        return self._w("mix_minutes_are", usual=usual, shortest=shortest, longest=longest)

    def cost(self, out: Yields) -> str:
        """Of one of the yield's unit, and of a portion."""
        unit = self._w(f"mix_unit_{out.written.unit.value}") if out.written.unit is not Unit.TRAY else out.written.unit
        each = self.money(out.cost_per_unit)
        if self._f.us and out.written.unit in US_UNIT:
            told = US_UNIT[out.written.unit]
            unit, each = (
                self._w(f"mix_unit_{told}"),
                self.money(out.cost_per_unit * converted(1.0, told, out.written.unit)),
            )
        if out.cost_per_portion is None or out.written.unit is Unit.EACH:
            return self._w("mix_cost_per", cost=each, unit=unit)
        return self._w("mix_cost_each", cost=each, unit=unit, portion=self.money(out.cost_per_portion))

    def portions(self, out: Yields) -> str:
        """How many of which size."""
        if out.written.unit is Unit.EACH:
            return self._w("mix_portions_pieces", count=f"{out.portions or 0:.0f}")
        return self._w("mix_portions_of", count=f"{int(out.portions or 0)}", amount=self._f.amount(out.portion))

    def misfit(self, out: Yields) -> str:
        """What the recipe says beside what its amounts give."""
        found = Quantity(value=out.written.value - (out.misfit or 0.0), unit=out.written.unit)
        return self._w("mix_misfit", written=self._f.amount(out.written), found=self._f.amount(found))

    def missing(self, made: Composition) -> list[str]:
        """What is missing, each with its recipe where it is another."""
        return [self._one_missing(one, made) for one in made.missing]

    def _one_missing(self, one: Missing, made: Composition) -> str:
        says = self._w(f"mix_missing_{one.lack.value}", name=one.name)
        amount = f" ({self._f.amount(one.amount)})" if one.amount is not None else ""
        inside = one.recipe != made.recipe.id
        where = f", {self._w('mix_in', recipe=self._names.get(one.recipe, one.recipe))}" if inside else ""
        return f"{says}{amount}{where}."

    def wanted(self, one: Wanted) -> str:
        """A range in words."""
        unit = "g" if one.figure == "sucrose_equivalent" else "%"
        least, most = (
            None if end is None else f"{self._f.written(f'{end:g}')}{THIN}{unit}" for end in (one.least, one.most)
        )
        which = "both" if least and most else "least" if least else "most"
        figure = self._w(f"mix_figure_{one.figure}")
        return self._w(f"mix_proposal_wanted_{which}", figure=figure, least=least, most=most)

    def ends(self, one: Wanted) -> str:
        """A range as short as can be: ``9–12``, ``≥ 9``, ``≤ 12``."""
        if one.least is not None and one.most is not None:
            return self._f.written(f"{one.least:g}–{one.most:g}")
        return self._f.written(f"≥{THIN}{one.least:g}" if one.least is not None else f"≤{THIN}{one.most:g}")

    def shown(self, told: Iterable[Told]) -> list[Told]:
        """Those of a proposal that are asked for or there at all."""
        return [one for one in told if one.wanted is not None or one.before.high > 0.05 or one.after.high > 0.05]
