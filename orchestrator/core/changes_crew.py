"""Changes of who is there when, carried out on a request or refused."""

from datetime import datetime

from orchestrator.core import rota
from orchestrator.core.changes_refusals import bad, no_span, unknown
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CrewId
from orchestrator.core.models import Break, CrewMember, Kitchen, PlanRequest, Shift
from orchestrator.core.models.change_crew import Absent, ExtraShift, StartEarlier, WeeklyShifts


def may_extra_shift(request: PlanRequest, change: ExtraShift) -> Refusal | None:
    """Why somebody cannot be there as well."""
    return _unknown(request, change.crew) or no_span(request, change.crew, change.start, change.end)


def extra_shift(request: PlanRequest, change: ExtraShift) -> PlanRequest:
    """Somebody is there at another time as well; what overlaps a shift lengthens it, its breaks stay."""
    return _with_shift(request, change.crew, change.start, change.end)


def may_start_earlier(request: PlanRequest, change: StartEarlier) -> Refusal | None:
    """Why somebody cannot begin then."""
    member = _member(request.kitchen, change.crew)
    if member is None:
        return _unknown(request, change.crew)
    if any(s.start <= change.start < s.end for s in member.shifts):
        return bad(change.crew, "is there already then", "an instant before one of their shifts")
    if _next_start(member, change.start) is None or change.start < request.now:
        return bad(
            change.crew, "no shift comes after that instant", "an instant from now on, before one of their shifts"
        )
    return None


def start_earlier(request: PlanRequest, change: StartEarlier) -> PlanRequest:
    """Somebody's next shift begins sooner."""
    member = _member(request.kitchen, change.crew)
    until = _next_start(member, change.start) if member is not None else None
    return request if until is None else _with_shift(request, change.crew, change.start, until)


def may_be_absent(request: PlanRequest, change: Absent) -> Refusal | None:
    """Why an absence cannot be put down."""
    member = _member(request.kitchen, change.crew)
    if member is None:
        return _unknown(request, change.crew)
    refused = no_span(request, change.crew, change.start, change.end)
    later = bool(member.weekly) and change.end > rota.known_until(request.kitchen)
    if refused is None and not later and not any(s.start < change.end and change.start < s.end for s in member.shifts):
        return bad(change.crew, "has no shift then", "a time within one of their shifts")
    return refused


def absent(request: PlanRequest, change: Absent) -> PlanRequest:
    """Somebody is not there: their shifts are cut, and those of later days as they come."""
    member = _member(request.kitchen, change.crew)
    if member is None:
        return request
    absence = Break(start=change.start, end=change.end)
    if change.end > rota.known_until(request.kitchen):
        member = member.model_copy(update={"away": (*member.away, absence)})
    return _with_shifts(request, member, rota.without(member.shifts, (absence,)))


def may_work_weekly(request: PlanRequest, change: WeeklyShifts) -> Refusal | None:
    """Why somebody cannot work so every week."""
    today = request.kitchen.local(request.now).date()
    if _member(request.kitchen, change.crew) is None:
        return _unknown(request, change.crew)
    if change.since < today:
        return bad(change.crew, f"from {change.since:%a %d %b} on, which is over", f"a day from {today:%a %d %b} on")
    last = rota.last_day(rota.first_day(request.kitchen))
    if change.since > last:  # hours that hold until then are not written out so far
        status, remedy = f"from {change.since:%a %d %b} on, which is too far ahead", f"a day until {last:%a %d %b}"
        return bad(change.crew, status, remedy)
    fault = rota.fault(change.shifts)
    return bad(change.crew, *fault) if fault is not None else None


def work_weekly(request: PlanRequest, change: WeeklyShifts) -> PlanRequest:
    """Somebody works by other hours from a day on; what was told of single days after it holds no more."""
    kitchen = request.kitchen
    crew = tuple(
        rota.from_day(member, change.shifts, kitchen, change.since) if member.id == change.crew else member
        for member in kitchen.crew
    )
    return request.model_copy(update={"kitchen": kitchen.model_copy(update={"crew": crew})})


def _unknown(request: PlanRequest, who: CrewId) -> Refusal | None:
    if _member(request.kitchen, who) is not None:
        return None
    return unknown("member of the crew", who, (m.id for m in request.kitchen.crew))


def _member(kitchen: Kitchen, who: CrewId) -> CrewMember | None:
    return next((member for member in kitchen.crew if member.id == who), None)


def _next_start(member: CrewMember, after: datetime) -> datetime | None:
    return min((s.start for s in member.shifts if s.start > after), default=None)


def _with_shift(request: PlanRequest, who: CrewId, start: datetime, end: datetime) -> PlanRequest:
    member = _member(request.kitchen, who)
    return request if member is None else _with_shifts(request, member, (*member.shifts, Shift(start=start, end=end)))


def _with_shifts(request: PlanRequest, member: CrewMember, shifts: tuple[Shift, ...]) -> PlanRequest:
    now = member.model_copy(update={"shifts": rota.joined(shifts)})
    crew = tuple(now if m.id == member.id else m for m in request.kitchen.crew)
    return request.model_copy(update={"kitchen": request.kitchen.model_copy(update={"crew": crew})})
