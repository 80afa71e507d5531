"""A command in its circumstances, what is answered, and what all acts have in common."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.commands import Command
from orchestrator.core.effects import AskForPlan, Effect
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Event, ReplanWanted
from orchestrator.core.ids import CrewId, TaskId
from orchestrator.core.late_entry import OLDEST_ON_PAPER
from orchestrator.core.models import Kitchen, Plan, PlannedTask
from orchestrator.core.plan_index import KitchenIndex, PlanIndex, kitchen_index, plan_index
from orchestrator.core.state import Facts, State, TaskStatus
from orchestrator.core.task_lifecycle import TaskAct, after

OLDEST_TAP: Final = timedelta(hours=12)
"""Taps queued offline for longer are refused: nobody remembers what they were about."""
FAST_CLOCK: Final = timedelta(minutes=2)
"""A screen's clock may run ahead this far."""
OFF_PLAN: Final = timedelta(minutes=5)
"""An end so far off its planned instant asks for a new plan."""


@dataclass(frozen=True, slots=True)
class Decision:
    """What is put on record, and what the engine then does; both may be empty."""

    events: tuple[Event, ...] = ()
    effects: tuple[Effect, ...] = ()


@dataclass(frozen=True, slots=True)
class Case:
    """A command's circumstances: what is known, the present instant, who acts and when it was done."""

    state: State
    now: datetime
    facts: Facts
    at: datetime
    """When it was done: tapped, or arrived."""
    person: CrewId | None

    @property
    def kitchen(self) -> Kitchen:
        """The kitchen; every command but the import is refused without one."""
        assert self.state.kitchen is not None
        return self.state.kitchen

    @property
    def known(self) -> KitchenIndex:
        """The kitchen by id."""
        return kitchen_index(self.kitchen)

    @property
    def plan(self) -> Plan | None:
        """The adopted plan."""
        return self.state.plan

    @property
    def threads(self) -> PlanIndex:
        """The adopted plan by id. Only asked for once a task of it was found."""
        assert self.state.plan is not None
        return plan_index(self.state.plan)

    def clock(self, instant: datetime) -> str:
        """An instant on the kitchen's own clock, for people; dated where a weekday alone would not say which."""
        local = self.kitchen.local(instant)
        days = (local.date() - self.kitchen.local(self.now).date()).days
        return local.strftime("%a %H:%M" if -1 <= days <= 5 else "%a %d %b %H:%M")


def enter(state: State, command: Command, now: datetime, facts: Facts) -> Case | Refusal:
    """The case of a command: its person is known, and its instant can be."""
    at = now
    if command.tapped_at is not None:
        if command.tapped_at > now + FAST_CLOCK:
            return _clock_wrong(command, "lies in the future", "check the screen's clock")
        if command.tapped_at < now - (OLDEST_ON_PAPER if command.from_paper else OLDEST_TAP):
            said = "is more than 7 days old" if command.from_paper else "is more than 12 h old"
            return _clock_wrong(command, said, "enter it again, now")
        at = min(command.tapped_at, now)
    case = Case(state, now, facts, at, command.person)
    if state.kitchen is not None and command.person is not None and command.person not in case.known.crew:
        return Refusal(
            code=RefusalCode.UNKNOWN,
            thing=command.person,
            status="not one of the crew",
            remedy=f"one of {', '.join(case.known.crew)}",
        )
    return case


def _clock_wrong(command: Command, status: str, remedy: str) -> Refusal:
    return Refusal(code=RefusalCode.BAD_VALUE, thing=command.kind, status=f"its time {status}", remedy=remedy)


def ready(case: Case, task: TaskId, act: TaskAct) -> PlannedTask | Refusal:
    """A task of the adopted plan, if its status allows the act."""
    planned = case.threads.tasks.get(task) if case.plan is not None else None
    if planned is None:
        why = "there is no plan yet" if case.plan is None else "not in the present plan"
        return Refusal(code=RefusalCode.UNKNOWN, thing=task, status=why, remedy="a task of the present plan")
    status = case.state.record(task).status
    if after(status, act) is not None:
        return planned
    remedy = {
        TaskStatus.WAITING: "start it first",
        TaskStatus.IN_HAND: "finish it, or take back its start",
        TaskStatus.DONE: "take back its end, if that was just now",
        TaskStatus.SKIPPED: "take back the skip, if that was just now",
    }[status]
    return Refusal(code=RefusalCode.WRONG_STATE, thing=task, status=status.value, remedy=remedy)


def named(case: Case, thing: str, why: str) -> CrewId | Refusal:
    """Who acts, where somebody must be named."""
    if case.person is None:
        return Refusal(
            code=RefusalCode.NOT_ALLOWED, thing=thing, status=f"nobody is named {why}", remedy="say who you are"
        )
    return case.person


def replan(case: Case, reason: str) -> tuple[tuple[Event, ...], tuple[Effect, ...]]:
    """A new plan is wanted: on record, and asked for."""
    return (ReplanWanted(at=case.now, reason=reason),), (AskForPlan(reason),)


def with_replan(case: Case, events: tuple[Event, ...], reason: str) -> Decision:
    """Events after which a new plan is wanted; without a reason none is."""
    if not reason:
        return Decision(events)
    wanted, effects = replan(case, reason)
    return Decision((*events, *wanted), effects)
