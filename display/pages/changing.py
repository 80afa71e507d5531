"""What a change by hand would come to, and carrying it out: one page for orders, people, machines and remedies."""

from urllib.parse import urlencode

from flask import Blueprint, Response, current_app, make_response, redirect, request
from werkzeug.wrappers import Response as WerkzeugResponse

from display.access.signing import hand_in
from display.changing import address, basis_of, basis_text, packed, unpacked
from display.forms import FormFault, Tapped
from display.odds import odds
from display.panels import Showing
from display.previews import PATIENCE_S, PREVIEWS, Preview, PreviewBook, basis, scenario_of
from display.recipe_approval import kept_back
from display.refused import unanswered
from display.request import Message, doors, local_path, page, person_id, say, showing
from display.request import back as back_to
from orchestrator.core.changes import apply
from orchestrator.core.decide.kitchen import ANYBODY
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CrewId, OrderId
from orchestrator.core.kitchen_commands import ChangeKitchen
from orchestrator.core.models import CrewMember, Kitchen, Order, Outlook
from orchestrator.core.models.change import AddOrder, AddRecipe, AllowBreak, Change, ChangeOrder, ReviseRecipe
from orchestrator.core.models.outcome import Outcome
from orchestrator.core.planning import plan_request
from orchestrator.core.would_wait import would_wait

pages = Blueprint("changing", __name__)

_AGAIN_S = 4
_WAIT_S = 1.0
_WITH_REASON = (AllowBreak, ReviseRecipe, AddRecipe)
"""Refused without one."""


@pages.get("/changes")
def preview_page() -> Response | tuple[str, int]:
    """Every order, what moves and which windows are missed, beside the present plan; nothing is changed by looking."""
    changes = unpacked(request.args.get("c", ""))
    back = local_path(request.args.get("back", "/orders"))
    if not changes:
        w = showing().words
        return page("fault.html", title=w("change_gone"), remedy=w("change_gone_remedy")), 404
    return shown(changes, back)


def shown(
    changes: tuple[Change, ...], back: str, *, missing_reason: bool = False, typed: str = "", status: int = 200
) -> Response:
    """The page of these changes; what they come to is fetched again while the planner is at work."""
    picture = showing()
    refused = apply(plan_request(picture.snapshot.state, picture.now), changes)
    tried = None
    if not isinstance(refused, Refusal):
        book: PreviewBook = current_app.extensions[PREVIEWS]
        tried = book.preview(picture.snapshot, scenario_of(changes), _WAIT_S)
    context = {
        "says": [change.says(picture.kitchen) for change in changes],
        "refused": refused if isinstance(refused, Refusal) else None,
        **told_of(picture, tried, changes, page_of(changes, back)),
        **adopting(picture, changes, back),
        "edit": _edit(changes),
        "missing_reason": missing_reason,
        "typed_reason": typed,
    }
    if missing_reason:  # it came by a form: there is no address to load again
        context["again_s"] = 0
    return make_response(page("change.html", **context), status)


def _edit(changes: tuple[Change, ...]) -> str:
    """Where what was typed can be gone on with; empty where no form made it."""
    told = urlencode({"c": address(changes)["c"]})
    match changes:
        case (AddOrder(),):
            return f"/orders/new?{told}"
        case (ChangeOrder(order=order),):
            return f"/orders/{order}/change?{told}"
        case _:
            return ""


def page_of(changes: tuple[Change, ...], back: str) -> str:
    """Where these changes are shown, by where they lead back to."""
    return f"{'/planning' if back == '/planning' else '/changes'}?{urlencode(address(changes, back))}"


def told_of(picture: Showing, tried: Preview | None, changes: tuple[Change, ...], here: str) -> dict[str, object]:
    """What a page says of a preview: its outcome, and every order in the present plan and with it.

    Args:
        picture: The picture.
        tried: The preview; none where nothing can be tried.
        changes: What it is of.
        here: Address of the page, for asking again.
    """
    answer = tried.answer if tried is not None else None
    outcome = answer.scenarios[0] if answer and answer.scenarios else None
    views = {view.order: view for view in picture.views.orders(picture.snapshot)}
    asked = {order.id: order for order in _new_orders(outcome)}
    rows = []
    for row in answer.table.orders if answer else ():
        known = views.get(OrderId(row.order)) or asked.get(OrderId(row.order))
        if known is not None and len(row.told) == 2:
            rows.append((known, *row.told, _chance(picture, outcome, *row.told)))
    waits: tuple[tuple[str, ...], bool] = ((), True)
    if outcome is not None and outcome.plan is not None:
        waits = would_wait(picture.snapshot.state, outcome.changes, outcome.plan, picture.now)
    at_work = tried is not None and not tried.done.is_set()
    told = {"tried": tried, "outcome": outcome, "rows": rows, "waits": waits, "again_s": _AGAIN_S if at_work else 0}
    return {**told, "patience_s": int(PATIENCE_S), "ask_again": {"c": packed(changes), "back": here}}


def _new_orders(outcome: Outcome | None) -> list[Order]:
    changes = outcome.changes if outcome is not None else ()
    return [change.order for change in changes if isinstance(change, AddOrder)]


def _chance(picture: Showing, outcome: Outcome | None, present: Outlook | None, outlook: Outlook | None) -> str:
    """How likely an order is on time with the changes, where that is another word than without them."""
    plan = outcome.plan if outcome is not None else None
    if plan is None or outlook is None or outlook.late_min or not outlook.met or outlook.chance is None:
        return ""
    if present is not None and present.met and not present.late_min:
        before = odds(picture.words, 1.0 if present.chance is None else present.chance)
        if odds(picture.words, outlook.chance) == before:
            return ""
    return picture.sentences.chance(outlook, plan.simulated_runs)[0]


def adopting(picture: Showing, changes: tuple[Change, ...], back: str) -> dict[str, object]:
    """What the form that carries changes out is made from."""
    return {
        "packed": address(changes, back)["c"],
        "back": back,
        "basis": basis_text(basis(picture.snapshot.state)),
        "who": may_carry_out(picture.kitchen, changes, person_id()),
        "needs_reason": any(isinstance(change, _WITH_REASON) for change in changes),
    }


def may_carry_out(kitchen: Kitchen, changes: tuple[Change, ...], here: CrewId | None) -> tuple[CrewMember, ...]:
    """Who may: whoever is at the screen if they may, else everybody who may."""
    managers = tuple(member for member in kitchen.crew if member.manager)
    anybody = not managers or all(isinstance(change, ANYBODY) for change in changes)
    able = kitchen.crew if anybody else managers
    return tuple(member for member in able if member.id == here) or able


@pages.post("/changes")
def carry_out() -> WerkzeugResponse:
    """The changes become part of the kitchen; if it has moved since they were shown, they are shown anew instead."""
    picture = showing()
    w, form = picture.words, Tapped(request.form, picture, person_id())
    changes = unpacked(request.form.get("c", ""))
    back = local_path(request.form.get("back", "/orders"))
    again = page_of(changes, back)
    if not changes:
        return make_response(page("fault.html", title=w("change_gone"), remedy=w("change_gone_remedy")), 404)
    try:
        told = {**form.base(), "person": form.need("person")}
        reason = form.text("reason")
    except FormFault as fault:
        say(Message("refused", fault.says, fault.remedy))
        return redirect(again, 303)
    if not reason and any(isinstance(change, _WITH_REASON) for change in changes):
        return shown(changes, back, missing_reason=True, status=422)
    command = ChangeKitchen.model_validate(
        {**told, "changes": changes, "reason": reason, "based_on": basis_of(form.text("based_on"))}
    )
    return _submitted(picture, command, back, again)


@pages.post("/changes/again")
def ask_again() -> WerkzeugResponse:
    """The planner, which gave no answer, is asked once more; nothing is changed by it."""
    book: PreviewBook = current_app.extensions[PREVIEWS]
    book.again(scenario_of(unpacked(request.form.get("c", ""))))
    return redirect(back_to(), 303)


def _submitted(picture: Showing, command: ChangeKitchen, back: str, again: str) -> WerkzeugResponse:
    w = picture.words
    held_back = kept_back(picture, current_app.extensions[PREVIEWS], command.changes)
    if held_back is not None:
        say(held_back)
        return redirect(again, 303)
    try:
        outcome = hand_in(doors()[0], command)
    except TimeoutError:
        say(unanswered())
        return redirect(again, 303)
    if isinstance(outcome, Refusal):
        stale = outcome.code is RefusalCode.STALE
        says, remedy = picture.sentences.refusal(outcome, outcome.thing)
        say(
            Message("refused", w("change_moved"), w("change_moved_remedy"))
            if stale
            else Message("refused", says, remedy)
        )
        return redirect(again, 303)
    say(Message("done", w("done_change"), w("done_change_next"), "/board"))
    return redirect(back, 303)
