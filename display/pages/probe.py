"""One probe: what it last said, whether it may be believed, its checks, and where it is put."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from flask import Blueprint, abort

from display import curves, health_words, panels
from display.panels import Showing
from display.record_steps import StepLook
from display.request import page, showing
from orchestrator.core.ids import EquipmentId, LotCode, ProbeId, TaskId
from orchestrator.core.models import PlannedTask, ProbeFact, TaskKind
from orchestrator.core.models.health import doubts
from orchestrator.core.probe_events import ProbeChecked, ProbeOffsetApplied
from orchestrator.core.probe_traces import check_due, expected_at, health_of, sittings
from orchestrator.core.state import TaskStatus
from orchestrator.core.views.models import ProbeView

pages = Blueprint("probe", __name__)

CURVE: Final = timedelta(hours=2)
AHEAD: Final = timedelta(hours=12)
MOST_TASKS: Final = 16
LEAST_OFFSET_C: Final = 0.1


@dataclass(frozen=True)
class Place:
    """Where a probe was; the words are the page's."""

    name: str
    title: str
    since: datetime | None
    until: datetime | None


@pages.get("/probe/<probe>")
def probe_page(probe: str) -> str:
    """Forms of a page load, round a panel that is kept live."""
    picture = showing()
    view = _view(picture, probe)
    if view is None:
        abort(404)
    book = picture.snapshot.state.probes
    checks = {point: expected_at(picture.kitchen, point) for point in ("ice", "boiling")}
    context = {
        "view": view,
        "expected": checks,
        "asked": book.asked.get(view.probe.id),
        "washed": book.washes.get(view.probe.id),
        "tasks": _tasks(picture),
        "places": [e for e in picture.kitchen.equipment if e.id != view.probe.equipment],
    }
    return page("probe.html", **context)


def _view(picture: Showing, probe: str) -> ProbeView | None:
    return next((v for v in picture.views.probes(picture.snapshot) if v.probe.id == probe), None)


def _offset_asked(picture: Showing, probe: ProbeId) -> float | None:
    """What the last check would have added, while nobody has confirmed it; none where it is next to nothing."""
    book = picture.snapshot.state.probes
    last, applied = book.last_check(probe), book.offsets.get(probe, ())
    if last is None or (applied and applied[-1].at >= last.at):
        return None
    offset = book.offset_at(probe, picture.now) - last.error_c
    return round(offset, 2) if abs(last.error_c) >= LEAST_OFFSET_C else None


def _tasks(picture: Showing) -> list[PlannedTask]:
    """Work in hand or soon to begin, on a machine: into whose food a probe may go."""
    state = picture.snapshot.state
    found = []
    for task in state.plan.tasks if state.plan else ():
        if task.kind is not TaskKind.WORK or task.equipment is None or task.lot is None:
            continue
        status = state.record(task.id).status
        soon = status is TaskStatus.WAITING and task.start <= picture.now + AHEAD
        if status is TaskStatus.IN_HAND or soon:
            found.append(task)
    return sorted(found, key=lambda t: (state.record(t.id).status is TaskStatus.WAITING, t.start))[:MOST_TASKS]


def _panel(picture: Showing, probe: str) -> str:
    view = _view(picture, probe)
    if view is None:
        return ""
    state, now = picture.snapshot.state, picture.now
    known, since = view.probe, now - CURVE
    fact = picture.snapshot.facts.get(known.id) or ProbeFact(probe=known.id, equipment=known.equipment)
    health = health_of(state, known.id, fact)
    readings = list(picture.gateway.readings(known.id, since, now))
    trace = curves.trace(
        readings, since, now, known.silent_after, at_least_c=view.low_c, at_most_c=view.high_c, always=True
    )
    context = {
        "view": view,
        "fact": fact,
        "trace": trace,
        "health": health,
        "doubted": bool(doubts(health)),
        "says": health_words.says(picture, health),
        "unknown": health_words.cannot_say(picture, fact.cannot_say),
        "battery": next((r.battery_percent for r in reversed(readings) if r.battery_percent is not None), None),
        "checks": list(reversed(state.probes.checks.get(known.id, ())))[:20],
        "offsets": list(reversed(state.probes.offsets.get(known.id, ())))[:20],
        "failed": state.probes.failed(known.id),
        "due": check_due(state, known.id),
        "places": list(
            reversed([_place(picture, s.equipment, s.task, s.since, s.until) for s in sittings(state, known.id)])
        ),
    }
    return picture.render("panels/probe.html", context)


def _offset_panel(picture: Showing, probe: str) -> str:
    """Live, as the checks beside it: what an earlier check would have added is not offered after a later one."""
    which = ProbeId(probe)
    offset_now = picture.snapshot.state.probes.offset_at(which, picture.now)
    context = {"probe": probe, "offset_c": _offset_asked(picture, which), "offset_now": offset_now}
    return picture.render("panels/probe_offset.html", context)


def _place(
    picture: Showing, equipment: EquipmentId, task: TaskId | None, since: datetime, until: datetime | None
) -> Place:
    name = next((e.name for e in picture.kitchen.equipment if e.id == equipment), str(equipment))
    plan = picture.snapshot.state.plan
    titles = {t.id: f"{t.title} ({t.lot})" for t in plan.tasks} if plan else {}
    return Place(name, titles.get(task, "") if task else "", since if since.year > 1 else None, until)


def in_doubt(picture: Showing, lot: LotCode) -> list[tuple[str, ProbeChecked]]:
    """Failed checks that put a lot in doubt, with the names of their probes."""
    names = {p.id: p.name for p in picture.kitchen.probes}
    book = picture.snapshot.state.probes
    found = [(names.get(p, str(p)), c) for p, checks in book.checks.items() for c in checks if lot in c.in_doubt]
    return sorted(found, key=lambda pair: pair[1].at)


def offsets_for(picture: Showing, looks: Sequence[StepLook]) -> list[tuple[str, ProbeOffsetApplied]]:
    """Offsets that held while a probe measured one of these steps."""
    book, found = picture.snapshot.state.probes, {}
    for look in looks:
        for measured in look.measured:
            held = [o for o in book.offsets.get(measured.probe.id, ()) if o.at <= (look.until or picture.now)]
            last = held[-1:] if held and held[-1].offset_c else []
            found.update({(measured.probe.name, o.at): o for o in last})
    return [(name, offset) for (name, _), offset in sorted(found.items(), key=lambda pair: pair[0][1])]


panels.register("probe", _panel)
panels.register("probe-offset", _offset_panel)
