"""What an alarm says on the desk, line by line: how long, until when, what is touched, why, what still helps."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from display import health_words
from display.alarm_codes import CODES
from display.panels import Showing
from orchestrator.core.alarm_rationale import RATIONALE
from orchestrator.core.ids import OrderId
from orchestrator.core.models import Order
from orchestrator.core.models.alarm import Alarm, AlarmFacts, AlarmKind
from orchestrator.core.models.questions import LatestReturn
from orchestrator.core.recall import place_of

MINUTE: Final = timedelta(minutes=1)


@dataclass(frozen=True)
class Fact:
    """A line: its head, and what it says."""

    head: str
    says: str
    presses: bool = False


def lines(showing: Showing, alarm: Alarm) -> list[Fact]:
    """Everything known of an alarm, in the order in which one asks."""
    facts = alarm.facts
    found = [*_times(showing, alarm), *_touched(showing, facts)]
    if facts.reason:
        typed = facts.kind is AlarmKind.MACHINE_STOPPED
        says = showing.tell.typed(facts.reason) if typed else why(showing, facts.reason)
        found.append(Fact(showing.words("alarm_why"), says))
    if facts.health:
        found.append(Fact(showing.words("alarm_why"), "; ".join(health_words.says(showing, facts.health))))
    helps = [showing.words(f"help_{help_.value}") for help_ in facts.helps]
    if helps:
        found.append(Fact(showing.words("alarm_helps"), "; ".join(helps)))
    if facts.save_by:
        passed = facts.save_by < showing.now
        says = _until(showing, facts, "save_by") if not passed else showing.words("alarm_save_passed")
        found.append(Fact(_head(showing, "alarm_save_by", facts), says, presses=not passed))
    elif not facts.missed and facts.expected_at and facts.limit_at:
        found.append(Fact(showing.words("alarm_save_by"), showing.words("alarm_save_unknown")))
    return [*found, *_returns(showing, facts)]


def meaning(showing: Showing, facts: AlarmFacts) -> list[Fact]:
    """What a kind of alarm is for: cause, what follows if nobody acts, time to act, what to do; never an empty one."""
    w, kind = showing.words, facts.kind.value
    said = {part: w(f"{part}_{kind}") for part in ("cause", "consequence", "time", "act")}
    by = RATIONALE[facts.kind].time_to_act
    ends = [name for name in (by, "limit_at") if getattr(facts, name, None) is not None]
    if ends and not facts.missed and getattr(facts, ends[0]) >= showing.now:
        said["time"] = f"{_until(showing, facts, ends[0])}. {said['time']}"
    return [Fact(w(f"meaning_{part}"), says) for part, says in said.items()]


def _head(showing: Showing, key: str, facts: AlarmFacts) -> str:
    """Of a stopped machine two instants are told: what the plan as it is allows, and what a new one would."""
    return showing.words(f"{key}_stopped" if facts.kind is AlarmKind.MACHINE_STOPPED else key)


def _returns(showing: Showing, facts: AlarmFacts) -> Iterator[Fact]:
    """What a stopped machine still saves by being back when, as the planner found it; the soonest first."""
    state = showing.snapshot.state
    if facts.kind is not AlarmKind.MACHINE_STOPPED or state.instants is None:
        return
    saved: dict[datetime | None, list[str]] = {}
    for one in state.instants.returns:
        if one.equipment == facts.equipment:
            saved.setdefault(one.at, []).append(_saved(showing, one))
    for at in sorted(saved, key=lambda at: (at is None, at)):
        time = "" if at is None else showing.formats.when(at, showing.now)
        head = showing.words("alarm_back_never") if at is None else showing.words("alarm_back_by", time=time)
        yield Fact(head, ", ".join(saved[at]))


def _saved(showing: Showing, one: LatestReturn) -> str:
    """The order, or the step whose window it is."""
    plan = showing.snapshot.state.plan
    if one.order is not None or plan is None:
        return str(one.order)
    found = next((task for task in plan.tasks if task.id == one.task), None)
    return f"{showing.tell(found.title)} ({found.lot or found.order})" if found is not None else str(one.task)


def why(showing: Showing, reason: str) -> str:
    """A reason in words, never a bare code."""
    return showing.words(f"why_{reason.replace(' ', '_')}") if reason in CODES else showing.tell(reason)


def _until(showing: Showing, facts: AlarmFacts, name: str) -> str:
    at = getattr(facts, name)
    f, now = showing.formats, showing.now
    key = "alarm_time_left" if at >= now else "alarm_time_over"
    return showing.words(key, time=f.when(at, now), length=f.between(min(at, now), max(at, now)))


def _times(showing: Showing, alarm: Alarm) -> Iterator[Fact]:
    w, f, now, facts = showing.words, showing.formats, showing.now, alarm.facts
    since = facts.since or alarm.raised_at
    if since <= now:
        yield Fact(w("alarm_how_long"), w("fact_since", time=f.when(since, now), length=f.between(since, now)))
    if facts.celsius is not None or facts.limit_c is not None:
        key = "alarm_last_heard" if facts.kind is AlarmKind.PROBE_SILENT else "fact_celsius"
        said = [w(key, celsius=f.temperature(facts.celsius))] if facts.celsius is not None else []
        said += [w("fact_limit_c", celsius=f.limit(facts.limit_c))] if facts.limit_c is not None else []
        yield Fact(w("alarm_temperature"), ", ".join(said))
    if facts.limit_at:
        yield Fact(
            _head(showing, "alarm_until", facts), _until(showing, facts, "limit_at"), presses=facts.limit_at < now
        )
    if facts.expected_at and facts.expected_at >= now - MINUTE:
        says = f.when(facts.expected_at, now)
        if facts.limit_at and facts.expected_at - facts.limit_at >= MINUTE:
            says = w("alarm_too_late", time=says, length=f.between(facts.limit_at, facts.expected_at))
        if facts.assumed:
            stopped = facts.kind is AlarmKind.MACHINE_STOPPED
            says = w("alarm_assumed" if stopped else "alarm_assumed_to_come", time=f.when(facts.expected_at, now))
        yield Fact(w("alarm_expected"), says)


def _touched(showing: Showing, facts: AlarmFacts) -> Iterator[Fact]:
    w, f, now = showing.words, showing.formats, showing.now
    yield from _past(showing, facts)
    lots = facts.lots or ((facts.lot,) if facts.lot else ())
    if lots and not facts.past:
        yield Fact(w("alarm_lots"), ", ".join(lots))
    kitchen = showing.snapshot.state.kitchen
    known = {order.id: order for order in kitchen.orders} if kitchen else {}
    said = [
        w("alarm_order", customer=known[o].customer, due=f.when(known[o].due, now), order=o) if o in known else str(o)
        for o in _still(facts, known, now)
    ]
    if said:
        yield Fact(w("alarm_orders"), "; ".join(said))
    if facts.tasks:
        yield Fact(w("alarm_why"), w("fact_tasks", count=facts.tasks))


def _past(showing: Showing, facts: AlarmFacts) -> Iterator[Fact]:
    """Each lot past its date with what is left of it and where, as long as nobody has decided about it since."""
    w, f, state = showing.words, showing.formats, showing.snapshot.state
    for one in facts.past:
        record = state.lots.get(one.lot)
        if record is None or record.since < one.until:
            place = place_of(state, one.lot) or w("past_nowhere")
            told = {"amount": f.alone(one.left), "place": place, "time": f.when(one.until, showing.now)}
            yield Fact(w("past_lot", lot=one.lot, name=one.name), w(f"{facts.kind.value}_line", **told))


def _still(facts: AlarmFacts, known: Mapping[OrderId, Order], now: datetime) -> Iterator[OrderId]:
    """The orders of an alarm; of those that wait for a decision, the ones that nobody has dropped or moved since."""
    for order in facts.orders:
        if facts.kind is not AlarmKind.ORDERS_UNDECIDED or (order in known and known[order].due < now):
            yield order
