"""Who is here, and who is there when: away today in two taps, or at another time; and machines that will stop."""

from datetime import datetime, time, timedelta

from flask import Blueprint, Response, abort, make_response, redirect, request
from werkzeug.wrappers import Response as WerkzeugResponse

from display import panels
from display.changing import TABLE, onward
from display.pages import attendance
from display.panels import Showing
from display.request import page, showing
from display.span_form import Span, SpanForm, read, refused
from orchestrator.core.ids import CrewId, EquipmentId
from orchestrator.core.models import CrewMember, Equipment, Shift
from orchestrator.core.models.change import Change, MachineBack, MachineStopped
from orchestrator.core.models.change_crew import Absent, ExtraShift

pages = Blueprint("crew", __name__)

_DAYS_SHOWN = timedelta(days=7)


def _preview(change: Change, back: str) -> WerkzeugResponse:
    return redirect(onward([change], back, request.form.get(TABLE)), 303)


def _local(instant: datetime) -> str:
    """As a field for date and time has it."""
    return f"{showing().formats.local(instant):%Y-%m-%dT%H:%M}"


@pages.get("/crew")
def crew_page() -> Response:
    """Everybody's shifts from now on."""
    return _crew(SpanForm({"from": _local(showing().now)}), "")


def _crew(form: SpanForm, which: str, status: int = 200) -> Response:
    forms = {kind: form if which in ("", kind) else SpanForm() for kind in ("away", "extra")}
    return make_response(page("crew.html", forms=forms, crew=showing().kitchen.crew), status)


@pages.post("/crew/<which>")
def at_another_time(which: str) -> WerkzeugResponse:
    """Somebody is away, or there as well: what it would come to; or the form again, with its faults."""
    if which not in ("away", "extra"):
        abort(404)
    picture = showing()
    known, until = [member.id for member in picture.kitchen.crew], _end_of_day if which == "away" else None
    made, span = read(picture, request.form.to_dict(), "crew", known, until)
    if span is None:
        return _crew(made, which, 422)
    change = _change(which, span)
    if refused(picture, made.faults, change):
        return _crew(made, which, 422)
    return _preview(change, "/crew")


def _end_of_day(who: str, start: datetime) -> datetime:
    """Midnight; or later, when a shift of theirs ends that begins on that day."""
    local, crew = showing().formats.local, showing().kitchen.crew
    day = local(start).date()
    midnight = datetime.combine(day + timedelta(days=1), time(), local(start).tzinfo)
    shifts = [shift for member in crew if member.id == who for shift in member.shifts]
    return max([midnight, *(shift.end for shift in shifts if local(shift.start).date() == day)])


def _change(which: str, span: Span) -> Absent | ExtraShift:
    kind = Absent if which == "away" else ExtraShift
    return kind(crew=CrewId(span.thing), start=span.start, end=span.end)


@pages.get("/machines/<name>/later")
def later_page(name: str) -> Response:
    """From when to when a machine will stand."""
    return _later(_machine(name), SpanForm({"from": _local(showing().now)}))


def _later(machine: Equipment, form: SpanForm, status: int = 200) -> Response:
    return make_response(page("machine_later.html", machine=machine, form=form), status)


def _machine(name: str) -> Equipment:
    machine = next((m for m in showing().kitchen.equipment if m.id == name), None)
    if machine is None:
        abort(404)
    return machine


@pages.post("/machines/<name>/later")
def later(name: str) -> WerkzeugResponse:
    """What it would come to; or the form again, with its faults."""
    picture, machine = showing(), _machine(name)
    made, span = read(picture, {**request.form.to_dict(), "equipment": machine.id}, "equipment", [machine.id])
    if span is None:
        return _later(machine, made, 422)
    change = MachineStopped(equipment=machine.id, start=span.start, end=span.end)
    return _later(machine, made, 422) if refused(picture, made.faults, change) else _preview(change, "/machines")


@pages.post("/machines/<name>/not-later")
def not_later(name: str) -> WerkzeugResponse:
    """It will not be stopped after all."""
    return _preview(MachineBack(equipment=EquipmentId(_machine(name).id), at=showing().now), "/machines")


def _shifts(showing: Showing, _: str) -> str:
    kitchen = showing.snapshot.state.kitchen  # there may be none yet
    rows = [_row(showing, member) for member in (kitchen.crew if kitchen is not None else ())]
    return showing.render("panels/shifts.html", {"rows": rows})


def _row(showing: Showing, member: CrewMember) -> tuple[CrewMember, bool, list[Shift], tuple[str, str] | None]:
    """Somebody, whether they are there now, their shifts to come, and what is left of today of them."""
    now, local = showing.now, showing.formats.local
    coming = [s for s in member.shifts if s.end > now and s.start < now + _DAYS_SHOWN]
    here = any(s.start <= now for s in coming)
    today = [s for s in coming if local(s.start).date() == local(now).date() or s.start <= now]
    if not today:
        return member, here, coming, None
    start, end = max(now, today[0].start).replace(second=0, microsecond=0), max(s.end for s in today)
    return member, here, coming, (f"{local(start):%Y-%m-%dT%H:%M}", f"{local(end):%Y-%m-%dT%H:%M}")


panels.register("shifts", _shifts)
panels.register("crew", attendance.crew_panel)
panels.register("crew-here", attendance.here_panel)
panels.register("crew-below", attendance.here_panel)
