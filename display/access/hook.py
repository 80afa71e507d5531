"""Before every request: who calls, may they, and does a form come from a page of ours. Refusals are written down."""

import hmac
from typing import Final
from urllib.parse import quote, urlsplit

from flask import Flask, Response, current_app, g, jsonify, redirect, request
from werkzeug.wrappers import Response as WerkzeugResponse

from display.access.cookies import keep
from display.access.guard import GUARD, SCREEN_COOKIE, SCREEN_S, Carried, Guard
from display.access.rules import Need, for_programs, may, need_of
from display.api import problems
from display.request import local_path, page, showing
from orchestrator.ports.access import Caller
from orchestrator.ports.event_log import LogUnavailable

Answer = WerkzeugResponse | tuple[Response | str, int] | None
SAFE: Final = frozenset({"GET", "HEAD", "OPTIONS"})
FORM_TOKEN: Final = "form_token"  # noqa: S105 - a field's name


def install(web: Flask, guard: Guard) -> None:
    """Stand before all routes of an application."""
    web.extensions[GUARD] = guard
    web.before_request(admit)
    web.after_request(renew)


def guard() -> Guard:
    """The guard of this application."""
    found: Guard = current_app.extensions[GUARD]
    return found


def caller() -> Caller | None:
    """Who makes this request."""
    found: Caller | None = g.caller
    return found


def admit() -> Answer:
    """None lets the request in."""
    carried, need = Carried.of_request(request), need_of(request.endpoint)
    g.caller, g.form_token = None, ""
    try:
        g.caller = guard().caller(carried)
    except LogUnavailable:
        return _unsure() if need is not Need.NOTHING else None
    if g.caller is None and need is not Need.NOTHING:
        return _unknown(carried)
    if g.caller is not None and g.caller.kind in ("screen", "manager"):
        g.form_token = carried.form_token()
    return _refused(need)


def _refused(need: Need) -> Answer:
    """What is wrong with the request of a caller who is known, or with one that needs none."""
    if request.method not in SAFE and foreign():
        return _refuse("foreign site", "foreign")
    program = g.caller is not None and g.caller.kind == "token"
    if program and not (may(g.caller, need) and for_programs(request.endpoint)):
        return _refuse("scope", "beyond_scope")
    if not may(g.caller, need):
        if request.method in SAFE and need is Need.MANAGE and not wants_json():
            return redirect(f"/sign-in?back={quote(here())}", 303)
        return _refuse("role", f"may_not_{g.caller.role.value}")
    if _form_needs_token() and not hmac.compare_digest(request.form.get(FORM_TOKEN, ""), g.form_token):
        return _refuse("bad form token", "form_old")
    return None


def renew(response: Response) -> Response:
    """A paired screen's cookie begins anew with each page: no tablet falls out because a year is over."""
    known: Caller | None = g.get("caller")
    if known is not None and known.kind == "screen" and response.mimetype == "text/html" and request.method == "GET":
        keep(response, SCREEN_COOKIE, request.cookies.get(SCREEN_COOKIE, ""), SCREEN_S)
    return response


def _form_needs_token() -> bool:
    """Forms of people who are known by a cookie; programs send JSON, which no other site's form can."""
    if request.method in SAFE or g.caller is None or g.caller.kind not in ("screen", "manager"):
        return False
    return not request.path.startswith("/api/")


def foreign() -> bool:
    """Whether a browser says that another site made this request. Programs that say nothing pass."""
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site not in {"same-origin", "none"}
    source = request.headers.get("Origin") or request.headers.get("Referer")
    try:
        return source is not None and urlsplit(source).netloc != request.host
    except ValueError:  # it is no address, so not ours
        return True


def wants_json() -> bool:
    """Whether a script asks, not a page."""
    return request.accept_mimetypes.best_match(["text/html", "application/json"]) == "application/json"


def note(reason: str, what: str = "") -> None:
    """Write this request down as refused; its query and its fields stay out of it."""
    where = what or f"{request.method} {request.path}"
    guard().notes.refused(request.remote_addr or "", g.get("caller"), where[:120], reason)


def told(word: str, status: int, *, kind: str = "refused") -> Answer:
    """A refusal as whoever asked can read it: a page, JSON for scripts, a problem for programs."""
    w = showing().words
    says, remedy = w(word), w(f"{word}_remedy")
    if request.path.startswith("/api/"):
        return problems.simple(status, says, says, remedy)
    if wants_json():
        return jsonify(outcome=kind, says=says, remedy=remedy), status
    ways = {"sign_in": f"/sign-in?back={quote(here())}"} if word.startswith("may_not") else {}
    return page(fault_page(), title=says, remedy=remedy, **ways), status


def here() -> str:
    """Where to go back to once let in: the page that was asked for; of a form, where it stood."""
    return request.full_path.rstrip("?") if request.method in SAFE else local_path(request.referrer or "/")


def fault_page() -> str:
    """Somebody unknown is shown nothing of the kitchen, not even in a fault."""
    return "door_fault.html" if g.get("caller") is None else "fault.html"


def _refuse(reason: str, word: str) -> Answer:
    note(reason)
    return told(word, 403)


def _unknown(carried: Carried) -> Answer:
    """Nobody we know: a page leads to the way in, everything else is told so."""
    if carried.anything:
        note("bad token")
    if not wants_json() and not request.path.startswith("/api/"):
        way = "/sign-in" if need_of(request.endpoint) is Need.MANAGE else "/pair"
        return redirect(f"{way}?back={quote(here())}", 303)
    answer = told("not_paired", 401, kind="late")
    if isinstance(answer, WerkzeugResponse) and request.path.startswith("/api/"):
        answer.headers["WWW-Authenticate"] = "Bearer"
    return answer


def _unsure() -> Answer:
    """The store cannot be read, so nobody can be known."""
    return told("door_unsure", 503, kind="late")
