"""Who is at this screen: picked from the kitchen's own crew list, kept in a cookie of this browser."""

from flask import Blueprint, abort, make_response, redirect, request
from werkzeug.wrappers import Response

from display.request import PERSON_COOKIE, Message, back, local_path, page, say, showing

pages = Blueprint("person", __name__)

SHIFT_S = 12 * 3600
"""The pick is forgotten after this, so that nobody acts in another's name next morning."""


@pages.get("/person")
def pick() -> str:
    """The crew, those on shift first."""
    now = showing().now
    crew = [(any(s.start <= now < s.end for s in member.shifts), member) for member in showing().kitchen.crew]
    crew.sort(key=lambda entry: not entry[0])
    return page("person.html", crew=crew, back=local_path(request.args.get("back", "/")))


@pages.post("/person")
def picked() -> Response:
    """Keep the pick; an empty one means nobody in particular."""
    chosen = request.form.get("person", "")
    names = {str(member.id): member.name for member in showing().kitchen.crew}
    if chosen and chosen not in names:
        abort(404)
    response = make_response(redirect(back(), 303))
    if chosen:
        response.set_cookie(PERSON_COOKIE, chosen, max_age=SHIFT_S, samesite="Lax", httponly=True)
        say(Message("done", showing().words("done_person", who=names[chosen])))
    else:
        response.delete_cookie(PERSON_COOKIE)
    return response
