"""The way in: a new screen's code, a spare's code, the manager's passphrase."""

from datetime import timedelta
from math import ceil
from typing import Final

from flask import Blueprint, Response, g, jsonify, make_response, redirect, request
from werkzeug.wrappers import Response as WerkzeugResponse

from display.access.cookies import forget, keep
from display.access.guard import MANAGER_COOKIE, SCREEN_COOKIE, SCREEN_S
from display.access.hook import caller, guard, note
from display.access.slowly import MOST_PASSPHRASE, Tried, tried
from display.request import local_path, page, showing
from orchestrator.ports.access import AccessStore, Role

pages = Blueprint("signing_in", __name__)

ASKER_COOKIE: Final = "pairing"
PAIRING: Final = timedelta(minutes=10)
SESSION: Final = timedelta(hours=12)
STATIONS: Final = "/stations"


def _back(otherwise: str = STATIONS) -> str:
    where = local_path(request.values.get("back") or otherwise)
    return otherwise if where.startswith(("/pair", "/sign-in")) else where


@pages.get("/pair")
def pair_page() -> Response | WerkzeugResponse:
    """A code for this screen, until the manager has approved it; who is let in already goes on."""
    store = guard().store
    if caller() is not None or store is None:
        return redirect(_back(), 303)
    if guard().is_open():
        return _pairing("")  # by a name that is not this machine's
    asker, _, code = request.cookies.get(ASKER_COOKIE, "").partition(".")
    if asker and (secret := store.take_pairing(asker, guard().now())) is not None:
        return _let_in(redirect(_back(), 303), secret)
    if asker and code and store.is_waiting(asker, guard().now()):
        return _pairing(code)
    if (wait := guard().pairings.take(request.remote_addr or "")) > 0:
        note("rate limit")
        return _pairing("", wait_s=wait)
    asked = store.ask_to_pair(guard().now(), guard().now() + PAIRING)
    answer = _pairing(asked.code)
    keep(answer, ASKER_COOKIE, f"{asked.asker}.{asked.code}", int(PAIRING.total_seconds()))
    return answer


def _pairing(code: str, *, wait_s: float = 0, fault: str = "", status: int = 200) -> Response:
    w = showing().words
    halves = (code[: len(code) // 2], code[len(code) // 2 :])
    told = w(fault, seconds=ceil(wait_s)) if fault else w("pair_too_often", seconds=ceil(wait_s)) if wait_s else ""
    context = {
        "halves": halves if code else (),
        "open_only": guard().is_open(),
        "fault": told,
        "back": _back(),
        "minutes": PAIRING.seconds // 60,
    }
    answer = make_response(page("pair.html", **context), 429 if wait_s else status)
    if wait_s:
        answer.headers["Retry-After"] = str(ceil(wait_s))
    return answer


@pages.get("/pair/state")
def pair_state() -> WerkzeugResponse:
    """For the waiting screen: ``in``, ``waiting`` or ``out``; once approved, it gets its secret with this answer."""
    store = guard().store
    if caller() is not None or store is None:
        return jsonify(state="in")
    asker = request.cookies.get(ASKER_COOKIE, "").partition(".")[0]
    if not asker:
        return jsonify(state="out")
    secret = store.take_pairing(asker, guard().now())
    if secret is not None:
        return _let_in(jsonify(state="in"), secret)
    return jsonify(state="waiting" if store.is_waiting(asker, guard().now()) else "out")


@pages.post("/pair/spare")
def use_spare() -> Response | WerkzeugResponse:
    """A code approved beforehand: no manager is needed."""
    store = guard().store
    if store is None or caller() is not None:
        return redirect(_back(), 303)
    code = request.form.get("spare", "")[:60]
    key, secrets = f"spare {request.remote_addr}", []

    def check() -> bool:
        secret = store.use_spare(code, guard().now())
        secrets.append(secret or "")
        return secret is not None

    found = tried(guard(), guard().passphrases, key, check, known=False)
    if found.right:
        return _let_in(redirect(_back(), 303), secrets[0])
    note("rate limit" if found.wait_s else "wrong code")
    shown = request.cookies.get(ASKER_COOKIE, "").partition(".")[2]
    return _pairing(shown, wait_s=found.wait_s, fault="spare_wait" if found.wait_s else "spare_wrong", status=403)


def _let_in(answer: WerkzeugResponse, secret: str) -> WerkzeugResponse:
    guard().forget()
    keep(answer, SCREEN_COOKIE, secret, SCREEN_S)
    forget(answer, ASKER_COOKIE)
    return answer


@pages.get("/sign-in")
def sign_in_page() -> Response | WerkzeugResponse:
    """The manager's passphrase."""
    known = caller()
    if known is not None and known.role is Role.MANAGER:
        return redirect(_back("/access"), 303)
    return _signing_in()


def _signing_in(found: Tried | None = None) -> Response:
    w, told = showing().words, ""
    if found is not None:
        told = w("sign_in_wait", seconds=ceil(found.wait_s)) if found.wait_s else w("sign_in_wrong")
    answer = make_response(page("sign_in.html", fault=told, back=_back("/access"), paired=caller() is not None))
    if found is not None:
        answer.status_code = 429 if found.wait_s else 403
    if found is not None and found.wait_s:
        answer.headers["Retry-After"] = str(ceil(found.wait_s))
    return answer


@pages.post("/sign-in")
def sign_in() -> Response | WerkzeugResponse:
    """Right: signed in for a shift, at this browser. Wrong: slower each time; no station is hindered by it."""
    store, known = guard().store, caller()
    if store is None or (known is not None and known.kind == "open"):
        return redirect(_back("/access"), 303)
    found = is_passphrase(store, request.form.get("passphrase", ""))
    if not found.right:
        return _signing_in(found)
    return signed_in(store, redirect(_back("/access"), 303))


def is_passphrase(store: AccessStore, typed: str) -> Tried:
    """Try the manager's passphrase from where this request comes, and write down what was wrong."""

    def check() -> bool:
        return 0 < len(typed) <= MOST_PASSPHRASE and store.is_passphrase(typed)

    found = tried(guard(), guard().passphrases, request.remote_addr or "", check, known=caller() is not None)
    if not found.right:
        note("rate limit" if found.wait_s else "wrong passphrase")
    return found


def signed_in(store: AccessStore, answer: WerkzeugResponse) -> WerkzeugResponse:
    """Let this browser be the manager's for a shift."""
    now = guard().now()
    secret = store.begin_session(request.remote_addr or "", now, now + SESSION)
    guard().forget()
    keep(answer, MANAGER_COOKIE, secret, int(SESSION.total_seconds()))
    return answer


@pages.post("/sign-out")
def sign_out() -> WerkzeugResponse:
    """The manager leaves this browser; a paired screen stays one."""
    store, secret = guard().store, request.cookies.get(MANAGER_COOKIE, "")
    if store is not None and secret:
        store.end_session(secret)
    guard().forget()
    g.caller = None
    answer = redirect("/", 303)
    forget(answer, MANAGER_COOKIE)
    return answer
