"""Ending a step: what was measured, whether its target was met, and the stay that begins with it."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from math import inf, isfinite

from orchestrator.core.by_hand import HandReading, fills, newly_broken, readings_of, said_by_hand
from orchestrator.core.by_probes import met_by_all
from orchestrator.core.commands import FinishTask, SkipTask
from orchestrator.core.decide.by_products import left_by, weights_fit
from orchestrator.core.decide.case import FAST_CLOCK, OFF_PLAN, Case, Decision, named, ready, with_replan
from orchestrator.core.decide.doubt import served_in_doubt
from orchestrator.core.decide.paces import reduction_shown
from orchestrator.core.decide.stays import stays_begin, stays_end
from orchestrator.core.deviations.opening import GAP_SAYS
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Event, TaskFinished, TaskSkipped
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.material import MEASURES
from orchestrator.core.measured_yields import beyond_tolerance
from orchestrator.core.models import Measure, PlannedTask, Step, Target, TaskKind
from orchestrator.core.plausible import asked_about, doubt_of
from orchestrator.core.plausible_amounts import BRIX_MOST, amount_doubt, weight_doubt
from orchestrator.core.state import LotStatus, TaskRecord, TaskStatus
from orchestrator.core.task_lifecycle import TaskAct


def finish(case: Case, command: FinishTask) -> Decision | Refusal:
    """End a step; the stays that it fills begin at the same instant."""
    task = ready(case, command.task, TaskAct.FINISH)
    if isinstance(task, Refusal):
        return task
    record = case.state.record(task.id)
    at = max(case.at, record.started_at or case.at)
    step = case.known.step(task)
    missed = _target_missed(case, task, step, _read_by_hand(record, command, at), at)
    refusal = (
        _may_end(case, task, record)
        or _doubtful(case, task, command)
        or served_in_doubt(case, task)
        or _measured(task, step, record, command)
        or weights_fit(task, step, command)
        or _target(case, task, missed, command)
    )
    if refusal is not None:
        return refusal
    ended = TaskFinished(
        task=task.id,
        at=at,
        person=case.person,
        measured=command.measured,
        override_reason=command.override_reason,
    )
    doubt = missed or _gap(case, task, command, at) or _broken_by_hand(case, task, command, at)
    held = hold(case, task, f"{task.title}: {doubt}", at) if doubt and step is not None and step.critical else ()
    off = abs(at - task.end) >= OFF_PLAN
    why = f"{task.id} went on hold" if held else f"{task.id} ended {_off(at, task.end)}" if off else ""
    why = why or _gave_too_little(case, task, step, command)
    left = left_by(case, task, step, command, at)
    shown = reduction_shown(case, task, step, at)
    return with_replan(case, (ended, *stays_begin(case, task, at), *left, *shown, *held), why)


def _gave_too_little(case: Case, task: PlannedTask, step: Step | None, command: FinishTask) -> str:
    """That a component gave less than planned by more than the kitchen's tolerance, and work still counts on it."""
    batch = case.threads.batches.get(task.lot) if task.lot is not None else None
    if batch is None or step is None or step.measure is None or MEASURES.get(step.measure) is not batch.size.unit:
        return ""
    recipe = case.kitchen.made_by(batch.recipe, batch.revision)
    work = [s.id for s in recipe.steps if s.per == "batch" and s.stay is None] if recipe is not None else []
    made = command.measured.get(step.measure)
    if made is None or not work or work[-1] != step.id or beyond_tolerance(case.kitchen, batch, made) >= 0:
        return ""
    return f"{batch.lot} gave {made:.4g} {batch.size.unit}, {batch.size.value:.4g} were planned"


def _may_end(case: Case, task: PlannedTask, record: TaskRecord) -> Refusal | None:
    if task.kind is TaskKind.STAY:
        remedy = "start the task that takes it: the stay ends at that instant"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status="a stay ends by itself", remedy=remedy)
    if record.started_at is not None and case.at < record.started_at - FAST_CLOCK:
        status = f"it was started {case.clock(record.started_at)}, after that"
        ours = case.now < record.started_at - FAST_CLOCK
        remedy = (
            "set the computer's clock right, or end it once it is that late again"
            if ours
            else "check the screen's clock"
        )
        return Refusal(code=RefusalCode.BAD_VALUE, thing=task.id, status=status, remedy=remedy)
    return None


def _doubtful(case: Case, task: PlannedTask, command: FinishTask) -> Refusal | None:
    """A temperature at the end that looks like another unit."""
    entered = command.measured.get(Measure.TEMPERATURE_C)
    doubt = None if entered is None or command.sure else doubt_of(case.state, case.facts, task, entered)
    return None if doubt is None else asked_about(doubt, task.id)


def _at_end(case: Case, command: FinishTask, at: datetime) -> tuple[HandReading, ...]:
    entered = command.measured.get(Measure.TEMPERATURE_C)
    return () if entered is None else ((at, entered, case.person),)


def _gap(case: Case, task: PlannedTask, command: FinishTask, at: datetime) -> str:
    """That nobody knows whether the limit was kept: the probe was silent for too long, and nobody measured enough."""
    verdicts = (fact.verdict for fact in case.facts.values() if fact.task == task.id)
    open_ = next((v for v in verdicts if v is not None and v.status == "not judged" and v.gap is not None), None)
    if open_ is None or open_.gap is None:
        return ""
    step, record = case.known.step(task), case.state.record(task.id)
    by_hand = (*readings_of(record), *_at_end(case, command, at))
    alone = said_by_hand(case.kitchen, step, record.started_at, by_hand, at)
    if (alone is not None and alone.status == "met") or fills(case.kitchen, open_, by_hand):
        return ""
    return f"{GAP_SAYS}, {case.clock(open_.gap[0])} to {case.clock(open_.gap[1])}"


def _broken_by_hand(case: Case, task: PlannedTask, command: FinishTask, at: datetime) -> str:
    """The limit that the temperature at the end shows broken."""
    title = next((t for one in _at_end(case, command, at) if (t := newly_broken(case.state, task, one))), "")
    return f"limit broken: {title}" if title else ""


def _target(case: Case, task: PlannedTask, missed: str, command: FinishTask) -> Refusal | None:
    if not missed or (command.override_reason and case.person is not None):
        return None
    remedy = "go on until it is met and measure again, or name a person and a reason"
    return Refusal(code=RefusalCode.GATE_SHUT, thing=task.id, status=missed, remedy=remedy)


def _off(at: datetime, planned: datetime) -> str:
    minutes = round((at - planned).total_seconds() / 60)
    return f"{abs(minutes)} min {'late' if minutes > 0 else 'early'}"


def hold(case: Case, task: PlannedTask, reason: str, at: datetime) -> tuple[Event, ...]:
    """The task's lot goes on hold, or is for one reason more; unless there is none or it is gone."""
    record = case.state.lots.get(task.lot) if task.lot is not None else None
    if task.lot is None or (record is not None and record.status in (LotStatus.DISCARDED, LotStatus.REWORK)):
        return ()
    return (LotHeld(lot=task.lot, at=at, reason=reason, task=task.id),)


def _measured(task: PlannedTask, step: Step | None, record: TaskRecord, command: FinishTask) -> Refusal | None:
    """What the recipe asks to measure is there and can be."""
    if step is None or step.measure is None or task.kind is not TaskKind.WORK:
        return None
    value = command.measured.get(step.measure)
    name = step.measure.value
    if value is None:
        status = f"{name} is missing"
        return Refusal(code=RefusalCode.BAD_VALUE, thing=task.id, status=status, remedy=f"enter {name}")
    signed = step.measure is Measure.TEMPERATURE_C and isfinite(value)
    refusal = None if signed else _impossible(task, step.measure, value)
    if refusal is not None or signed or command.sure or command.override_reason:
        return refusal
    if step.measure is Measure.WEIGHT_KG and step.reduce_to is not None and record.weighings:
        # Weighed before, it is judged by that: what a recipe expects is often litres.
        return weight_doubt(task.id, value, record.weighings[0][1] * step.reduce_to)
    return amount_doubt(task.id, step.measure, value, task.quantity)


def _impossible(task: PlannedTask, measure: Measure, value: float) -> Refusal | None:
    """What no scale, jug or refractometer shows: no confirming and no reason lets it in."""
    if not 0 < value < inf:
        status, remedy = f"{measure.value} is {value:g}", "a number above 0"
    elif measure is Measure.BRIX and value > BRIX_MOST:
        status = f"{value:g} °Bx is more sugar than there is food: no more than 100 g are in 100 g"
        remedy = "look at the refractometer again"
    else:
        return None
    return Refusal(code=RefusalCode.BAD_VALUE, thing=task.id, status=status, remedy=remedy)


def _read_by_hand(record: TaskRecord, command: FinishTask, at: datetime) -> tuple[tuple[datetime, float], ...]:
    """What was measured by hand while it was in hand, and at its end."""
    entered = command.measured.get(Measure.TEMPERATURE_C)
    return record.hand_readings if entered is None else (*record.hand_readings, (at, entered))


def _target_missed(
    case: Case, task: PlannedTask, step: Step | None, by_hand: tuple[tuple[datetime, float], ...], at: datetime
) -> str:
    """Why the target of a step does not count as met; empty when it does or there is none.

    What a cook measures at the end decides: food too warm in the middle is not done, whatever a probe beside it says.
    """
    target = step.target if step is not None else None
    if target is None:
        return ""
    facts = [fact for fact in case.facts.values() if fact.task == task.id]
    too_far = bool(by_hand) and by_hand[-1][0] == at and _outside(target, by_hand[-1][1])
    since = case.state.record(task.id).started_at
    if not too_far and (met_by_all(facts, task.id, since) or _met_by_hand(target, by_hand, at)):
        return ""
    wanted = f"at least {target.at_least:g}" if target.at_least is not None else f"at most {target.at_most:g}"
    held = f" for {target.hold} min" if target.hold else ""
    seen = [fact.celsius for fact in facts if fact.celsius is not None] + [c for _, c in by_hand[-1:]]
    last = f", last {seen[-1]:.1f} °C" if seen else ", no reading"
    return f"target {wanted} °C{held} was not met{last}"


def _outside(target: Target, celsius: float) -> bool:
    low = target.at_least is not None and celsius < target.at_least
    return low or (target.at_most is not None and celsius > target.at_most)


def _met_by_hand(target: Target, readings: Sequence[tuple[datetime, float]], at: datetime) -> bool:
    """The latest readings by hand, without a break, are at the target for as long as asked."""
    since: datetime | None = None
    for measured_at, celsius in reversed(readings):
        if _outside(target, celsius) or measured_at > at:
            break
        since = measured_at
    last = readings[-1][0] if readings else None
    return since is not None and last is not None and last - since >= timedelta(minutes=target.hold)


def skip(case: Case, command: SkipTask) -> Decision | Refusal:
    """Leave out the step whose turn it is; what it would have filled begins, a critical one holds the lot."""
    task = ready(case, command.task, TaskAct.SKIP)
    if isinstance(task, Refusal):
        return task
    refusal = _may_skip(case, task)
    if refusal is not None:
        return refusal
    before = [case.state.record(link.after).finished_at for link in task.links]
    at = max([case.at, *(end for end in before if end is not None)])
    left_out = TaskSkipped(task=task.id, at=at, person=case.person, reason=command.reason)
    step = case.known.step(task)
    critical = step is not None and step.critical
    held = hold(case, task, f"critical step left out: {task.title}", at) if critical else ()
    events: tuple[Event, ...] = (left_out, *stays_end(case, task, at), *stays_begin(case, task, at), *held)
    return with_replan(case, events, f"{task.id} was skipped")


def _may_skip(case: Case, task: PlannedTask) -> Refusal | None:
    who = named(case, task.id, "to skip it")
    if isinstance(who, Refusal):
        return who
    if task.kind is not TaskKind.WORK:
        says = "a clean-down" if task.kind is TaskKind.CLEAN else "a stay"
        remedy = "do it: clean-downs are never traded away" if task.kind is TaskKind.CLEAN else "skip a step beside it"
        return Refusal(code=RefusalCode.NOT_ALLOWED, thing=task.id, status=f"{says} is not skipped", remedy=remedy)
    for link in task.links:
        before = case.threads.tasks.get(link.after)
        if before is None:
            continue
        status = case.state.record(before.id).status
        in_store = before.kind is TaskKind.STAY and status is TaskStatus.IN_HAND
        if not in_store and status not in (TaskStatus.DONE, TaskStatus.SKIPPED):
            says = f"its turn has not come: {before.id} is {status.value}"
            remedy = f"finish or skip {before.id} first"
            return Refusal(code=RefusalCode.WRONG_STATE, thing=task.id, status=says, remedy=remedy)
    return None
