"""Acts that tell something about a step without ending it: trays, more time, problems, temperatures."""

from orchestrator.core.by_hand import newly_broken
from orchestrator.core.commands import EnterTemperature, ExtendTask, FinishTray, ReportProblem
from orchestrator.core.decide.case import Case, Decision, ready, with_replan
from orchestrator.core.decide.finishing import hold
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Event, ProblemReported, TaskExtended, TemperatureEntered, TrayFinished
from orchestrator.core.models import PlannedTask, TaskKind
from orchestrator.core.plausible import asked_about, doubt_of
from orchestrator.core.state import TaskStatus
from orchestrator.core.task_lifecycle import TaskAct


def tray(case: Case, command: FinishTray) -> Decision | Refusal:
    """One more tray of short-cycle work."""
    task = ready(case, command.task, TaskAct.FINISH_TRAY)
    if isinstance(task, Refusal):
        return task
    step = case.known.step(task)
    if step is None or step.cycle is None:
        return Refusal(
            code=RefusalCode.WRONG_STATE, thing=task.id, status="it is not made in trays", remedy="finish it as a whole"
        )
    made = case.state.record(task.id).pieces
    if command.made_before is not None and command.made_before != made:
        status = f"{made} are counted already, not {command.made_before}"
        return Refusal(code=RefusalCode.STALE, thing=task.id, status=status, remedy="look again: it may be counted")
    return Decision((TrayFinished(task=task.id, at=case.at, person=case.person, pieces=command.pieces),))


def extend(case: Case, command: ExtendTask) -> Decision | Refusal:
    """A step needs longer."""
    task = ready(case, command.task, TaskAct.EXTEND)
    if isinstance(task, Refusal):
        return task
    if task.kind is TaskKind.STAY:
        remedy = "start the task that takes it later"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status="a stay has no length", remedy=remedy)
    event = TaskExtended(task=task.id, at=case.at, person=case.person, minutes=command.minutes)
    return with_replan(case, (event,), f"{task.id} needs {command.minutes} min longer")


def problem(case: Case, command: ReportProblem) -> Decision | Refusal:
    """Something is wrong with a step or its food; on demand its lot goes on hold."""
    task = ready(case, command.task, TaskAct.REPORT)
    if isinstance(task, Refusal):
        return task
    if command.hold_lot and task.lot is None:
        return Refusal(
            code=RefusalCode.WRONG_STATE,
            thing=task.id,
            status="no lot of its own",
            remedy="report it at the lot's step",
        )
    told = ProblemReported(task=task.id, at=case.at, person=case.person, what=command.what, text=command.text)
    reason = f"{command.what}: {command.text}" if command.text else command.what
    held = hold(case, task, reason, case.at) if command.hold_lot else ()
    return with_replan(case, (told, *held), f"lot {task.lot} went on hold" if held else "")


def temperature(case: Case, command: EnterTemperature) -> Decision | Refusal:
    """A reading by hand; above the ceiling of a critical step in hand, the lot goes on hold."""
    task = ready(case, command.task, TaskAct.MEASURE)
    if isinstance(task, Refusal):
        return task
    doubt = None if command.sure else doubt_of(case.state, case.facts, task, command.celsius)
    if doubt is not None:
        return asked_about(doubt, task.id)
    event: Event = TemperatureEntered(task=task.id, at=case.at, person=case.person, celsius=command.celsius)
    reason = _shows_broken(case, task, command.celsius)
    held = hold(case, task, reason, case.at) if reason else ()
    return with_replan(case, (event, *held), f"lot {task.lot} went on hold" if held else "")


def _shows_broken(case: Case, task: PlannedTask, celsius: float) -> str:
    """The critical limit that a reading by hand newly shows broken; empty when none is."""
    step, record = case.known.step(task), case.state.record(task.id)
    if step is None or not step.critical or record.status is not TaskStatus.IN_HAND:
        return ""
    ceiling = step.target.ceiling if step.target is not None else None
    if ceiling is not None and celsius > ceiling:
        return f"{task.title}: {celsius:.1f} °C by hand, never above {ceiling:g} °C"
    title = newly_broken(case.state, task, (case.at, celsius, case.person))
    return f"{task.title}: {celsius:.1f} °C by hand, limit broken: {title}" if title else ""
