"""Steps, windows and differences of recipes as sentences."""

from display.panels import Showing
from orchestrator.core.models import Recipe, Step
from orchestrator.core.models.recipe import Link, Stay, Target
from orchestrator.core.quantities import Quantity
from orchestrator.core.recipe_differences import Difference
from orchestrator.core.recipe_differences import Value as Told

_MINUTES = frozenset(
    {"shortest", "usual", "longest", "each", "minutes", "least", "most", "hold", "shelf_life", "best_before"}
)
_CELSIUS = frozenset({"at_most", "at_least", "ceiling"})


class RecipeWords:
    """For one page."""

    def __init__(self, showing: Showing) -> None:
        self._w, self._f, self._kitchen = showing.words, showing.formats, showing.kitchen
        self._tell = showing.tell

    def minutes(self, step: Step) -> str:
        """How long it takes: ``35 to 65 min, usually 45 min``; a stay, or trays, in their own words."""
        if step.duration is not None:
            d = step.duration
            return self._w(
                "recipe_minutes",
                shortest=self._f.length(d.shortest),
                usual=self._f.length(d.usual),
                longest=self._f.length(d.longest),
            )
        if step.cycle is not None:
            return self._w("recipe_cycle", pieces=step.cycle.pieces, each=self._f.length(step.cycle.each))
        return self._bounds(step.stay, "recipe_stay") if step.stay is not None else ""

    def hands(self, step: Step) -> str:
        """When hands are needed, how many, and with which skill; empty when it runs on its own."""
        parts = [
            self._w(f"recipe_attended_{part.when}", length=self._f.length(part.minutes or 0)) for part in step.attended
        ]
        if not parts:
            return ""
        many = f", {self._w('recipe_two_hands')}" if step.hands == 2 else ""
        return f"{'; '.join(parts)} ({step.skill}{many})"

    def windows(self, recipe: Recipe, step: Step) -> list[str]:
        """What it follows, no sooner and no later than when, and how hard that is."""
        if step.after is None:
            return []
        titles = {one.id: one.title for one in recipe.steps}
        if not step.after:
            return [self._w("recipe_after_nothing")]
        return [self._after(link, titles.get(link.step, str(link.step))) for link in step.after]

    def _after(self, link: Link, title: str) -> str:
        if not link.least and link.most is None:
            return self._w("recipe_after", title=title)
        return self._w("recipe_after_bounds", title=title, bounds=self._bounds(link, "recipe_bounds"))

    def _bounds(self, span: Link | Stay, key: str) -> str:
        hard = self._w(f"recipe_window_{span.window.value}")
        least, most = self._f.length(span.least), self._f.length(span.most or 0)
        if span.most is None:
            return self._w(f"{key}_least", least=least, window=hard)
        if not span.least:
            return self._w(f"{key}_most", most=most, window=hard)
        return self._w(f"{key}_both", least=least, most=most, window=hard)

    def target(self, target: Target) -> str:
        """``At least 82 °C, held 1 min, never above 85 °C``."""
        said = (
            self._w("recipe_at_least", value=self._f.limit(target.at_least))
            if target.at_least is not None
            else self._w("recipe_at_most", value=self._f.limit(target.at_most or 0.0))
        )
        if target.hold:
            said += f", {self._w('recipe_held', length=self._f.length(target.hold))}"
        if target.ceiling is not None:
            said += f", {self._w('recipe_never_above', value=self._f.limit(target.ceiling))}"
        return said

    def limit(self, step: Step) -> tuple[str, str] | None:
        """Title and source of the limit that a code sets for it."""
        found = self._kitchen.limit(step.limit.id) if step.limit is not None else None
        return (found.title, found.source) if found is not None else None

    def difference(self, told: Difference) -> tuple[str, str, str, str]:
        """Where, what, before and after, in words."""
        if told.what == ("step",):
            what = self._w("recipe_differs_step_new" if told.before is None else "recipe_differs_step_gone")
        else:
            what = " · ".join(self._name(part) for part in told.what)
        where = self._tell(told.step) if told.step else self._w("recipe_differs_whole")
        return where, what, self._value(told.what, told.before), self._value(told.what, told.after)

    def _name(self, part: str) -> str:
        key = f"recipe_key_{part}"
        return self._w(key) if self._w.has(key) else self._tell(part)

    def _value(self, what: tuple[str, ...], value: Told) -> str:
        if value is None or value == "":
            return "–"
        if isinstance(value, Quantity):
            return self._f.amount(value)
        if isinstance(value, bool):
            return self._w("recipe_yes" if value else "recipe_no")
        if isinstance(value, int | float):
            if what[-1] in _CELSIUS:
                return self._f.limit(value)
            return self._f.length(value) if what[-1] in _MINUTES else f"{value:g}"
        return self._tell(str(value))
