"""What pages need of the request at hand: a showing, the person at the screen, messages, a rendered page."""

import json
import re
from datetime import datetime, timedelta
from typing import Any, Final, NamedTuple
from urllib.parse import urlsplit

from flask import current_app, flash, g, get_flashed_messages, request
from werkzeug.exceptions import RequestEntityTooLarge

from display.access.guard import GUARD, Guard
from display.panels import Showing
from display.reader import Reader
from display.views import Views
from orchestrator.core.ids import CrewId
from orchestrator.core.models import CrewMember, Kitchen
from orchestrator.core.rota import works_until
from orchestrator.gateway.door import Gateway
from orchestrator.ports.event_log import LogUnavailable

EXTENSION: Final = "coldwright"
PERSON_COOKIE: Final = "person"
WAYS: Final = ("language", "clock", "amounts")
"""Cookies of a screen at which nobody in particular stands; as `Ways` calls them."""


_NEAR: Final = timedelta(days=1)
"""So long before the last shift ends it is said that nobody has one after it; a figure of ours."""
_POSTS: Final = re.compile(r'<form\b[^>]*\bmethod="post"[^>]*>')


class Message(NamedTuple):
    """An outcome, shown once."""

    tone: str
    """``done``, ``refused`` or ``late``."""
    says: str
    remedy: str = ""
    more: str = ""
    """Path of a page that helps further."""
    asks: tuple[dict[str, Any], ...] = ()
    """Answers to choose from: ``label``, ``action`` and the ``fields`` of the form that each sends."""


def doors() -> tuple[Gateway, Views]:
    """The gateway and the views of this application."""
    gateway, views = current_app.extensions[EXTENSION]
    return gateway, views


def showing() -> Showing:
    """One frozen picture for this request, the same however often it is asked for."""
    if "showing" not in g:
        gateway, views = doors()
        snapshot = gateway.snapshot()
        crew = snapshot.state.kitchen.crew if snapshot.state.kitchen else ()
        picked = request.cookies.get(PERSON_COOKIE, "")
        g.person = next((member for member in crew if member.id == picked), None)
        role = "manager" if g.person is not None and g.person.manager else "cook"
        language, clock, amounts = _ways(snapshot.state.kitchen, g.person)
        reader = Reader.of(language, role, clock, amounts)
        g.showing = Showing(gateway, views, snapshot, reader, current_app.jinja_env, streamed=False)
    picture: Showing = g.showing
    return picture


def _ways(kitchen: Kitchen | None, member: CrewMember | None) -> tuple[str, str, str]:
    """Language, clock and amounts: as the person at the screen chose, else the screen, else the kitchen."""
    told = (member.ways if member else None, kitchen.ways if kitchen else None)
    found = []
    for name in WAYS:
        own, whole = (getattr(ways, name, None) or "" for ways in told)
        found.append(own or request.cookies.get(name, "") or whole)
    return found[0], found[1], found[2]


def person() -> CrewMember | None:
    """Who was picked at this screen, of the kitchen's own crew."""
    showing()
    member: CrewMember | None = g.person
    return member


def person_id() -> CrewId | None:
    """Their id, for commands."""
    member = person()
    return member.id if member else None


def local_path(url: str) -> str:
    """The path of an address on this server; '/' for any other, so that nobody is sent elsewhere."""
    try:
        parts = urlsplit(url)
    except ValueError:  # a bracket too many, say
        return "/"
    if parts.netloc and parts.netloc != request.host:
        return "/"
    if not parts.path.startswith("/") or parts.path.startswith(("//", "/\\")):
        return "/"
    return parts.path + (f"?{parts.query}" if parts.query else "")


def back() -> str:
    """Where a form came from."""
    return local_path(request.form.get("back") or request.referrer or "/")


def say(message: Message) -> None:
    """Show it on the next page."""
    flash(json.dumps(message), "message")


def page(template: str, **context: Any) -> str:
    """A whole page: `base.html` round it knows the person, the clock, messages and PRACTICE."""
    messages = [Message(*json.loads(str(entry))) for entry in get_flashed_messages(category_filter=["message"])]
    picture = showing()
    base = {
        "person": person(),
        "messages": messages,
        "snapshot": picture.snapshot,
        "path": request.full_path.rstrip("?"),
        "caller": g.get("caller"),
        "form_token": g.get("form_token", ""),
        "codes_wanted": _codes_wanted(),
        "so_far": _so_far(),
        "shifts_over": _shifts_over(picture),
    }
    return _with_tokens(picture.render(template, {**base, **context}))


def _shifts_over(picture: Showing) -> datetime | None:
    """When the last shift that anybody has ends, once that is near; in a demo, once it is over."""
    kitchen = picture.snapshot.state.kitchen
    works = works_until(kitchen) if kitchen is not None else None
    near = timedelta(0) if picture.snapshot.practice else _NEAR
    return works if works is not None and picture.now >= works - near else None


def _so_far() -> str | None:
    """What the planning table has collected, if the page was opened from there."""
    try:
        return request.values.get("so_far")
    except RequestEntityTooLarge:  # the page that says so is made here, too
        return request.args.get("so_far")


def _codes_wanted() -> bool:
    keeper: Guard = current_app.extensions[GUARD]
    try:
        return keeper.codes_wanted()
    except LogUnavailable:  # no page fails for that; a sign-off is looked at when it comes
        return False


def _with_tokens(html: str) -> str:
    """Each form that acts carries the token of this screen, whichever template made it; see `display/access/hook`."""
    token = g.get("form_token", "")
    return _POSTS.sub(rf'\g<0><input type="hidden" name="form_token" value="{token}">', html) if token else html
