"""Orders that can be: within the planned days, and not sooner than their recipes can be made."""

from datetime import datetime, timedelta

from orchestrator.core.models import Order, OrderLine, Recipe
from orchestrator.kitchen.check_cycles import circles, step_graph
from orchestrator.kitchen.check_windows import in_words, shortest_min
from orchestrator.kitchen.draft import Draft, Entry, RecipeDraft


def check_orders(draft: Draft) -> None:
    """Every order is due within the planned days and after the shortest way through its recipes."""
    if draft.header is None:
        return
    start = draft.header.planning_start
    end = start + timedelta(days=draft.header.horizon_days)
    shortest = _Shortest(draft)
    for entry in draft.orders:
        order = entry.value
        if order is None:
            continue
        if order.earliest is not None and order.earliest > order.due:
            entry.add(("earliest",), "earliest lies after due", "make earliest no later than due")
        if order.due <= start:
            what = f"due {_shown(draft, order.due)}, before planning starts at {_shown(draft, start)}"
            entry.add(("due",), what, "move due, or planning_start in kitchen.yaml")
        elif order.due > end:
            what = f"due {_shown(draft, order.due)}, after the last planned minute, {_shown(draft, end)}"
            entry.add(("due",), what, "take the order out for now, or raise horizon_days in kitchen.yaml")
        else:
            _in_time(draft, entry, order, shortest)


def _shown(draft: Draft, instant: datetime) -> str:
    return f"{instant.astimezone(draft.zone):%a %d %b %Y %H:%M}"


def _in_time(draft: Draft, entry: Entry[Order], order: Order, shortest: "_Shortest") -> None:
    assert draft.header is not None  # the caller sees to it
    start = draft.header.planning_start
    for index, line in enumerate(order.lines):
        needed = shortest.of_line(line)
        if needed is not None and start + timedelta(minutes=needed) > order.due:
            soonest = _shown(draft, start + timedelta(minutes=needed))
            what = f"{line.product!r} takes at least {in_words(needed)} to make, longer than there is until due"
            entry.add(
                ("lines", index, "product"), what, f"the soonest is {soonest}: move due, or plan from an earlier start"
            )


class _Shortest:
    """The fewest minutes from nothing to a finished recipe, with people and machines always at hand.

    What is on hand of a component counts as enough of it: this is a bound that no plan can beat, not a plan.
    """

    def __init__(self, draft: Draft) -> None:
        self.recipes = {recipe.id: recipe for recipe in draft.recipes}
        self.on_hand: dict[str, float] = {}
        for lot in draft.stock:
            if lot.value is not None:
                name = str(lot.value.recipe)
                self.on_hand[name] = self.on_hand.get(name, 0.0) + lot.value.quantity.value
        graph = {
            n: [t.component for s in r.steps.values() for t in s.takes if t.component] for n, r in self.recipes.items()
        }
        self.circular = bool(circles(graph)) or any(circles(step_graph(recipe)) for recipe in draft.recipes)
        self.known: dict[str, int | None] = {}

    def of_line(self, line: OrderLine) -> int | None:
        """Minutes until an order line is handed over; nothing if a recipe on the way has faults."""
        recipe = self.recipes.get(line.product)
        if self.circular or recipe is None or recipe.recipe is None:
            return None
        enough = self.on_hand.get(line.product, 0.0) >= line.quantity.value
        made = 0 if enough else self._of_batch(line.product)
        return None if made is None else made + self._through(recipe, recipe.recipe, "order")

    def _of_batch(self, name: str) -> int | None:
        if name not in self.known:
            recipe = self.recipes.get(name)
            self.known[name] = None
            if recipe is not None and recipe.recipe is not None:
                parts = [
                    self._of_batch(take.component) for s in recipe.recipe.steps for take in s.takes if take.component
                ]
                if None not in parts:
                    self.known[name] = self._through(recipe, recipe.recipe, "batch")
        return self.known[name]

    def _of_part(self, name: str) -> int | None:
        return 0 if self.on_hand.get(name, 0.0) > 0 else self._of_batch(name)

    def _through(self, recipe: RecipeDraft, whole: Recipe, per: str) -> int:
        """Minutes from the first step of one sort to the end of the last."""
        graph, ends = step_graph(recipe), dict[int, int]()

        def end(index: int) -> int:
            if index not in ends:
                step = whole.steps[index]
                least = {link.step: link.least for link in step.after or ()}
                starts = [end(i) + least.get(whole.steps[i].id, 0) for i in graph[index] if whole.steps[i].per == per]
                parts = [self._of_part(take.component) or 0 for take in step.takes if take.component]
                ends[index] = max([0, *starts, *parts]) + shortest_min(recipe, step)
            return ends[index]

        return max((end(index) for index, step in enumerate(whole.steps) if step.per == per), default=0)


def check_stock(draft: Draft) -> None:
    """What is on hand was made before planning starts and has not passed its date by then."""
    for entry in draft.stock:
        lot = entry.value
        if lot is None:
            continue
        if lot.use_by is not None and lot.use_by <= lot.made:
            entry.add(("use_by",), "the lot must be used before it was made", "make use_by later than made")
            continue
        if draft.header is None:
            continue
        start = draft.header.planning_start
        if lot.made > start:
            what = f"made {_shown(draft, lot.made)}, after planning starts at {_shown(draft, start)}"
            entry.add(("made",), what, "what is not made yet is no stock: take it out, or correct the time")
        elif lot.use_by is not None and lot.use_by <= start:
            what = f"to be used by {_shown(draft, lot.use_by)}, before planning starts at {_shown(draft, start)}"
            entry.add(("use_by",), what, "take the lot out of the stock: it may not be planned with")
