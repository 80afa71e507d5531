"""Hours that come again every week: who is there when, from a day on."""

from flask import Blueprint, Response, abort, make_response, redirect, request
from werkzeug.wrappers import Response as WerkzeugResponse

from display.changing import TABLE, onward
from display.request import page, showing
from display.span_form import refused
from display.week_form import WeekForm, prefilled, read
from orchestrator.core.models import CrewMember

pages = Blueprint("week", __name__)


@pages.get("/crew/<who>/week")
def week_page(who: str) -> Response:
    """The hours that hold."""
    member = _member(who)
    return _week(member, prefilled(showing(), member))


@pages.post("/crew/<who>/week")
def week(who: str) -> WerkzeugResponse:
    """What other hours would come to; or the form again, with its faults."""
    picture, member = showing(), _member(who)
    form, change = read(picture, member, request.form.to_dict(flat=False))
    if change is None or refused(picture, form.faults, change):
        return _week(member, form, 422)
    return redirect(onward([change], "/crew", request.form.get(TABLE)), 303)


def _week(member: CrewMember, form: WeekForm, status: int = 200) -> Response:
    return make_response(page("week.html", member=member, form=form), status)


def _member(who: str) -> CrewMember:
    member = next((m for m in showing().kitchen.crew if m.id == who), None)
    if member is None:
        abort(404)
    return member
