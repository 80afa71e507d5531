"""What stands against an order in trouble, and what would help it."""

from flask import Blueprint, Response, current_app, make_response, redirect, request
from werkzeug.wrappers import Response as Redirect

from display.changing import TABLE, onward
from display.helping import REMEDIES, RemedyBook
from display.pages.changing import adopting, told_of
from display.previews import PREVIEWS, PreviewBook, scenario_of
from display.request import page, showing
from orchestrator.core.ids import OrderId

pages = Blueprint("helping", __name__)

_AGAIN_S = 4
_WAIT_S = 1.0


@pages.get("/orders/<order>/help")
def help_page(order: str) -> Response | tuple[str, int]:
    """One order's conflict and remedies; it loads again by itself while the planner is at work, and no longer."""
    picture = showing()
    views = {view.order: view for view in picture.views.orders(picture.snapshot)}
    if order not in views:
        w = picture.words
        return page("fault.html", title=w("not_found"), remedy=w("gone_from_plan_remedy")), 404
    book: RemedyBook = current_app.extensions[REMEDIES]
    answer, trouble = book.answer(picture.snapshot, _WAIT_S)
    told = {
        "order": views[OrderId(order)],
        "answer": answer,
        "trouble": trouble,
        "asked_at": book.asked_at(),
        "progress": book.so_far(),
        "conflicts": [c for c in answer.conflicts if c.order == order] if answer else [],
        "remedies": [r for r in answer.remedies if r.order == order] if answer else [],
    }
    so_far = request.args.get(TABLE)
    helps = [remedy for remedy in answer.remedies if remedy.order == order] if answer else []
    puts = [onward(remedy.changes, "/orders", so_far or "") for remedy in helps]
    response = make_response(page("help.html", **told, puts=puts))
    if answer is None and not trouble:
        response.headers["Refresh"] = str(_AGAIN_S)
    return response


@pages.post("/orders/<order>/help")
def ask_again(order: str) -> Redirect:
    """The planner is asked anew: people may have done something since."""
    book: RemedyBook = current_app.extensions[REMEDIES]
    book.again()
    return redirect(f"/orders/{order}/help", 303)


@pages.get("/orders/<order>/help/<int:number>")
def preview_page(order: str, number: int) -> Response | tuple[str, int]:
    """One of the remedies, counted from 1, planned as a what-if beside the present plan; nothing is adopted."""
    picture = showing()
    views = {view.order: view for view in picture.views.orders(picture.snapshot)}
    book: RemedyBook = current_app.extensions[REMEDIES]
    answer, _ = book.answer(picture.snapshot, _WAIT_S)
    remedies = [r for r in answer.remedies if r.order == order] if answer else []
    if order not in views or not 1 <= number <= len(remedies):
        w = picture.words  # a new plan has other remedies
        return page("fault.html", title=w("remedy_gone"), remedy=w("remedy_gone_remedy")), 404
    previews: PreviewBook = current_app.extensions[PREVIEWS]
    remedy = remedies[number - 1]
    tried = previews.preview(picture.snapshot, scenario_of(remedy.changes, remedy.kind.value), _WAIT_S)
    told = {**told_of(picture, tried, remedy.changes, request.path), **adopting(picture, remedy.changes, "/orders")}
    return make_response(page("preview.html", order=views[OrderId(order)], remedy=remedy, **told))
