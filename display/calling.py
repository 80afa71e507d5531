"""Calls in words: the message, complete enough to act on without a screen; what became of it; and tonight."""

from collections.abc import Iterator
from typing import Final

from jinja2 import Environment

from display import alarm_words
from display.formats import THIN
from display.panels import Showing
from display.reader import Reader
from display.views import CoreViews
from orchestrator.core.ids import CalleeId
from orchestrator.core.models import Kitchen
from orchestrator.core.models.alarm import Alarm, AlarmStatus
from orchestrator.core.models.calls import Call, CallFault, CallStatus, CallWhy, ChannelFault
from orchestrator.core.models.tongue import Ways
from orchestrator.core.views.calls import ChannelView, Reach, StandsView, TonightView, TurnView, Verdict
from orchestrator.gateway.door import Gateway

TOLD_WHOLE: Final = 3
"""Of more alarms than this, only the heads are told: a flood must be read on a phone at night."""


def message_of(gateway: Gateway, call: Call) -> tuple[str, str]:
    """What a call says, as things stand now.

    Args:
        gateway: For the latest picture.
        call: On record as made.

    Returns:
        Title and body, plain text.
    """
    snapshot = gateway.snapshot()
    reader = _reader_of(snapshot.state.kitchen, call.to)
    showing = Showing(gateway, CoreViews(), snapshot, reader, Environment(autoescape=False))  # noqa: S701 - plain text, no HTML
    title, body = _test(showing, call) if call.why is CallWhy.TEST else _alarms(showing, call)
    if showing.snapshot.practice:
        title, body = (showing.words("call_practice", text=text) for text in (title, body))
    return title.replace(THIN, " "), body.replace(THIN, " ")


def _reader_of(kitchen: Kitchen | None, to: CalleeId) -> Reader:
    """As whoever is called chose to read, else as the kitchen does."""
    member = next((one for one in (kitchen.crew if kitchen else ()) if str(one.id) == to), None)
    own, whole = member.ways if member else Ways(), kitchen.ways if kitchen else Ways()
    language, clock, amounts = (getattr(own, name) or getattr(whole, name) or "" for name in Ways.model_fields)
    return Reader.of(language, "cook", clock, amounts)


def name_of(showing: Showing, to: CalleeId) -> str:
    """Somebody on the list, as people call them."""
    return to.removeprefix("role:") if to.startswith("role:") else showing.name_of(to)


def _test(showing: Showing, call: Call) -> tuple[str, str]:
    w = showing.words
    title = w("call_title_test", kitchen=showing.kitchen.name)
    return title, w("call_test_says", who=showing.name_of(call.person) or w("somebody"), to=name_of(showing, call.to))


def _alarms(showing: Showing, call: Call) -> tuple[str, str]:
    w, known = showing.words, showing.snapshot.state.alarms
    alarms = [known[alarm] for alarm in call.alarms if alarm in known]
    standing = [alarm for alarm in alarms if alarm.status is not AlarmStatus.RETURNED_UNACKNOWLEDGED]
    heads = [showing.sentences.alarm_head(alarm.facts) for alarm in standing] or list(call.titles) or [call.why.value]
    key = "call_title_one" if len(heads) == 1 else "call_title_many"
    title = w(key, kitchen=showing.kitchen.name, head=heads[0], count=len(heads))
    parts = ["\n".join(_alarm(showing, alarm)) for alarm in standing[:TOLD_WHOLE]]
    if heads[TOLD_WHOLE:]:
        parts.append(w("call_more", count=len(heads) - TOLD_WHOLE, heads="; ".join(heads[TOLD_WHOLE:])))
    return title, "\n\n".join([*parts, "\n".join(_rest(showing, call))])


def _alarm(showing: Showing, alarm: Alarm) -> Iterator[str]:
    w, facts = showing.words, alarm.facts
    yield f"{showing.sentences.alarm_head(facts)} ({w(f'priority_{facts.priority}')})"
    for line in alarm_words.lines(showing, alarm):
        yield w("call_line", head=line.head, says=line.says)


def _rest(showing: Showing, call: Call) -> Iterator[str]:
    w, f = showing.words, showing.formats
    yield w(f"call_because_{call.why}")
    before = [
        w("call_called_one", who=name_of(showing, one.to), time=f.when(one.made_at, showing.now))
        for one in showing.snapshot.state.calls.calls
        if one.seq < call.seq and set(one.alarms) & set(call.alarms)
    ]
    if before:
        yield w("call_called_before", names=", ".join(before))
    yield w("call_how_to_end")
    yield w("call_caution")


# -- on screens


def tonight(showing: Showing, view: TonightView) -> list[str]:
    """Who could not be reached, whether somebody would be, and what stands meanwhile; the heaviest first."""
    w = showing.words
    lines = [
        w("unreached", who=name_of(showing, call.to), faults=faults(showing, call.faults)) for call in view.unreached
    ]
    lines.append(_verdict(showing, view))
    if view.verdict is not Verdict.SOMEBODY:
        lines.append(_stands(showing, view))
    elif view.others_quiet_until is not None:
        lines.append(w("tonight_only_critical", time=showing.formats.when(view.others_quiet_until, showing.now)))
    return [*lines, _span(showing, view)]


def _verdict(showing: Showing, view: TonightView) -> str:
    w = showing.words
    if showing.snapshot.practice and not view.empty_list:
        return w("tonight_practice")
    if view.empty_list:
        return w("tonight_nobody_list")
    names = ", ".join(name_of(showing, to) for to in view.reached)
    return w(f"tonight_{view.verdict}", names=names)


def _span(showing: Showing, view: TonightView) -> str:
    w, f, now = showing.words, showing.formats, showing.now
    if view.end is None:
        late = view.start is None or view.start <= now
        return w("tonight_span_none") if late else w("tonight_span_open", start=_when(showing, view))
    end = f.when(view.end, now)
    if view.start is None or view.start <= now:
        return w("tonight_span_now", end=end)
    return w("tonight_span", start=f.when(view.start, now), end=end)


def _when(showing: Showing, view: TonightView) -> str:
    return showing.formats.when(view.start or showing.now, showing.now)


def _stands(showing: Showing, view: TonightView) -> str:
    if not view.stands:
        return showing.words("tonight_stands_nothing")
    return showing.words("tonight_stands", places="; ".join(_place(showing, one) for one in view.stands))


def _place(showing: Showing, one: StandsView) -> str:
    key = "tonight_place" if one.litres else "tonight_place_plain"
    return showing.words(key, name=one.name, lots=", ".join(one.lots), amount=showing.formats.litres(one.litres))


def channel(showing: Showing, one: ChannelView) -> str:
    """What is known of a channel, after its word."""
    w, f, now = showing.words, showing.formats, showing.now
    if one.reach is Reach.UNSET:
        return w("channel_unset", secret=one.secret)
    reached = w("channel_reached", time=f.when(one.reached_at, now)) if one.reached_at else w("channel_never")
    if one.fault is None or one.failed_at is None:
        return reached
    fault = _fault(showing, one.fault, one.code)
    return f"{w('channel_failed', time=f.when(one.failed_at, now), fault=fault)}; {reached}"


def turn(showing: Showing, one: TurnView) -> str:
    """Who comes next about an alarm, and when."""
    key = "turn_held" if one.held_back else "turn_next"
    return showing.words(key, who=name_of(showing, one.to), time=showing.formats.when(one.at, showing.now))


def why(showing: Showing, call: Call) -> str:
    """Why somebody was called."""
    return showing.words(f"call_why_{call.why}", who=showing.name_of(call.person))


def result(showing: Showing, call: Call) -> str:
    """What became of a call."""
    w = showing.words
    kinds = {one.fault for one in call.faults}
    if call.status is CallStatus.MADE:
        said = faults(showing, call.faults)
        return w("call_made_failed", count=call.attempts, faults=said) if call.attempts else w("call_made")
    if kinds == {CallFault.OVER}:
        return w("call_over")
    if kinds == {CallFault.PRACTICE}:
        return w("call_not_sent")
    if call.status is CallStatus.GAVE_UP:
        return w("call_gave_up", faults=faults(showing, call.faults))
    time = showing.formats.when(call.ended_at or call.made_at, showing.now)
    said = w("call_delivered", channels=", ".join(call.reached), time=time)
    return f"{said}; {w('call_but', faults=faults(showing, call.faults))}" if call.faults else said


def faults(showing: Showing, found: tuple[ChannelFault, ...]) -> str:
    """Which channels did not reach anybody, and why."""
    w = showing.words
    return ", ".join(
        w("channel_fault", channel=one.channel, fault=_fault(showing, one.fault, one.code)) for one in found
    )


def _fault(showing: Showing, fault: CallFault, code: int | None) -> str:
    key = f"call_fault_{fault}" + ("_code" if fault is CallFault.REFUSED and code is not None else "")
    return showing.words(key, code=code)
