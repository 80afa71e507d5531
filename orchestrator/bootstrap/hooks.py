"""What a demo or a test puts in the place of the real thing."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from orchestrator.adapters.apprise_notifier import AppriseNotifier
from orchestrator.adapters.apscheduler_timers import ApschedulerTimers
from orchestrator.adapters.database_planner import DatabasePlanner
from orchestrator.adapters.no_notifier import NothingIsSent
from orchestrator.adapters.planner_process import PlannerProcess
from orchestrator.adapters.scaled_clock import ScaledClock, ScaledTimers
from orchestrator.adapters.system_clock import SystemClock
from orchestrator.bootstrap.planner_child import serve_quick, serve_searches
from orchestrator.bootstrap.settings import Settings
from orchestrator.bootstrap.web_server import ASGIApp
from orchestrator.core.models import Kitchen
from orchestrator.core.models.calls import Call
from orchestrator.engine import DeskSettings, Rules
from orchestrator.engine.alarm_clock import TimersFactory
from orchestrator.engine.calling import Compose
from orchestrator.engine.rules import Assess
from orchestrator.gateway.door import Gateway
from orchestrator.ports.access import AccessStore
from orchestrator.ports.calling import Message, Notifier
from orchestrator.ports.clock import Clock
from orchestrator.ports.planning import Planner


@dataclass(frozen=True, slots=True)
class Hooks:
    """All left out: a real kitchen."""

    clock: Clock | None = None
    timers: TimersFactory | None = None
    planner: Planner | None = None
    """Given, it is not closed by us."""
    rules: Rules | None = None
    desk: DeskSettings | None = None
    app: Callable[[Gateway], ASGIApp] | None = None
    """Makes the screens."""
    notifier: Notifier | None = None
    """Sends messages to people; in PRACTICE none is sent, whatever stands here."""
    web: bool = True
    """False: no screens at all."""


def rules_of(hooks: Hooks) -> Rules:
    """Core's own, unless others are given."""
    return hooks.rules or core_rules()


def core_rules() -> Rules:
    """The rules of the kitchen as core has them."""
    from orchestrator.core.adoption import still_holds
    from orchestrator.core.decide import decide
    from orchestrator.core.due import next_due
    from orchestrator.core.evolve import evolve_decided
    from orchestrator.core.planning import plan_request

    return Rules(decide, evolve_decided, next_due, plan_request, still_holds, _assessor)


def _assessor(kitchen: Kitchen) -> Assess:
    from orchestrator.engine.assess import Assessor

    return Assessor(kitchen)


def clock_of(hooks: Hooks) -> Clock:
    """The wall clock, unless another is given."""
    return hooks.clock or SystemClock()


def timers_of(hooks: Hooks, clock: Clock) -> TimersFactory:
    """APScheduler in a real kitchen; under a fast clock, that clock's own."""
    if hooks.timers is not None:
        return hooks.timers
    if isinstance(clock, ScaledClock):
        return lambda callback: ScaledTimers(clock, callback)
    return ApschedulerTimers


def planner_of(hooks: Hooks, settings: Settings) -> Planner:
    """The planner's own processes, warm from the start, unless another is given, or workers elsewhere are to plan."""
    if hooks.planner is not None:
        return hooks.planner
    if settings.planner == "database":
        return DatabasePlanner(settings.database)
    process = PlannerProcess(serve_quick, serve_searches)
    process.start()
    return process


def notifier_of(hooks: Hooks, *, practice: bool) -> Notifier:
    """The kept library behind its port; in PRACTICE nothing is sent."""
    if practice:
        return NothingIsSent()
    return hooks.notifier or AppriseNotifier()


def compose_of(gateway: Gateway) -> Compose:
    """Puts calls into words; the words are loaded with the first call."""

    def compose(call: Call) -> Message:
        from display.calling import message_of

        title, body = message_of(gateway, call)
        return Message(title, body)

    return compose


def app_of(hooks: Hooks, access: AccessStore | None = None) -> Callable[[Gateway], ASGIApp]:
    """The screens.

    Args:
        hooks: May have others.
        access: Who may come in; none: everybody.
    """
    if hooks.app is not None:
        return hooks.app
    from display.access.guard import Guard
    from display.app import create_app

    return partial(create_app, guard=Guard(access))


def load_all(hooks: Hooks) -> None:
    """Import what a start imports on its way: seconds on a small computer."""
    rules_of(hooks)
    app_of(hooks)
    import orchestrator.engine.assess
    import orchestrator.kitchen.read  # noqa: F401
