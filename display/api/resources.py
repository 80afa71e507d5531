"""What can be read: one entry a resource, from which both the routes and the OpenAPI document are made."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Annotated, Any, Final

from pydantic import AwareDatetime, BeforeValidator, Field

from display.api import crew, demand, doubt, planning
from display.api.handing_in import kitchen_of
from display.api.reading import NotThere, Query
from orchestrator.core import views
from orchestrator.core.alarm_figures import Figures
from orchestrator.core.events import Recorded
from orchestrator.core.ids import ProbeId, StationId, TaskId
from orchestrator.core.models import Model, Plan
from orchestrator.core.models.alarm import Alarm
from orchestrator.core.models.base import Instant
from orchestrator.core.models.questions import WhyAnswer
from orchestrator.core.models.risk import Risk
from orchestrator.core.views.board_models import BoardView
from orchestrator.core.views.calls import CallsView
from orchestrator.core.views.figures import DurationView
from orchestrator.core.views.make_next import NextView
from orchestrator.core.views.models import LotView, OrderView, ProbeView, StationView, TaskView
from orchestrator.gateway.door import Gateway


class Now(Model):
    """The kitchen's clock and where the log stands."""

    now: AwareDatetime
    rate: float
    """Kitchen seconds a real second; 0 while paused."""
    practice: bool
    """True in a demo: nothing shown is real."""
    seq: int
    """Of the last event."""
    revision: int
    """Of the plan."""
    linked: bool
    planning: bool
    better_plans: int
    """How many better plans the search has found so far."""
    rejected: dict[str, int]
    """Readings turned away, by reason."""


class StationSummary(Model):
    """A station."""

    id: StationId
    name: str


class ReadingView(Model):
    """One stored reading."""

    celsius: float
    measured_at: AwareDatetime
    recorded_at: AwareDatetime


@dataclass(frozen=True, slots=True)
class Resource:
    """A thing that can be read."""

    path: str
    """Below /api/v1, OpenAPI style: ``/stations/{station}``."""
    summary: str
    answer: Any
    """The type of the answer, for the document."""
    read: Callable[[Gateway, dict[str, str], Any], Any]
    asked: type[Query] = Query
    """What its address may say after the question mark; `read` gets it, judged."""


def _with_plus(text: object) -> object:
    """A plus sign that was not escaped arrives as a blank."""
    return text.replace(" ", "+") if isinstance(text, str) else text


InAddress = Annotated[Instant, BeforeValidator(_with_plus)]
_TWO_HOURS: Final = timedelta(hours=2)


class ReadingsAsked(Query):
    """From when to when."""

    since: InAddress | None = Field(None, description="RFC 3339; left out: two hours before until")
    until: InAddress | None = Field(None, description="RFC 3339; left out: now")


class EventsAsked(Query):
    """Which part of the log."""

    after: int = Field(0, ge=0, le=2**63 - 1, description="only events with a greater seq")
    limit: int = Field(200, ge=1, le=1000, description="at most so many")


SEEN: Final = (
    "Whoever was called answers by an act: POST /commands with kind acknowledge_alarm, the alarm's id and who it is; "
    "an alarm that was seen calls nobody further."
)


def _now(gateway: Gateway, _: dict[str, str], __: Query) -> Now:
    s = gateway.snapshot()
    return Now(
        now=s.now,
        rate=s.rate,
        practice=s.practice,
        seq=s.state.seq,
        revision=s.state.revision,
        linked=s.linked,
        planning=s.planning,
        better_plans=s.better_plans,
        rejected=dict(s.rejected),
    )


def _stations(gateway: Gateway, _: dict[str, str], __: Query) -> list[StationSummary]:
    return [StationSummary(id=s.id, name=s.name) for s in kitchen_of(gateway.snapshot()).stations]


def _station(gateway: Gateway, path: dict[str, str], _: Query) -> StationView:
    s = gateway.snapshot()
    known = [station.id for station in kitchen_of(s).stations]
    if path["station"] not in known:
        raise NotThere(f"no station {path['station']!r}; there are {', '.join(known)}")
    return views.station_view(s.state, s.facts, s.now, StationId(path["station"]))


def _board(gateway: Gateway, _: dict[str, str], __: Query) -> BoardView:
    s = gateway.snapshot()
    kitchen_of(s)
    return views.board_view(s.state, s.facts, s.now)


def _task(gateway: Gateway, path: dict[str, str], _: Query) -> TaskView:
    s = gateway.snapshot()
    if s.state.plan is None or all(t.id != path["task"] for t in s.state.plan.tasks):
        raise NotThere(f"no task {path['task']!r} in the plan; see /api/v1/plan")
    return views.task_view(s.state, s.facts, s.now, TaskId(path["task"]))


def _plan(gateway: Gateway, _: dict[str, str], __: Query) -> Plan:
    plan = gateway.snapshot().state.plan
    if plan is None:
        raise NotThere("no plan has been adopted yet")
    return plan


def _alarms(gateway: Gateway, _: dict[str, str], __: Query) -> list[Alarm]:
    return sorted(gateway.snapshot().state.alarms.values(), key=lambda a: a.raised_at)


def _orders(gateway: Gateway, _: dict[str, str], __: Query) -> list[OrderView]:
    s = gateway.snapshot()
    kitchen_of(s)
    return list(views.order_views(s.state, s.facts, s.now))


def _lots(gateway: Gateway, _: dict[str, str], __: Query) -> list[LotView]:
    s = gateway.snapshot()
    kitchen_of(s)
    return list(views.lot_views(s.state, s.facts, s.now))


def _durations(gateway: Gateway, _: dict[str, str], __: Query) -> list[DurationView]:
    s = gateway.snapshot()
    kitchen_of(s)
    return list(views.duration_views(s.state))


def _calls(gateway: Gateway, _: dict[str, str], __: Query) -> CallsView:
    s = gateway.snapshot()
    kitchen_of(s)
    return views.calls_view(s.state, s.facts, s.now)


def _probes(gateway: Gateway, _: dict[str, str], __: Query) -> list[ProbeView]:
    s = gateway.snapshot()
    kitchen_of(s)
    return list(views.probe_views(s.state, s.facts, s.now))


def _readings(gateway: Gateway, path: dict[str, str], query: ReadingsAsked) -> list[ReadingView]:
    s = gateway.snapshot()
    known = [p.id for p in kitchen_of(s).probes]
    if path["probe"] not in known:
        raise NotThere(f"no probe {path['probe']!r}; there are {', '.join(known)}")
    until = query.until or s.now
    since = query.since or until - _TWO_HOURS
    found = gateway.readings(ProbeId(path["probe"]), since, until)
    return [ReadingView(celsius=r.celsius, measured_at=r.measured_at, recorded_at=r.recorded_at) for r in found]


def _events(gateway: Gateway, _: dict[str, str], query: EventsAsked) -> list[Recorded]:
    return list(gateway.history(query.after, query.limit))


RESOURCES: tuple[Resource, ...] = (
    Resource("/now", "The kitchen's clock and the state of the log", Now, _now),
    Resource("/stations", "All stations", list[StationSummary], _stations),
    Resource("/stations/{station}", "Everything on one station screen", StationView, _station),
    Resource("/board", "The whole kitchen over its days", BoardView, _board),
    Resource("/plan", "The adopted plan", Plan, _plan),
    Resource("/tasks/{task}", "One task with all that a cook needs", TaskView, _task),
    Resource(
        "/risk",
        "How likely the adopted plan keeps each order and window, from now on; and what that assumes",
        Risk,
        planning.risk,
        planning.RiskAsked,
    ),
    Resource("/tasks/{task}/why", "Why a task is not earlier and not later", WhyAnswer, planning.why),
    Resource("/remedies", "What stands against orders in trouble, and what helps", planning.Help, planning.remedies),
    Resource("/orders", "Orders and their outlook", list[OrderView], _orders),
    Resource("/lots", "Lots and where they stand", list[LotView], _lots),
    Resource("/demand/par-levels", "Par levels, the last count of each", list[demand.ParTold], demand.par_levels),
    Resource("/demand/make-next", "What to make next, with reasons", list[NextView], demand.next_to_make),
    Resource(
        "/crew", "The crew: who is here, who is missed, shifts that are not over", list[crew.PersonTold], crew.crew
    ),
    Resource("/durations", "How long steps take, as recipes and as finished tasks say", list[DurationView], _durations),
    Resource(
        "/deviations",
        "Deviations, what was done about them, and which lots wait for a decision",
        list[doubt.DeviationTold],
        doubt.deviations,
        doubt.DeviationsAsked,
    ),
    Resource("/deviations/{deviation}", "One deviation", doubt.DeviationTold, doubt.deviation),
    Resource("/alarms", f"Alarms on record. {SEEN}", list[Alarm], _alarms),
    Resource(
        "/alarms/figures",
        "How many alarms there were, beside which ANSI/ISA-18.2 gives guidance",
        Figures,
        doubt.alarm_figures,
        doubt.FiguresAsked,
    ),
    Resource("/calls", f"Who is called beyond the kitchen, and what became of calls. {SEEN}", CallsView, _calls),
    Resource("/probes", "Probes and what they last said", list[ProbeView], _probes),
    Resource(
        "/probes/{probe}/readings",
        "Stored readings of one probe, in order",
        list[ReadingView],
        _readings,
        ReadingsAsked,
    ),
    Resource(
        "/events",
        "The log, in order",
        list[Recorded],
        _events,
        EventsAsked,
    ),
)
