"""A recipe is not made otherwise while that would leave an order unmet: the page says so before it hands anything in.

The gateway holds the same for every door (`gateway/approval.py`); here it is said from the preview that is shown.
"""

from collections.abc import Sequence
from typing import Final

from display.panels import Showing
from display.previews import PreviewBook, scenario_of
from display.request import Message
from orchestrator.core.models.change import AddRecipe, Change, ReviseRecipe
from orchestrator.core.orders_lost import lost_orders, not_planned

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
    why = not_planned(tried.answer)
    if why:
        return Message("refused", f"{w('preview_no_plan')} {why}", w("change_orders_lost_remedy"))
    lost = lost_orders(tried.answer)
    if not lost:
        return None
    return Message("refused", w("change_orders_lost", orders=", ".join(lost)), w("change_orders_lost_remedy"))
