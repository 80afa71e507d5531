"""Every invariant can fail: a bug is planted for each, and the run that passed without it ends with its words."""

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest

from orchestrator.bootstrap.hooks import core_rules
from orchestrator.core.call_events import CallMade
from orchestrator.core.commands import Command, OfferPlan, Tick
from orchestrator.core.decide import Decision
from orchestrator.core.events import AlarmRaised, Recorded, TaskFinished, TaskStarted
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import CommandId, EquipmentId, ProbeId
from orchestrator.core.models import ProbeFact, TaskKind, WindowClass
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind
from orchestrator.core.state import State
from orchestrator.engine import Rules
from orchestrator.ports.calling import Message, Sent
from orchestrator.ports.event_log import Reading
from tests.simulation.faulty.called import Network
from tests.simulation.faulty.disk import Disk, DiskLog, DiskReadings
from tests.simulation.faulty.faults import Fault
from tests.simulation.faulty.house import House
from tests.simulation.faulty.judge import Judge
from tests.simulation.faulty.kept import DiskSnapshots
from tests.simulation.faulty.kitchens import kitchen_of
from tests.simulation.faulty.virtual_loop import MachineGone

SEED, SPAN_S = 9, 2.2 * 3600.0
CUT = [Fault(7000.0, "power cut", 30.0)]


def lived(seed: int = SEED, span_s: float = SPAN_S, faults: Sequence[Fault] = (), **planted: Any) -> House:
    house = House(kitchen_of(seed), seed, list(faults), **planted)
    house.live(span_s)
    return house


def rules_that(change: Callable[[State, Command, Decision], Decision]) -> Rules:
    """Core's own rules, and something done to what they decide."""
    core = core_rules()

    def decide(state: State, command: Command, now: datetime, facts: Mapping[ProbeId, ProbeFact]) -> Any:
        decision = core.decide(state, command, now, facts)
        return change(state, command, decision) if isinstance(decision, Decision) else decision

    return replace(core, decide=decide)


def test_nothing_planted_nothing_found() -> None:
    assert lived(faults=CUT).machine.cuts == 1


def test_log_that_loses_an_acknowledged_event_is_found() -> None:
    class Forgets(DiskLog):
        def append(self, records: Sequence[Recorded]) -> None:
            if records and records[-1].seq > 6:
                self._kept.extend(records)
                self._on_commit(records)
            else:
                super().append(records)

    with pytest.raises(AssertionError, match="what was durable is not there after a restart"):
        lived(faults=CUT, log=Forgets)


def test_log_that_answers_before_it_has_written_is_found() -> None:
    class Hasty(DiskLog):
        def append(self, records: Sequence[Recorded]) -> None:
            if records and records[-1].seq > 6:
                return
            super().append(records)

    with pytest.raises(AssertionError, match=r"before it was on disk|shown that is not on disk"):
        lived(log=Hasty)


def test_due_instant_that_is_handled_twice_is_found() -> None:
    def again(state: State, command: Command, decision: Decision) -> Decision:
        standing = [alarm for alarm in state.alarms.values() if alarm.standing]
        if not isinstance(command, Tick) or not standing:
            return decision
        raised = AlarmRaised(alarm=standing[0].id, at=standing[0].raised_at, facts=standing[0].facts)
        return replace(decision, events=(raised, *decision.events))

    with pytest.raises(AssertionError, match="twice"):
        lived(rules=rules_that(again))


def test_due_instant_that_nobody_handles_is_found() -> None:
    with pytest.raises(AssertionError, match=r"not on record: .*[a-z]"):
        lived(rules=replace(core_rules(), next_due=lambda state, now: None), calls=False)


def test_state_that_differs_from_its_replay_is_found() -> None:
    def forgetful(state: State, record: Recorded) -> State:
        after = evolve(state, record)
        return replace(after, facts={}) if record.seq > 6 else after

    with pytest.raises(AssertionError, match="replay differs from the live state in facts"):
        lived(rules=replace(core_rules(), evolve=forgetful), faults=[Fault(3600.0, "broker down", 3000.0)])


def test_reading_that_is_acknowledged_and_not_kept_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    keep = DiskReadings.add

    def drops(self: DiskReadings, readings: Sequence[Reading]) -> Sequence[Reading]:
        return keep(self, [r for r in readings if r.seq is None or r.seq % 20])

    monkeypatch.setattr(DiskReadings, "add", drops)
    with pytest.raises(AssertionError, match="readings were lost"):
        lived()


def test_rule_that_breaks_is_found() -> None:
    def breaks(state: State, command: Command, decision: Decision) -> Decision:
        assert not (isinstance(command, OfferPlan) and state.revision), "planted"
        return decision

    with pytest.raises(AssertionError, match=r"(?s)ended: .*planted"):
        lived(faults=[Fault(2000.0, "machine stops", 600.0)], rules=rules_that(breaks))


def recorded(judge: Judge, event: Any, command: str) -> None:
    seq, at = judge.replayed.seq + 1, judge.log[-1].at + timedelta(minutes=1)
    judge.committed([Recorded(seq=seq, at=at, command_id=CommandId(command), event=event)])


@pytest.fixture(scope="module")
def judged() -> Judge:
    """What a judge knows after a morning."""
    return lived(span_s=1800.0).judge


def _started(judge: Judge, number: int) -> TaskStarted:
    plan = judge.replayed.plan
    assert plan is not None
    work = [task for task in plan.tasks if task.kind is TaskKind.WORK]
    waiting = [task for task in work if judge.replayed.record(task.id).started_at is None]
    at = judge.log[-1].at
    return TaskStarted(task=waiting[number].id, at=at, person=None, equipment=EquipmentId("churn"))


def test_broken_window_that_nobody_is_told_of_is_found() -> None:
    judge = lived(span_s=1800.0).judge
    plan = judge.replayed.plan
    assert plan is not None
    tasks = {task.id: task for task in plan.tasks}
    after, link = next(
        (task, link)
        for task in plan.tasks
        for link in task.links
        if link.most is not None and link.window is not WindowClass.PREFERENCE and task.kind is TaskKind.WORK
        and tasks[link.after].kind is TaskKind.WORK and judge.replayed.record(link.after).started_at is None
    )  # fmt: skip
    at = judge.log[-1].at
    recorded(judge, TaskStarted(task=link.after, at=at, person=None, equipment=None), "begins")
    recorded(judge, TaskFinished(task=link.after, at=at, person=None), "ends")
    closes = at + timedelta(minutes=link.most or 0)
    judge.windows(closes + timedelta(minutes=2), at)
    judge.windows(closes + timedelta(minutes=4), closes + timedelta(minutes=4))  # it has only just come back
    with pytest.raises(AssertionError, match=f"window of {after.id} closed .* and nobody was told"):
        judge.windows(closes + timedelta(minutes=4), at)
    facts = AlarmFacts.model_construct(kind=AlarmKind.WINDOW_CLOSING, missed=True)
    raised = AlarmRaised.model_construct(alarm=f"window_closing:{after.id}", facts=facts)
    judge._told(Recorded.model_construct(at=closes, event=raised))
    judge.windows(closes + timedelta(minutes=4), at)


def test_machine_with_two_tasks_and_command_carried_out_twice_are_found(judged: Judge) -> None:
    recorded(judged, _started(judged, 0), "one")
    with pytest.raises(AssertionError, match="churn has"):
        recorded(judged, _started(judged, 1), "two")
    event = AlarmRaised.model_construct()  # never looked at: the command is known
    first = judged.last_of["import"]
    assert first < judged.replayed.seq - 1
    late = Recorded.model_construct(seq=judged.replayed.seq, at=judged.log[-1].at, command_id="import", event=event)
    with pytest.raises(AssertionError, match="import was carried out twice"):
        judged._whole(late)


def test_torn_frame_is_cut_off_and_everything_before_it_is_kept() -> None:
    disk = Disk(random.Random(5))
    for number in range(3):
        disk.commit(f"[{number}]".encode())
    whole = len(disk.synced)
    disk.cut = "before sync"
    torn = 0
    while not torn:
        del disk.synced[whole:]
        with pytest.raises(MachineGone):
            disk.commit(b"[3]" * 50)
        torn = disk.torn
    assert len(disk.synced) > whole
    assert disk.frames() == [b"[0]", b"[1]", b"[2]"]
    assert len(disk.synced) == whole


def test_start_from_a_kept_state_that_is_not_the_logs_is_found() -> None:
    class Forgets(DiskSnapshots):
        def keep(self, state: State) -> None:
            super().keep(replace(state, tasks={}) if state.seq > 6 else state)

    with pytest.raises(AssertionError, match="replay differs from the live state in tasks"):
        lived(faults=CUT, kept=Forgets)


def test_start_uses_the_kept_state_and_a_torn_one_is_thrown_away() -> None:
    class Torn(DiskSnapshots):
        def _replace(self, whole: bytes) -> None:
            super()._replace(whole[: len(whole) // 2])

    assert lived(faults=CUT).machine.disk.started_from_kept == 1
    assert lived(faults=CUT, kept=Torn).machine.disk.started_from_kept == 0


def test_call_that_is_due_and_not_made_is_found() -> None:
    def without_calls(state: State, command: Command, decision: Decision) -> Decision:
        return replace(decision, events=tuple(e for e in decision.events if not isinstance(e, CallMade)))

    with pytest.raises(AssertionError, match="is due and not made"):
        lived(rules=rules_that(without_calls))


def test_call_that_is_sent_twice_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    send = Network.send

    async def twice(self: Network, message: Message, channels: Any, on_failed: Any) -> Sent:
        await send(self, message, channels, on_failed)
        return await send(self, message, channels, on_failed)

    monkeypatch.setattr(Network, "send", twice)
    with pytest.raises(AssertionError, match="was sent 2 times"):
        lived()


def test_reading_that_is_turned_away_because_the_clock_was_set_back_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("orchestrator.adapters.reading_payload.FARTHEST_AHEAD", timedelta(minutes=2))
    with pytest.raises(AssertionError, match="readings were turned away"):
        lived(faults=[Fault(3000.0, "clock step", 1800.0, size_s=-3600.0)])


def test_clock_set_back_turns_nothing_away() -> None:
    assert lived(faults=[Fault(3000.0, "clock step", 1800.0, size_s=-3600.0)]).broker.rejected == set()
