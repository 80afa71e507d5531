"""The Flask application: pages and acts, with the rules that hold for every request."""

import logging
from importlib.metadata import version
from typing import Final

from flask import Flask, Response, redirect, request
from flask_compress import Compress
from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Response as WerkzeugResponse

from display import drawing
from display.access.cookies import Sessions
from display.access.guard import Guard
from display.access.hook import fault_page, install
from display.acts import blueprint as acts
from display.api import problems
from display.api.blueprint import api_blueprint
from display.helping import REMEDIES, RemedyBook
from display.pages import BLUEPRINTS
from display.panels import KitchenMissing, named, told
from display.previews import PREVIEWS, PreviewBook
from display.request import EXTENSION, page, showing
from display.ticks import TICKS, TickBook
from display.typed_words import as_typed
from display.views import Views
from display.words import AsPrinted
from orchestrator.gateway.door import Gateway
from orchestrator.ports.event_log import LogUnavailable

log = logging.getLogger(__name__)

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
PERMISSIONS = (
    "camera=(), display-capture=(), geolocation=(), microphone=(), payment=(), usb=(), "
    "screen-wake-lock=(self), fullscreen=(self)"
)
YEAR_S = 365 * 24 * 3600


def create_web(gateway: Gateway, views: Views, guard: Guard | None = None) -> Flask:
    """Pages over a gateway.

    Args:
        gateway: The one door to the kitchen.
        views: Where views come from.
        guard: Who may come in; left out, everybody.
    """
    web = Flask("display", template_folder="templates", static_folder="static")
    guard = guard or Guard(None)
    web.secret_key = guard.page_key
    web.config.update(
        SESSION_COOKIE_SAMESITE="Strict",
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_NAME="said",
        MAX_CONTENT_LENGTH=64 * 1024,
    )
    web.session_interface = Sessions()
    web.config["SEND_FILE_MAX_AGE_DEFAULT"] = 300
    web.config.update(COMPRESS_ALGORITHM=["gzip"], COMPRESS_ALGORITHM_STREAMING=["gzip"])
    web.config["COMPRESS_MIN_SIZE"] = 800  # less than that fits one packet anyway
    Compress(web)
    web.extensions[EXTENSION] = (gateway, views)
    web.extensions[REMEDIES] = RemedyBook(gateway)
    web.extensions[PREVIEWS] = PreviewBook(gateway)
    web.extensions[TICKS] = web.jinja_env.globals["ticks"] = TickBook()
    web.jinja_env.globals["draw"] = drawing
    web.jinja_env.filters["told"] = told
    web.jinja_env.filters["named"] = named
    web.jinja_env.filters["printed"] = AsPrinted
    web.jinja_env.filters["as_typed"] = as_typed
    web.jinja_env.trim_blocks = web.jinja_env.lstrip_blocks = True
    install(web, guard)
    web.before_request(_kitchen_first)
    web.after_request(_harden)
    web.register_error_handler(HTTPException, _http_fault)
    web.register_error_handler(KitchenMissing, _no_kitchen)
    web.register_error_handler(LogUnavailable, _unreadable)
    for blueprint in (acts, *BLUEPRINTS, api_blueprint(gateway, version("coldwright"))):
        web.register_blueprint(blueprint)
    return web


_WITHOUT_KITCHEN: Final = frozenset(
    {None, "first_run", "access", "tokens", "signing_in", "system", "service", "shell", "api", "alarm_figures"}
)
"""Blueprints that have something to show before there is a kitchen; static files and addresses not known have none."""


def _kitchen_first() -> None:
    """No page of a kitchen is shown before there is one.

    Raises:
        KitchenMissing: which leads to the first steps.
    """
    if (
        request.method == "GET"
        and request.blueprint not in _WITHOUT_KITCHEN
        and showing().snapshot.state.kitchen is None
    ):
        raise KitchenMissing


def _harden(response: Response) -> Response:
    response.headers.setdefault("Content-Security-Policy", POLICY)
    response.headers.setdefault("X-Content-Type-Options", "nosniff")
    response.headers.setdefault("Referrer-Policy", "same-origin")
    response.headers.setdefault("X-Frame-Options", "DENY")
    response.headers.setdefault("Permissions-Policy", PERMISSIONS)
    response.headers.setdefault("Cross-Origin-Opener-Policy", "same-origin")
    response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
    if request.is_secure:
        response.headers.setdefault("Strict-Transport-Security", f"max-age={YEAR_S}")
    if response.mimetype == "text/html":
        response.headers.setdefault("Cache-Control", "no-store")
    return response


_WORDS_OF: Final = {404: "not_found", 405: "fault_405", 413: "fault_413"}
"""What a reader is told, by status; all others as 400 or as 500."""


def _http_fault(fault: HTTPException) -> tuple[str, int] | Response:
    code = fault.code or 500
    if request.path.startswith("/api/"):
        return problems.simple(code, fault.name, fault.description or fault.name)
    w, word = showing().words, _WORDS_OF.get(code, "fault_500" if code >= 500 else "fault_400")
    return page(fault_page(), title=w(word), remedy=w(f"{word}_remedy")), code


def _no_kitchen(_: Exception) -> tuple[str, int] | WerkzeugResponse:
    w = showing().words
    if showing().gateway.kitchen_folder is not None and request.method == "GET":
        return redirect("/first-run", 303)
    return page("fault.html", title=w("no_kitchen"), remedy=w("no_kitchen_remedy")), 503


def _unreadable(fault: Exception) -> tuple[str, int] | Response:
    """What was asked for lies on a disk that does not give it: say which and what to do; the rest goes on."""
    log.error("%s could not be answered: %s", request.path, fault)
    if request.path.startswith("/api/"):
        return problems.simple(503, "Service Unavailable", str(fault))
    w = showing().words
    return page("fault.html", title=w("unreadable"), remedy=w.tell(str(fault))), 503
