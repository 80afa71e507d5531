"""The day on paper, for when there is no power: what each station and person does, with room to write what was done."""

from datetime import date, datetime

from display.panels import Showing
from display.papers.sheets import TO_WRITE, Sheet, Table
from orchestrator.core.ids import CrewId, StationId
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.state import TaskStatus
from orchestrator.core.views.day import day_tasks
from orchestrator.core.views.models import TaskView


def day_sheet(showing: Showing, day: date, station: str = "", person: str = "") -> Sheet:
    """All tasks of a day, a page for each station, then the cold places to be read by hand.

    Args:
        showing: The picture.
        day: Of the kitchen's calendar.
        station: Only this one; empty: all.
        person: Only what somebody is planned for; empty: everybody's.
    """
    w, f, snapshot = showing.words, showing.formats, showing.snapshot
    tasks = [
        (task, view)
        for task, view in day_tasks(snapshot.state, snapshot.facts, snapshot.now, day)
        if (not station or task.station == StationId(station))
        and (not person or any(CrewId(person) in span.crew for span in task.spans))
    ]
    names = {one.id: one.name for one in showing.kitchen.stations}
    columns = tuple(
        w(f"day_col_{key}") for key in ("plan", "step", "take", "check", "started", "ended", "reading", "initials")
    )
    tables: list[Table] = []
    for id_, name in names.items():
        rows = [_row(showing, task, view) for task, view in tasks if task.station == id_]
        if rows:
            tables.append(Table(showing.tell(name), columns, rows, says=w("day_late_says"), new_page=bool(tables)))
    if not person:
        tables.append(_places(showing, bool(tables), station))
    told = f"{w('weekdays').split()[day.weekday()]} {day.day} {w('months').split()[day.month - 1]} {day.year}"
    whose = names.get(StationId(station), "") or (showing.name_of(person) if person else "")
    return Sheet(
        name=f"day-{day.isoformat()}" + (f"-{station or person}" if station or person else ""),
        title=w("day_sheet", day=told) + (f" · {showing.tell(whose)}" if whose else ""),
        says=(w("day_says", time=f"{f.day(showing.now)} {f.clock(showing.now)}", revision=snapshot.state.revision),),
        tables=tables,
        none=w("day_none"),
        columns=(
            "start", "end", "station", "title", "lot", "order", "quantity", "crew", "equipment", "gates", "target",
            "amounts", "allergens", "status", "task",
        ),
        rows=[
            (view.planned_start, view.planned_end, names.get(task.station, task.station), task.title, task.lot,
             task.order, _written(task), view.crew, view.equipment_name, [g.says for g in view.gates],
             _target(showing, view), [f"{a.what} {a.quantity.value:.6g} {a.quantity.unit}" for a in view.amounts],
             view.allergens, view.status, task.id)
            for task, view in tasks
        ],
        wide=True,
        sign=(w("day_sign"), w("record_sign_date")),
    )  # fmt: skip


def _written(task: PlannedTask) -> str:
    return "" if task.quantity is None else f"{task.quantity.value:.6g} {task.quantity.unit}"


def _row(showing: Showing, task: PlannedTask, view: TaskView) -> tuple[str, ...]:
    w, f, tell = showing.words, showing.formats, showing.tell
    when = f"{f.clock(view.planned_start)}–{f.clock(view.planned_end)}"
    who = ", ".join(map(tell, view.crew)) or w("on_its_own")
    whose = view.lot or view.order or ""
    step = " · ".join(part for part in (f"{whose} {tell(task.title)}".strip(), tell(view.equipment_name or "")) if part)
    if view.allergens and task.kind is not TaskKind.CLEAN:
        step += f" · {w('contains', allergens=showing.sentences.allergens(view.allergens))}"
    if view.removes:
        step += f" · {w('clean_removes', allergens=showing.sentences.allergens(view.removes))}"
    takes = "; ".join(
        f"{tell(a.what)} {f.alone(a.quantity)}" + (f" ({', '.join(a.lots)})" if a.lots else "") for a in view.amounts
    )
    checks = "; ".join([*(tell(gate.says) for gate in view.gates), *([_target(showing, view)] if view.target else [])])
    if view.window is not None and view.window.closes is not None and view.status == TaskStatus.WAITING:
        checks = "; ".join(filter(None, (checks, w("day_latest", time=_when(showing, view.window.closes)))))
    return f"{when} {who}", step, takes, checks, *_done(showing, task), TO_WRITE, TO_WRITE


def _done(showing: Showing, task: PlannedTask) -> tuple[str, str]:
    """When it was begun and ended, as far as it is on record; else room to write."""
    w, record = showing.words, showing.snapshot.state.record(task.id)

    def told(instant: datetime | None, otherwise: str) -> str:
        return otherwise if instant is None else showing.formats.when(instant, showing.now)

    match record.status:
        case TaskStatus.SKIPPED:
            return w("day_skipped"), w("day_skipped")
        case TaskStatus.DONE:
            return told(record.started_at, w("day_done")), told(record.finished_at, w("day_done"))
        case TaskStatus.IN_HAND:
            return told(record.started_at, w("day_in_hand")), TO_WRITE
        case TaskStatus.WAITING:
            return TO_WRITE, TO_WRITE


def _when(showing: Showing, instant: datetime) -> str:
    return f"{showing.formats.day(instant)} {showing.formats.clock(instant)}"


def _target(showing: Showing, view: TaskView) -> str:
    w, f, target = showing.words, showing.formats, view.target
    if target is None:
        return ""
    least = target.at_least is not None
    said = w("at_least" if least else "at_most", celsius=f.limit((target.at_least if least else target.at_most) or 0.0))
    parts = [w("target_is", target=said).rstrip(".")]
    if target.hold:
        parts.append(w("day_hold", length=f.length(target.hold)))
    if target.ceiling is not None:
        parts.append(w("record_never_above", celsius=f.limit(target.ceiling)))
    return ", ".join(parts)


def _places(showing: Showing, new_page: bool, station: str) -> Table:
    """The stores, to be read by a hand thermometer while no probe is heard."""
    w, f = showing.words, showing.formats
    rows = []
    for place in showing.kitchen.equipment:
        if place.holds is None or (station and place.station != StationId(station)):
            continue
        low, high = place.holds.low, place.holds.high
        band = w("at_most", celsius=f.limit(high)) if low is None else f"{f.limit(low)} – {f.limit(high)}"
        rows.append((showing.tell(place.name), band, *[TO_WRITE] * 6))
    columns = (w("day_place"), w("day_band"), *[w("day_time_and", unit=f.unit)] * 6)
    return Table(w("day_places"), columns, rows, says=w("day_places_says"), new_page=new_page)
