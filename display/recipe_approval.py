"""A recipe is not made otherwise while that would leave an order unmet: what the planner found is asked first."""

from collections.abc import Sequence
from typing import Final

from display.panels import Showing
from display.previews import PreviewBook, scenario_of
from display.request import Message
from orchestrator.core.models.change import AddRecipe, Change, ReviseRecipe
from orchestrator.core.models.outcome import OrderRow

_WAIT_S: Final = 20.0


def kept_back(picture: Showing, book: PreviewBook, changes: Sequence[Change]) -> Message | None:
    """Why changes of recipes are not carried out; none when they may be, or when no recipe is changed.

    Args:
        picture: From whose plan they would start.
        book: Asks the planner, or has asked it already.
        changes: All that would be carried out together.
    """
    if (
        not any(isinstance(change, ReviseRecipe | AddRecipe) for change in changes)
        or picture.snapshot.state.plan is None
    ):
        return None
    w = picture.words
    tried = book.preview(picture.snapshot, scenario_of(tuple(changes)), _WAIT_S)
    if tried.answer is None:
        return Message("refused", w("change_not_known_yet"), w("change_not_known_yet_remedy"))
    outcome = tried.answer.scenarios[0]
    if outcome.plan is None:
        why = outcome.refused.status if outcome.refused else "; ".join(outcome.violations)
        return Message("refused", f"{w('preview_no_plan')} {why}", w("change_orders_lost_remedy"))
    lost = [row.order for row in tried.answer.table.orders if _lost(row)]
    if not lost:
        return None
    return Message("refused", w("change_orders_lost", orders=", ".join(lost)), w("change_orders_lost_remedy"))


def _lost(row: OrderRow) -> bool:
    """Whether it is met at present, and would not be."""
    if len(row.told) != 2:
        return False
    before, after = row.told
    return before is not None and before.met and after is not None and not after.met
