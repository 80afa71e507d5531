"""A call in words: what somebody beyond the kitchen is told, complete enough to act on without a screen."""

from collections.abc import Iterator

from jinja2 import Environment

from display import alarm_words
from display.formats import THIN
from display.panels import Showing
from display.reader import Reader
from display.views import CoreViews
from orchestrator.core.ids import CalleeId
from orchestrator.core.models.alarm import Alarm, AlarmStatus
from orchestrator.core.models.calls import Call, CallWhy
from orchestrator.gateway.door import Gateway


def message_of(gateway: Gateway, call: Call) -> tuple[str, str]:
    """What a call says, as things stand now.

    Args:
        gateway: For the latest picture.
        call: On record as made.

    Returns:
        Title and body, plain text.
    """
    showing = Showing(gateway, CoreViews(), gateway.snapshot(), Reader(), Environment(autoescape=False))
    title, body = _test(showing, call) if call.why is CallWhy.TEST else _alarms(showing, call)
    if showing.snapshot.practice:
        title, body = (showing.words("call_practice", text=text) for text in (title, body))
    return title.replace(THIN, " "), body.replace(THIN, " ")


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
    parts = ["\n".join(_alarm(showing, alarm)) for alarm in standing]
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
