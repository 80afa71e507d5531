"""How people start and finish tasks: at the hour the plan gives, when their hands are free and the gates are met."""

from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.commands import EnterTemperature, ExtendTask, FinishTask, FinishTray, StartTask
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CrewId, ProbeId
from orchestrator.core.models import Measure, PlannedTask, ProbeFact, Step, Target, TaskKind, WindowClass
from orchestrator.core.pace import longest_length, minutes_here, usual_length
from orchestrator.core.plan_index import kitchen_index, plan_index
from orchestrator.core.state import State, TaskRecord, TaskStatus
from orchestrator.core.windows import start_bounds
from orchestrator.simulator.measures import measured
from orchestrator.simulator.people import Look, People
from orchestrator.simulator.roster import occupied, wants_hands_at_end, wants_hands_at_start

_OVER = (TaskStatus.DONE, TaskStatus.SKIPPED)
_SOMEBODY_ELSE_AFTER: Final = timedelta(minutes=20)
_INSIST_AFTER: Final = timedelta(minutes=15)
_LONGER_MIN: Final = 10
_LOOKS_AHEAD: Final = timedelta(hours=3)
"""How far ahead people look for windows that close."""
_IN_TIME: Final = timedelta(minutes=4)
_SHORT: Final = timedelta(minutes=20)
_AT_ONCE_MIN: Final = 5
_OVERTIME: Final = timedelta(minutes=10)
"""Work that is not urgent is not begun if it would end so long after the shift."""
_MOST_EXTENSIONS_MIN: Final = 40


def step_of(state: State, task: PlannedTask) -> Step | None:
    """The recipe's step behind a task; none for clean-downs and holds."""
    return kitchen_index(state.kitchen).step(task) if state.kitchen is not None else None


def starts(crew: People, look: Look) -> None:
    """Start what is due, in the order of the plan."""
    assert look.state.plan is not None
    for task in sorted(look.state.plan.tasks, key=lambda t: t.start):
        # A start may bring a new plan, which leaves some of these out.
        if look.state.plan is None or task.id not in plan_index(look.state.plan).tasks:
            continue
        if task.kind is TaskKind.STAY or look.state.record(task.id).status is not TaskStatus.WAITING:
            continue
        due = _due(crew, look, task)
        if due > look.now:
            look.wake(due)
        elif _ready(look, task) and not crew.left_alone(look, f"start {task.id}"):
            _start(crew, look, task, due)


def _due(crew: People, look: Look, task: PlannedTask) -> datetime:
    """When somebody means to begin: as planned and a little late, but in time for a window that they see closing."""
    due = task.start + _dawdle(crew, task)
    if task.start - look.now > _LOOKS_AHEAD:
        return due
    window = start_bounds(look.state, task)
    if window.closes is None or not window.firm or window.cls is WindowClass.PREFERENCE:
        return due
    if window.opens is not None and window.closes - window.opens <= _SHORT:
        return min(due, window.opens)  # nobody leaves hot food standing
    in_time = window.closes - _IN_TIME
    if window.closes >= task.start:
        return min(due, max(in_time, task.start))
    return max(in_time, window.opens) if window.opens is not None else in_time


def _dawdle(crew: People, task: PlannedTask) -> timedelta:
    """People begin a few minutes late, now and then a quarter of an hour; what follows at once finds them there."""
    if not task.attended or any(link.most is not None and link.most < _AT_ONCE_MIN for link in task.links):
        return timedelta()
    minutes = min(crew.draw(f"late {task.id}").expovariate(1 / 2.5), 18.0)
    return timedelta(minutes=round(crew.variation * minutes))


def _ready(look: Look, task: PlannedTask) -> bool:
    """Everything before it has ended, or keeps the food for it, and its machine is not stopped."""
    assert look.state.plan is not None
    kinds = {t.id: t.kind for t in look.state.plan.tasks}
    for link in task.links:
        status = look.state.record(link.after).status
        waits_in_store = kinds.get(link.after) is TaskKind.STAY and status is TaskStatus.IN_HAND
        if status not in _OVER and not waits_in_store:
            return False
    return task.equipment not in look.state.machines


def _start(crew: People, look: Look, task: PlannedTask, due: datetime) -> None:
    hands = wants_hands_at_start(task)
    person = _who_starts(crew, look, task) if hands else crew.anyone(look.now)
    if hands and person is None:
        return  # nobody free with the skill: look again when somebody is
    about = f"start {task.id}"
    insist = crew.tries.get(about, 0) > 0 and look.now - due > _INSIST_AFTER and person is not None
    command = StartTask(
        command_id=crew.command_id(look.now, "start", task.id),
        person=person,
        task=task.id,
        override_reason="overdue; looked at and judged fit by hand" if insist else "",
    )
    outcome = crew.submit(look, command, about)
    if not isinstance(outcome, Refusal) or outcome.code is not RefusalCode.GATE_SHUT or person is None:
        return
    if outcome.remedy.startswith("measure by hand"):  # no probe sits there: a look at the machine's own dial will do
        confirmed = {"command_id": crew.command_id(look.now, "sure", task.id), "override_reason": "read off by hand"}
        crew.submit(look, command.model_copy(update=confirmed), about)
    else:
        _measure_by_hand(crew, look, task, person)


def _who_starts(crew: People, look: Look, task: PlannedTask) -> CrewId | None:
    """Whom the plan names; when they have not come for long, anybody free who can do it."""
    busy = occupied(look.state, look.now)
    free = [m.id for m in crew.roster.skilled(look.now, task.skill) if m.id not in busy]
    free = [name for name in free if _can_end(crew, look, task, name)]
    planned = task.spans[0].crew if task.spans else ()
    if planned and all(name in free for name in planned):
        return planned[0]
    if len(free) < task.hands or (planned and look.now - task.start < _SOMEBODY_ELSE_AFTER):
        return None
    return free[0]


def _can_end(crew: People, look: Look, task: PlannedTask, person: CrewId) -> bool:
    """Whether the task ends within their shift, or somebody else's; or cannot wait for tomorrow without spoiling."""
    if not wants_hands_at_end(task):
        return True
    end = look.now + usual_length(look.state, task)
    throughout = any(a.when == "throughout" for a in task.attended)
    if look.now + crew.roster.time_left(person, look.now) + _OVERTIME >= end:
        return True
    if not throughout and any(crew.roster.on_shift_at(m.id, end) for m in crew.roster.able(task.skill)):
        return True
    closes = start_bounds(look.state, task).closes
    return closes is not None and closes < (crew.roster.next_there(task.skill, look.now) or closes)


def _measure_by_hand(crew: People, look: Look, task: PlannedTask, person: CrewId) -> None:
    celsius = crew.measure_c(str(task.lot or task.order or ""))
    if celsius is not None:
        name = crew.command_id(look.now, "hand", task.id)
        command = EnterTemperature(command_id=name, person=person, task=task.id, celsius=round(celsius, 1), sure=True)
        crew.submit(look, command, f"hand {task.id}")


def finishes(crew: People, look: Look) -> None:
    """Finish what has come to its end."""
    assert look.state.plan is not None
    for task in look.state.plan.tasks:
        record = look.state.record(task.id)
        if task.kind is TaskKind.STAY or record.status is not TaskStatus.IN_HAND or record.started_at is None:
            continue
        step = step_of(look.state, task)
        if (record.equipment or task.equipment) in look.state.machines:
            continue  # the machine stands still, and the food in it
        if step is not None and step.cycle is not None and _tray(crew, look, task, record, step):
            continue
        record = look.state.record(task.id)
        assert record.started_at is not None
        end = record.started_at + drawn_length(crew, look, task) + timedelta(minutes=record.extended_min)
        if end > look.now:
            look.wake(end)
        elif not crew.left_alone(look, f"finish {task.id}") and _at_target(crew, look, task, record, step):
            _finish(crew, look, task, record, step)


def drawn_length(crew: People, look: Look, task: PlannedTask) -> timedelta:
    """How long it takes this time: around the usual, between shortest and longest. What stands on its own until it
    has its temperature is taken out when its time is up, or a few minutes later: nobody forgets it for an hour."""
    length = minutes_here(look.state, task)
    step = step_of(look.state, task)
    if step is not None and step.target is not None and not any(a.when == "throughout" for a in task.attended):
        late = min(crew.draw(f"length {task.id}").expovariate(1 / 3.0), 12.0)
        return timedelta(minutes=length.usual + round(crew.variation * late))
    low, high = float(length.shortest), float(length.longest)
    drawn = crew.draw(f"length {task.id}").triangular(low, high, length.usual) if high > low else low
    return timedelta(minutes=round(length.usual + crew.variation * 0.6 * (drawn - length.usual)))


def _tray(crew: People, look: Look, task: PlannedTask, record: TaskRecord, step: Step) -> bool:
    """Take out the trays that are done; True while there are more to come."""
    assert step.cycle is not None
    assert record.started_at is not None
    wanted = round(task.quantity.value) if task.quantity is not None else 0
    person = _who_ends(crew, look, task, record)
    if record.pieces >= wanted or person is None:
        return record.pieces < wanted
    done = record.pieces // step.cycle.pieces
    due = record.started_at + timedelta(minutes=(done + 1) * step.cycle.each)
    if due > look.now:
        look.wake(due)
        return True
    name = crew.command_id(look.now, f"tray{done}", task.id)
    pieces = min(step.cycle.pieces, wanted - record.pieces)
    tray = FinishTray(command_id=name, person=person, task=task.id, pieces=pieces)
    if not crew.left_alone(look, f"tray {task.id}"):
        crew.submit(look, tray, f"tray {task.id}")
    return look.state.record(task.id).pieces < wanted


def _fact(crew: People, task: PlannedTask) -> ProbeFact | None:
    facts: dict[ProbeId, ProbeFact] = dict(crew.gateway.snapshot().facts)
    return next((fact for fact in facts.values() if fact.task == task.id), None)


def _at_target(crew: People, look: Look, task: PlannedTask, record: TaskRecord, step: Step | None) -> bool:
    """Wait for the temperature that the recipe asks for, asking for more time at the longest."""
    if step is None or step.target is None:
        return True
    fact = _fact(crew, task)
    heard = fact is not None and fact.silent_since is None
    if (fact is not None and fact.met_at is not None) or (
        not heard and _reached_by_hand(crew, look, task, step.target)
    ):
        return True
    assert record.started_at is not None
    longest = record.started_at + longest_length(look.state, task)
    if look.now >= longest and record.extended_min < _MOST_EXTENSIONS_MIN:
        name = crew.command_id(look.now, "longer", task.id)
        person = crew.anyone(look.now, record.started_by)
        command = ExtendTask(command_id=name, person=person, task=task.id, minutes=_LONGER_MIN)
        crew.submit(look, command, f"longer {task.id}")
        return False
    crew.leave(look, f"finish {task.id}", timedelta(minutes=1 if heard else _LONGER_MIN))
    return look.now >= longest


def _reached_by_hand(crew: People, look: Look, task: PlannedTask, target: Target) -> bool:
    """No probe says it: somebody takes the hand-held thermometer."""
    person = crew.anyone(look.now, look.state.record(task.id).started_by)
    celsius = crew.measure_c(str(task.lot or task.order or ""))
    if person is None or celsius is None:
        return False
    _measure_by_hand(crew, look, task, person)
    shown = round(celsius, 1)
    return shown >= target.celsius if target.at_least is not None else shown <= target.celsius


def _who_ends(crew: People, look: Look, task: PlannedTask, record: TaskRecord) -> CrewId | None:
    if not wants_hands_at_end(task):
        return crew.anyone(look.now, record.started_by)
    able = [m.id for m in crew.roster.skilled(look.now, task.skill)]
    if any(a.when == "throughout" for a in task.attended) and record.started_by in able:
        return record.started_by
    busy = occupied(look.state, look.now) - {record.started_by}
    return next((name for name in able if name not in busy), None)


def _finish(crew: People, look: Look, task: PlannedTask, record: TaskRecord, step: Step | None) -> None:
    person = _who_ends(crew, look, task, record)
    if person is None and wants_hands_at_end(task):
        return
    about = f"finish {task.id}"
    values: dict[Measure, float] = measured(crew, task, record, step)
    insist = crew.tries.get(about, 0) > 0 and person is not None
    command = FinishTask(
        sure=True,
        command_id=crew.command_id(look.now, "finish", task.id),
        person=person,
        task=task.id,
        measured=values,
        override_reason="measured by hand and judged done" if insist else "",
    )
    outcome = crew.submit(look, command, about)
    if isinstance(outcome, Refusal) and person is not None:
        _measure_by_hand(crew, look, task, person)
