"""Who is here, as people said themselves; and whose shift has begun without them, with what their absence would do."""

from collections.abc import Sequence
from urllib.parse import urlencode

from display.changing import address
from display.panels import Showing
from orchestrator.core.attendance import here, not_come
from orchestrator.core.models import CrewMember, Shift
from orchestrator.core.models.change_crew import Absent


def crew_panel(showing: Showing, _: str) -> str:
    """All of the crew, and who is missed."""
    kitchen, now, book = showing.kitchen, showing.now, showing.snapshot.state.attendance
    rows = [
        (member, book.since(member.id, now), next((s for s in member.shifts if s.start <= now < s.end), None))
        for member in kitchen.crew
    ]
    rows.sort(key=lambda row: (row[1] is None, row[2] is None))
    missing = [(member, shift, _absence(showing, member, shift)) for member, shift in not_come(kitchen, book, now)]
    return showing.render("panels/crew.html", {"rows": rows, "missing": missing})


def _absence(showing: Showing, member: CrewMember, shift: Shift) -> str:
    """Where it is shown what comes of their absence for the rest of the shift."""
    change = Absent(crew=member.id, start=max(showing.now, shift.start), end=shift.end)
    return f"/changes?{urlencode(address((change,), '/crew'))}"


def here_panel(showing: Showing, _: str) -> str:
    """Names of those who are here; nothing before there is a kitchen."""
    if showing.snapshot.state.kitchen is None:
        return ""
    there: Sequence[tuple[CrewMember, object]] = here(showing.kitchen, showing.snapshot.state.attendance, showing.now)
    return showing.render("panels/crew_here.html", {"names": [showing.tell.name(member.name) for member, _ in there]})
