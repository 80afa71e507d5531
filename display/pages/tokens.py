"""Tokens for programs: made, shown once, revoked. For the manager."""

from flask import Blueprint, Response, make_response, redirect, request
from werkzeug.wrappers import Response as WerkzeugResponse

from display.access.hook import guard
from display.forms import FormFault, Tapped
from display.pages.access import LONGEST_NAME
from display.request import Message, page, person_id, say, showing
from orchestrator.ports.access import Scope

pages = Blueprint("tokens", __name__)


@pages.get("/access/tokens")
def tokens_page() -> str:
    """All of them, and a form for another."""
    return _page("")


def _page(secret: str, name: str = "") -> str:
    store = guard().store
    made = store.tokens() if store is not None and not guard().is_open() else ()
    return page(
        "tokens.html",
        open=store is None or guard().is_open(),
        scopes=tuple(Scope),
        standing=[one for one in made if one.revoked_at is None],
        revoked=[one for one in made if one.revoked_at is not None],
        secret=secret,
        made_name=name,
        address=request.host_url,
    )


@pages.post("/access/tokens")
def make() -> Response | WerkzeugResponse:
    """A token, shown on the page that answers and nowhere else."""
    store, w = guard().store, showing().words
    if store is None or guard().is_open():
        return _told(Message("refused", w("access_open"), w("access_open_remedy")))
    chosen = frozenset(scope for scope in Scope if scope.value in request.form.getlist("scope"))
    if not chosen:
        return _told(Message("refused", w("token_no_scope"), w("token_no_scope_remedy")))
    try:
        name = Tapped(request.form, showing(), person_id()).need("token_name")[:LONGEST_NAME]
    except FormFault as fault:
        return _told(Message("refused", fault.says, fault.remedy))
    return make_response(_page(store.make_token(name, chosen, guard().now()), name))


@pages.post("/access/tokens/revoke")
def revoke() -> WerkzeugResponse:
    """A program is let in no more."""
    store, w = guard().store, showing().words
    if store is None:
        return _told(Message("refused", w("access_open"), w("access_open_remedy")))
    try:
        number = Tapped(request.form, showing(), person_id()).number("token", 0, 2**41, example="1", whole=True)
    except FormFault as fault:
        return _told(Message("refused", fault.says, fault.remedy))
    store.revoke_token(int(number), guard().now())
    guard().forget()
    return _told(Message("done", w("done_revoke_token")))


def _told(message: Message) -> WerkzeugResponse:
    say(message)
    return redirect("/access/tokens", 303)
