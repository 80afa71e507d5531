"""What is in each store: lots with amounts, dates and status against capacity, and the closing count."""

from dataclasses import dataclass
from datetime import datetime

from flask import Blueprint

from display import panels
from display.panels import Showing
from display.request import page
from orchestrator.core.alarms import Look, look
from orchestrator.core.alarms.past_dates import Dated, dated
from orchestrator.core.by_products import there_of
from orchestrator.core.material import Account, books
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.recall import place_of
from orchestrator.core.state import State
from orchestrator.core.views.models import LotView, StoreView
from orchestrator.core.views.stores import store_views

pages = Blueprint("stock", __name__)


@pages.get("/stock")
def stock_page() -> str:
    """What is where, alone: to be carried round at closing."""
    return page("stock.html")


@dataclass(frozen=True)
class Shelf:
    """A store and the lots in it."""

    store: StoreView
    lots: tuple[tuple[LotView, Account], ...]

    @property
    def part(self) -> float:
        """How full it is, from 0 to 1, of its capacity."""
        most = self.store.capacity.value
        return min(1.0, self.store.filled / most) if most > 0 else 0.0

    @property
    def over(self) -> float:
        """By how much it is over its capacity, 0 if it is not."""
        most = self.store.capacity.value
        return max(0.0, self.store.filled - most) if most > 0 else 0.0


def _stock(showing: Showing, _: str) -> str:
    state = showing.snapshot.state
    seen = look(state, showing.snapshot.facts, showing.now)
    views = {str(view.lot): view for view in showing.views.lots(showing.snapshot)}
    accounts = books(state).accounts
    shelves, placed = [], set[str]()
    for store in store_views(seen) if seen is not None else ():
        here = dict.fromkeys(str(block.lot) for block in store.blocks if not block.booked)
        here |= {lot.id: None for lot in state.pantry.by_products() if _is_in(state, lot, store)}
        shown = tuple((views[lot], accounts[lot]) for lot in here if lot in views and lot in accounts)
        placed |= {lot for lot, account in accounts.items() if lot in here}
        shelves.append(Shelf(store, shown))
    made = ("on hand", "measured", "counted pieces", "planned", "left over")
    loose = [
        (views[lot], account)
        for lot, account in accounts.items()
        if lot in views
        and lot not in placed
        and account.how in made
        and account.left > 0.0005
        and not place_of(state, lot)
    ]
    past = _past(seen, state) if seen is not None else ()
    return showing.render("panels/stock.html", {"shelves": shelves, "loose": loose, "past": past})


@dataclass(frozen=True)
class Past:
    """A lot past its date, and where it is."""

    lot: Dated
    safety: bool
    until: datetime
    place: str


def _past(seen: Look, state: State) -> tuple[Past, ...]:
    """All of them, those that may not be used first."""
    found = []
    for one in dated(seen):
        safety = one.past_use_by(seen.now)
        until = one.use_by if safety else one.best_before
        if until is not None and (safety or one.past_best_before(seen.now)):
            found.append(Past(one, safety, until, place_of(state, one.lot)))
    return tuple(sorted(found, key=lambda past: (not past.safety, past.until, past.lot.lot)))


def _is_in(state: State, lot: IngredientLot, store: StoreView) -> bool:
    """By-products that take no room worth counting stand in their store all the same."""
    return lot.place == store.equipment and there_of(state, lot) > 0.0005


panels.register("stock", _stock)
