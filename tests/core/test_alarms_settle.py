"""Alarms come to rest: what has been told is not told again, whatever happens and in whichever order."""

from dataclasses import replace
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from orchestrator.core.alarms import alarm_events, conditions
from orchestrator.core.events import AlarmAcknowledged
from orchestrator.core.ids import EquipmentId, LotCode, ProbeId, TaskId
from orchestrator.core.models import ProbeFact, TaskKind
from orchestrator.core.plan_index import plan_index
from orchestrator.core.state import LotRecord, LotStatus, MachineStop, State, TaskStatus
from tests.fakes.kitchens import WED
from tests.fakes.states import COOK, begun, done, planned, with_events

_DAYS = ("Wed", "Thu", "Fri", "Sat", "Sun")


def _clock(minute: int) -> str:
    day, rest = divmod(minute, 1440)
    return f"{_DAYS[min(day, 4)]} {rest // 60:02}:{rest % 60:02}"


def _next_act(state: State, minute: int, reason: str) -> State:
    """Whatever can be begun or finished next, out of time as it may be."""
    assert state.plan is not None
    index = plan_index(state.plan)
    for task_id in index.order:
        task, record = index.tasks[task_id], state.record(task_id)
        if task.kind is TaskKind.STAY or record.status in {TaskStatus.DONE, TaskStatus.SKIPPED}:
            continue
        if record.status is TaskStatus.WAITING:
            return begun(state, task_id, _clock(minute), reason=reason)
        assert record.started_at is not None
        started = int((record.started_at - WED).total_seconds() // 60)
        return done(state, task_id, _clock(started), _clock(minute))
    return state


def _happens(state: State, what: str, minute: int) -> State:
    now = WED + timedelta(minutes=minute)
    if what in {"act", "act with a reason"}:
        return _next_act(state, minute, "tasted" if what == "act with a reason" else "")
    if what == "seen":
        return with_events(state, [AlarmAcknowledged(alarm=a, at=now, person=COOK) for a in state.alarms], now)
    if what in {"stop", "back"}:
        stop = MachineStop(since=now, until=None, reason="", by=None)
        return replace(state, machines={EquipmentId("churn"): stop} if what == "stop" else {})
    if what in {"warm", "cold"}:
        outside = now if what == "warm" else None
        fact = ProbeFact(probe=ProbeId("freezer-air"), equipment=EquipmentId("freezer"), outside_since=outside)
        return replace(state, facts={fact.probe: fact})
    status = LotStatus.ON_HOLD if what == "hold" else LotStatus.FREE
    return replace(state, lots={LotCode("C1"): LotRecord(status, now, "", None if what == "hold" else COOK)})


_STORY = st.lists(
    st.tuples(
        st.sampled_from(["act", "act", "act with a reason", "seen", "stop", "back", "warm", "cold", "hold", "release"]),
        st.integers(min_value=1, max_value=600),
    ),
    max_size=25,
)


@settings(max_examples=50, deadline=None)
@given(story=_STORY)
def test_alarm_events_put_on_record_leave_nothing_more_to_tell(story: list[tuple[str, int]]) -> None:
    state, minute = planned(), 6 * 60
    for what, later in story:
        minute = min(minute + later, 5 * 1440 - 1)
        now = WED + timedelta(minutes=minute)
        state = _happens(state, what, minute)
        state = with_events(state, alarm_events(state, state.facts, now), now)
        assert alarm_events(state, state.facts, now) == ()
        standing = {a.id for a in state.alarms.values() if a.standing}
        assert standing == set(conditions(state, state.facts, now))


@settings(max_examples=25, deadline=None)
@given(story=_STORY)
def test_alarms_of_one_task_are_at_most_one_about_its_start(story: list[tuple[str, int]]) -> None:
    state, minute = planned(), 6 * 60
    for what, later in story:
        minute = min(minute + later, 5 * 1440 - 1)
        state = _happens(state, what, minute)
        found = conditions(state, state.facts, WED + timedelta(minutes=minute), advise=False)
        about = [TaskId(f.task) for a, f in found.items() if f.task and a.startswith(("window_closing", "task_late"))]
        assert len(about) == len(set(about))
