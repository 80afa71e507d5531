"""What every alarm about a task tells of it: its lots, where it is, who is shown it, which orders it touches."""

from datetime import datetime

from orchestrator.core.alarms.look import Look, alarm_id
from orchestrator.core.ids import AlarmId, LotCode
from orchestrator.core.models import PlannedTask, ProbeFact
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Help, Priority


def lots_of(*tasks: PlannedTask) -> tuple[LotCode, ...]:
    """The lots of some tasks, each once."""
    return tuple(dict.fromkeys(task.lot for task in tasks if task.lot is not None))


def task_facts(
    look: Look,
    kind: AlarmKind,
    task: PlannedTask,
    *,
    priority: Priority,
    since: datetime | None,
    limit_at: datetime | None,
    helps: tuple[Help, ...],
    limiting: PlannedTask | None = None,
    missed: bool = False,
    expected_at: datetime | None = None,
    reason: str = "",
    save_by: datetime | None = None,
    probe: ProbeFact | None = None,
    limit_c: float | None = None,
) -> tuple[AlarmId, AlarmFacts]:
    """The alarm of a kind about a task; ``limiting`` is the task or stay that its window counts from, if another."""
    concerned = (task,) if limiting is None else (task, limiting)
    lots = lots_of(*reversed(concerned))
    return alarm_id(kind, task.id), AlarmFacts(
        kind=kind,
        priority=priority,
        missed=missed,
        task=task.id,
        title=task.title,
        lot=task.lot or next(iter(lots), None),
        lots=lots,
        equipment=look.state.record(task.id).equipment or task.equipment,
        probe=probe.probe if probe else None,
        stations=look.stations(concerned),
        orders=look.orders(concerned),
        since=since,
        limit_at=limit_at,
        expected_at=expected_at,
        celsius=probe.celsius if probe else None,
        limit_c=limit_c,
        reason=reason,
        helps=helps,
        save_by=save_by,
    )
