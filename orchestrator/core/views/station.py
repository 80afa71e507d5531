"""Everything on one station screen."""

from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.alarms import Look, look
from orchestrator.core.by_probes import met_by_all
from orchestrator.core.ids import StationId
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.models.alarm import NIGHT, Priority
from orchestrator.core.pace import usual_length
from orchestrator.core.state import Facts, State, TaskStatus
from orchestrator.core.views.allowed import may_undo, why_not_start
from orchestrator.core.views.models import IdleView, LastActView, StationView, TaskView, WindowState
from orchestrator.core.views.people import person_views, sorted_alarms
from orchestrator.core.views.stores import store_views
from orchestrator.core.views.task import build_task

_AHEAD: Final = timedelta(hours=24)
"""How far a cook looks: what is due later is counted, not listed."""
_FAR: Final = timedelta(days=3650)


def station_view(state: State, facts: Facts, now: datetime, station: StationId) -> StationView:
    """One station's screen.

    Raises:
        KeyError: no kitchen or no such station.
    """
    seen = look(state, facts, now)
    if seen is None or station not in seen.kitchen.stations:
        raise KeyError(station)
    name = seen.kitchen.stations[station].name
    here = [t for t in seen.plan.tasks.values() if _concerns(seen, t, station)]
    in_hand = [t for t in here if _wants_hands(seen, t)]
    nexts = [t for t in here if _is_next(seen, t) and t not in in_hand]
    alone = [t for t in here if seen.status(t) is TaskStatus.IN_HAND and t not in in_hand and _has_mark(seen, t)]
    in_hand.sort(key=lambda t: _pressing(seen, t))
    nexts.sort(key=lambda t: (seen.live[t.id].start, t.id))
    near = [t for t in nexts if seen.live[t.id].start <= now + _AHEAD] or nexts[:1]
    later = nexts[len(near) :]
    next_views = tuple(build_task(seen, t) for t in near)
    return StationView(
        station=station,
        name=name,
        in_hand=tuple(build_task(seen, t) for t in in_hand),
        next_here=next_views,
        later_here=len(later),
        later_from=seen.live[later[0].id].start if later else None,
        on_its_own=tuple(sorted((build_task(seen, t) for t in alone), key=lambda v: (_mark(seen, v), v.task))),
        stores=store_views(seen),
        alarms=sorted_alarms(
            a for a in state.alarms.values() if station in a.facts.stations or a.facts.priority is Priority.CRITICAL
        ),
        last_act=_last_act(seen, station),
        idle=None if in_hand else _idle(seen, nexts, next_views),
        people=person_views(seen),
        plan_revision=state.revision,
        proposal_waits=state.proposal is not None,
    )


def _concerns(look: Look, task: PlannedTask, station: StationId) -> bool:
    """Done here; or kept here, or kept for a task that is done here."""
    if look.gone(task.lot):
        return False
    if task.station == station:
        return True
    if task.kind is not TaskKind.STAY:
        return False
    machine = look.machine(task)
    if machine is not None and machine.station == station:
        return True
    return any(t.station == station for t in look.plan.takers(task.id))


def _wants_hands(look: Look, task: PlannedTask) -> bool:
    """Begun and needing hands at this moment, or due to be begun and free to begin."""
    if task.kind is TaskKind.STAY:
        return False
    status = look.status(task)
    if status is TaskStatus.WAITING:
        return task.start <= look.now and look.may_begin(task)
    return status is TaskStatus.IN_HAND and _attended_now(look, task)


def _attended_now(look: Look, task: PlannedTask) -> bool:
    record, live = look.state.record(task.id), look.live[task.id]
    started = record.started_at or live.start
    usual_end = started + usual_length(look.state, task)
    if look.now >= usual_end or _target_met(look, task):
        return True  # somebody has to take it out
    step = look.kitchen.step(task)
    if step is not None and step.reduce_to is not None and not record.weighings:
        return True  # its first weight is what all later ones are judged by: it is asked for as it begins
    for part in task.attended:
        minutes = timedelta(minutes=part.minutes or 0)
        if part.when == "throughout":
            return True
        if part.when == "start" and look.now < started + minutes:
            return True
        if part.when == "end" and look.now >= usual_end - minutes:
            return True
    return False


def _target_met(look: Look, task: PlannedTask) -> bool:
    return met_by_all(look.facts.values(), task.id, look.state.record(task.id).started_at)


def _is_next(look: Look, task: PlannedTask) -> bool:
    return task.kind is not TaskKind.STAY and look.status(task) is TaskStatus.WAITING


def _has_mark(look: Look, task: PlannedTask) -> bool:
    """What nobody takes and nothing limits needs no line of its own: the store shows it."""
    if task.kind is not TaskKind.STAY or look.plan.takers(task.id):
        return True
    return task.stay is not None and task.stay.most is not None


def _pressing(look: Look, task: PlannedTask) -> tuple[bool, datetime, str]:
    """Begun before due, then by what ends or should have begun first: stable while nothing happens."""
    record = look.state.record(task.id)
    started = record.started_at
    if started is None:
        return True, task.start, task.id
    return False, started + usual_length(look.state, task), task.id


def _mark(look: Look, view: TaskView) -> datetime:
    window = view.window
    if window is None:
        return view.planned_end
    marks = [m for m in (window.opens, window.planned, window.closes) if m is not None]
    if window.state is WindowState.MISSED and window.closes is not None:
        return window.closes
    return min((m for m in marks if m > look.now), default=look.now + _FAR)


def _last_act(look: Look, station: StationId) -> LastActView | None:
    for act in reversed(look.state.acts):
        task = look.plan.tasks.get(act.task)
        if task is None or task.station != station:
            continue
        who = look.kitchen.crew.get(act.person) if act.person else None
        return LastActView(
            act=act.seq,
            what=act.what,
            title=task.title,
            person=who.name if who else "",
            at=act.at,
            undoable=may_undo(look, act),
        )
    return None


def _unread(view: TaskView) -> tuple[str, ...]:
    return tuple(gate.says for gate in view.gates if gate.met is None)


def _pulled_along(look: Look, task: PlannedTask) -> tuple[PlannedTask | None, datetime | None]:
    """The first task that would have to come forward too, if this one were started now, and until when."""
    end = look.now + usual_length(look.state, task)
    found: list[tuple[datetime, PlannedTask]] = []
    for follower, link in look.plan.followers.get(task.id, ()):
        after = look.plan.tasks[follower]
        if link.most is None or after.kind is TaskKind.STAY:
            continue
        by = end + timedelta(minutes=link.most)
        if by < look.live[after.id].start:
            found.append((by, after))
    if not found:
        return None, None
    first_by, first = min(found, key=lambda pair: (pair[0], pair[1].id))
    return first, first_by


def _idle(look: Look, nexts: list[PlannedTask], views: tuple[TaskView, ...]) -> IdleView:
    facts = look.facts.values()
    first = nexts[0] if nexts else None
    refusal = why_not_start(look, first.id, _unread(views[0])) if first else None
    then, by = _pulled_along(look, first) if first else (None, None)
    return IdleView(
        next_task=views[0] if views else None,
        free_until=look.live[first.id].start if first else None,
        may_start_now=first is not None and refusal is None,
        why_not=refusal.status if refusal is not None else "",
        then_title=then.title if then else "",
        then_by=by,
        alarms_last_12h=sum(raised > look.now - NIGHT for raised in look.state.raised),
        probes_heard=sum(f.silent_since is None and f.measured_at is not None for f in facts),
        probes_total=len(look.kitchen.probes),
    )
