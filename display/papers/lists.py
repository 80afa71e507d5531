"""Everything that is listed, as CSV: one name for each list, the same rules for all of them."""

from collections.abc import Callable, Sequence
from typing import Final

from display import batch_record, record_steps, review_words
from display.log_reading import whole_log
from display.panels import Showing
from display.papers import lists_books as books
from display.papers import lists_past as past
from display.papers import lists_watch as watch
from display.papers.listed import Listed
from orchestrator.core.events import ActUndone, Event
from orchestrator.core.ids import LotCode
from orchestrator.core.late_entry import is_late
from orchestrator.core.models import PlannedTask

TASK_COLUMNS: Final = (
    "task",
    "kind",
    "title",
    "lot",
    "order",
    "station",
    "equipment",
    "crew",
    "planned_start",
    "planned_end",
    "status",
    "started_at",
    "finished_at",
    "started_by",
    "finished_by",
    "quantity",
    "unit",
    "reason",
)


def orders(showing: Showing, _: str) -> Listed:
    """A row for each line of each order."""
    views = {view.order: view for view in showing.views.orders(showing.snapshot)}
    rows = []
    for order in showing.kitchen.orders:
        view = views.get(order.id)
        outlook = view.outlook if view is not None else None
        for line in order.lines:
            rows.append(
                (
                    order.id,
                    order.customer,
                    order.due,
                    line.product,
                    line.quantity.value,
                    str(line.quantity.unit),
                    outlook.met if outlook else None,
                    outlook.ready_at if outlook else None,
                    outlook.late_min if outlook else None,
                    outlook.chance if outlook else None,
                    view.handed_over_at if view else None,
                    view.lots if view else (),
                )
            )
    columns = (
        "order",
        "customer",
        "due",
        "product",
        "quantity",
        "unit",
        "met",
        "ready_at",
        "late_min",
        "chance",
        "handed_over_at",
        "lots",
    )
    return Listed(columns, rows)


def tasks(showing: Showing, _: str) -> Listed:
    """Every task of the adopted plan, with what happened to it."""
    plan = showing.snapshot.state.plan
    found = sorted(plan.tasks, key=lambda t: (t.start, t.id)) if plan is not None else []
    return Listed(TASK_COLUMNS, [_task_row(showing, task) for task in found])


def _task_row(showing: Showing, task: PlannedTask) -> Sequence[object]:
    record, amount = showing.snapshot.state.record(task.id), task.quantity
    where = record.equipment or task.equipment
    crew = sorted({who for span in task.spans for who in span.crew})
    which = (task.id, str(task.kind), task.title, task.lot, task.order, task.station, where, crew)
    happened = (record.started_at, record.finished_at, record.started_by, record.finished_by)
    made = (amount.value if amount else None, str(amount.unit) if amount else "")
    return (*which, task.start, task.end, str(record.status), *happened, *made, record.reason)


def lots(showing: Showing, _: str) -> Listed:
    """Every lot, planned, made or on hand; until when its record is to be looked through."""
    waiting = review_words.of(showing)
    rows = [
        (
            v.lot,
            v.recipe,
            v.name,
            v.quantity.value,
            str(v.quantity.unit),
            v.status,
            v.reason,
            v.where,
            v.made_at,
            v.use_by,
            v.allergens,
            v.for_orders,
            *past.review_cells(waiting.get(v.lot)),
        )
        for v in showing.views.lots(showing.snapshot)
    ]
    columns = (
        "lot",
        "recipe",
        "name",
        "quantity",
        "unit",
        "status",
        "reason",
        "where",
        "made_at",
        "use_by",
        "allergens",
        "for_orders",
        *past.REVIEW_COLUMNS,
    )
    return Listed(columns, rows)


def stock(showing: Showing, _: str) -> Listed:
    """Lots on hand when planning started, or put in since."""
    rows = [
        (s.lot, s.recipe, s.quantity.value, str(s.quantity.unit), s.made, s.use_by, s.place, s.allergens)
        for s in showing.kitchen.stock
    ]
    return Listed(("lot", "recipe", "quantity", "unit", "made", "use_by", "place", "own_allergens"), rows)


def alarms(showing: Showing, _: str) -> Listed:
    """Alarms on record that are not forgotten yet."""
    rows = [
        (
            a.id,
            str(a.facts.kind),
            str(a.facts.priority),
            str(a.status),
            a.raised_at,
            a.facts.task,
            a.facts.lot,
            a.facts.equipment,
            a.facts.probe,
            a.facts.orders,
            showing.sentences.alarm_head(a.facts),
        )
        for a in showing.snapshot.state.alarms.values()
    ]
    columns = (
        "alarm",
        "kind",
        "priority",
        "status",
        "raised_at",
        "task",
        "lot",
        "equipment",
        "probe",
        "orders",
        "says",
    )
    return Listed(columns, rows)


def deviations(showing: Showing, _: str) -> Listed:
    """A row for each lot of each deviation, with what was decided last."""
    rows = []
    for one in showing.snapshot.state.deviations.values():
        for lot in one.lots or (None,):
            told = next((d for d in reversed(one.dispositions) if d.lot == lot), None)
            rows.append(
                (
                    one.id,
                    one.facts.cause,
                    one.facts.safety,
                    one.facts.reason,
                    one.opened_at,
                    one.closed_at,
                    one.closed_by,
                    one.note,
                    lot,
                    told.decision if told else "",
                    told.reason if told else "",
                    told.person if told else "",
                    told.at if told else None,
                )
            )
    columns = (
        "deviation",
        "cause",
        "safety",
        "reason",
        "opened_at",
        "closed_at",
        "closed_by",
        "note",
        "lot",
        "decision",
        "decision_reason",
        "decided_by",
        "decided_at",
    )
    return Listed(columns, rows)


def readings(showing: Showing, lot: str) -> Listed:
    """Readings of a batch: of the probes where each of its steps was done, for as long as it was.

    Raises:
        KeyError: no such lot.
    """
    record = batch_record.record_of(showing.snapshot.state, whole_log(showing.gateway), LotCode(lot))
    rows = []
    for look in record_steps.looks(showing, record):
        for one in look.measured:
            assert look.since is not None
            until = look.until or showing.now
            for reading in showing.gateway.readings(one.probe.id, look.since, until):
                rows.append(
                    (
                        lot,
                        look.first.task.title,
                        look.first.equipment,
                        one.probe.id,
                        one.probe.reads,
                        reading.measured_at,
                        reading.recorded_at,
                        reading.celsius,
                    )
                )
    columns = (
        "lot",
        "step",
        "equipment",
        "probe",
        "reads",
        "measured_at",
        "recorded_at",
        "celsius",
    )
    return Listed(columns, rows)


def acts(showing: Showing, lot: str) -> Listed:
    """Everything that was entered about a lot, in that order; what was taken back stays, late entries say so.

    Raises:
        KeyError: no such lot.
    """
    record = batch_record.record_of(showing.snapshot.state, whole_log(showing.gateway), LotCode(lot))
    rows = []
    for line in record.log:
        done = getattr(line.event, "at", line.at)
        kind = f"undone {line.back.kind}" if isinstance(line.event, ActUndone) and line.back else line.event.kind
        rows.append(
            (
                lot,
                kind,
                line.title,
                done,
                line.at,
                is_late(done, line.at),
                getattr(line.event, "person", None),
                _words(line.event),
                line.undone,
            )
        )
    columns = (
        "lot",
        "act",
        "step",
        "done_at",
        "recorded_at",
        "late_entry",
        "person",
        "reason",
        "taken_back",
    )
    return Listed(columns, rows)


def _words(event: Event) -> str:
    """What whoever entered it said of it."""
    return next((said for name in ("reason", "override_reason", "note") if (said := getattr(event, name, ""))), "")


LISTS: Final[dict[str, Callable[[Showing, str], Listed]]] = {
    "orders": orders,
    "tasks": tasks,
    "lots": lots,
    "stock": stock,
    "alarms": alarms,
    "deviations": deviations,
    "looked-through": past.looked_through,
    "deliveries": books.deliveries,
    "crew": books.crew,
    "par-levels": books.par_levels,
    "recipes": books.recipes,
    "probes": watch.probes,
    "probe-checks": watch.checks,
    "machines": past.machines,
    "durations": watch.durations,
    "trials": past.trials,
    "calls": watch.calls,
    "drills": watch.drills,
    "hand-overs": past.handovers,
    "readings": readings,
    "acts": acts,
}
"""By the name of the file. `readings` and `acts` are of one lot: ``?lot=C1``."""
OF_A_LOT: Final = frozenset({"readings", "acts"})
