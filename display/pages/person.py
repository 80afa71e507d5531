"""Who is at this screen: picked from the kitchen's own crew list, kept in a cookie of this browser."""

from flask import Blueprint, abort, make_response, redirect, request
from werkzeug.wrappers import Response

from display.access.cookies import forget, keep
from display.access.signing import hand_in
from display.forms import Tapped
from display.reader import LANGUAGES
from display.refused import unanswered
from display.request import PERSON_COOKIE, WAYS, Message, back, doors, local_path, page, person, say, showing
from orchestrator.core.attendance import shift_of
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CrewId
from orchestrator.core.models.tongue import Ways
from orchestrator.core.recipe_commands import ComeIn
from orchestrator.core.tongue_commands import ChooseWays

pages = Blueprint("person", __name__)

SHIFT_S = 12 * 3600
"""The pick is forgotten after this, so that nobody acts in another's name next morning."""


SCREEN_S = 400 * 24 * 3600
"""How a screen reads is kept as long as browsers keep anything."""
CHOICES = {"language": LANGUAGES, "clock": ("24", "12"), "amounts": ("metric", "us")}


@pages.get("/person")
def pick() -> str:
    """The crew, those on shift first."""
    now = showing().now
    crew = [(any(s.start <= now < s.end for s in member.shifts), member) for member in showing().kitchen.crew]
    crew.sort(key=lambda entry: not entry[0])
    reader = showing().reader
    chosen = {"language": reader.language, "clock": reader.clock, "amounts": reader.amounts}
    where = local_path(request.args.get("back", "/"))
    return page("person.html", crew=crew, back=where, choices=CHOICES, chosen=chosen)


@pages.post("/ways")
def ways() -> Response:
    """One choice of language, clock or amounts: on record for whoever stands here, else kept by this screen."""
    told = {name: request.form[name] for name in WAYS if name in request.form}
    if not told or any(value not in CHOICES[name] for name, value in told.items()):
        abort(400)
    member = person()
    response = make_response(redirect(back(), 303))
    if member is None:
        for name, value in told.items():
            keep(response, name, value, SCREEN_S)
        return response
    wanted = Ways.model_validate({**member.ways.model_dump(), **told})
    try:
        hand_in(doors()[0], ChooseWays(**Tapped(request.form, showing(), member.id).base(), ways=wanted))
    except TimeoutError:
        say(unanswered())
    return response


@pages.post("/person")
def picked() -> Response:
    """Keep the pick; an empty one means nobody in particular."""
    chosen = request.form.get("person", "")
    names = {str(member.id): member.name for member in showing().kitchen.crew}
    if chosen and chosen not in names:
        abort(404)
    response = make_response(redirect(back(), 303))
    if chosen:
        keep(response, PERSON_COOKIE, chosen, SHIFT_S)
        told = "done_person_here" if _came_in(CrewId(chosen)) else "done_person"
        say(Message("done", showing().words(told, who=names[chosen])))
    else:
        forget(response, PERSON_COOKIE)
    return response


def _came_in(who: CrewId) -> bool:
    """Who picks themself round their shift is here from now on; who looks in at another time is not."""
    picture = showing()
    member = next(one for one in picture.kitchen.crew if one.id == who)
    known = picture.snapshot.state.attendance.since(who, picture.now)
    if known is not None or shift_of(member, picture.now) is None:
        return False
    base = Tapped({}, picture, who).base()
    try:
        return not isinstance(hand_in(doors()[0], ComeIn(**base)), Refusal)
    except TimeoutError:  # nobody is kept from working by that
        return False
