"""What stands against an order in trouble, and what would help it."""

from flask import Blueprint, Response, current_app, make_response

from display.helping import REMEDIES, RemedyBook
from display.request import page, showing
from orchestrator.core.ids import OrderId

pages = Blueprint("helping", __name__)

_AGAIN_S = 4
_WAIT_S = 1.0


@pages.get("/orders/<order>/help")
def help_page(order: str) -> Response | tuple[str, int]:
    """One order's conflict and remedies; it loads again by itself while the planner is at work."""
    picture = showing()
    views = {view.order: view for view in picture.views.orders(picture.snapshot)}
    if order not in views:
        w = picture.words
        return page("fault.html", title=w("not_found"), remedy=w("gone_from_plan_remedy")), 404
    book: RemedyBook = current_app.extensions[REMEDIES]
    answer, trouble = book.answer(picture.snapshot, _WAIT_S)
    if trouble:
        book.again(picture.snapshot)  # the next look asks anew
    told = {
        "order": views[OrderId(order)],
        "answer": answer,
        "trouble": trouble,
        "conflicts": [c for c in answer.conflicts if c.order == order] if answer else [],
        "remedies": [r for r in answer.remedies if r.order == order] if answer else [],
    }
    response = make_response(page("help.html", **told))
    if answer is None:
        response.headers["Refresh"] = str(_AGAIN_S)
    return response
