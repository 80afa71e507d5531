"""What simulated people do at a gateway that carries out whatever it is told."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest

from orchestrator.core.commands import (
    AcknowledgeAlarm,
    Command,
    DecideLot,
    DecidePlan,
    EnterTemperature,
    ExtendTask,
    FinishTask,
    FinishTray,
    MachineBack,
    StartTask,
)
from orchestrator.core.errors import RefusalCode
from orchestrator.core.ids import AlarmId, CrewId, DeviationId, EquipmentId, LotCode, ProbeId, TaskId
from orchestrator.core.lot_commands import AnswerLot
from orchestrator.core.models import Measure, ProbeFact
from orchestrator.core.models.alarm import Alarm, AlarmFacts, AlarmKind, AlarmStatus, Priority
from orchestrator.core.models.deviation import Deviation, DeviationFacts
from orchestrator.core.models.stock import IngredientLot
from orchestrator.core.pantry import Pantry
from orchestrator.core.state import LotRecord, LotStatus, MachineStop, Proposal, State, TaskStatus
from orchestrator.core.stock_commands import MeasureIngredient
from orchestrator.simulator.crew import Crew
from tests.fakes.doors import FakeDoor, refusal
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

COOK, CHILL, CHURN = TaskId("C1.cook"), TaskId("C1.chill"), TaskId("B1.churn")


def door_at(when: str) -> FakeDoor:
    kitchen = small_kitchen()
    return FakeDoor(State(kitchen=kitchen, plan=small_plan(kitchen)), at(when))


def crew_at(door: FakeDoor, **options: Any) -> Crew:
    return Crew(door, small_kitchen(), **{"variation": 0.0, **options})


def go_through(door: FakeDoor, crew: Crew, until: datetime) -> None:
    while door.now < until:
        door.now = max(min(crew.look(door.now), until), door.now + timedelta(seconds=20))


def at_target(door: FakeDoor, probe: str, equipment: str, task: TaskId, met_at: datetime | None) -> None:
    fact = ProbeFact(probe=ProbeId(probe), equipment=EquipmentId(equipment), task=task, met_at=met_at)
    door.facts = {**door.facts, fact.probe: fact}


def test_crew_before_the_planned_start_waits_and_says_until_when() -> None:
    door = door_at("Wed 07:57")
    assert crew_at(door).look(door.now) == at("Wed 08:00")
    assert door.commands == []


def test_crew_at_the_planned_start_starts_as_the_planned_person() -> None:
    door = door_at("Wed 08:00")
    crew_at(door).look(door.now)
    assert [(c.task, c.person) for c in door.of(StartTask)] == [(COOK, CrewId("early-cook"))]


def test_crew_without_variation_finishes_after_the_usual_time() -> None:
    door = door_at("Wed 08:00")
    crew = crew_at(door)
    at_target(door, "hob-1-core", "hob-1", COOK, at("Wed 08:20"))
    go_through(door, crew, at("Wed 08:41"))
    assert door.state.record(COOK).finished_at == at("Wed 08:40")


def test_crew_with_variation_stays_between_shortest_and_longest() -> None:
    lengths = set()
    for seed in range(12):
        door = door_at("Wed 07:59")
        crew = crew_at(door, seed=seed, variation=1.0)
        at_target(door, "hob-1-core", "hob-1", COOK, at("Wed 08:20"))
        go_through(door, crew, at("Wed 09:30"))
        record = door.state.record(COOK)
        assert record.started_at is not None
        assert record.finished_at is not None
        assert at("Wed 08:00") <= record.started_at <= at("Wed 08:18")
        length = record.finished_at - record.started_at
        assert timedelta(minutes=30) <= length <= timedelta(minutes=60)
        lengths.add(length)
    assert len(lengths) > 3


def test_crew_waits_for_the_target_and_asks_for_more_time_at_the_longest() -> None:
    door = door_at("Wed 08:00")
    crew = crew_at(door)
    at_target(door, "hob-1-core", "hob-1", COOK, None)
    go_through(door, crew, at("Wed 09:01"))
    assert door.of(FinishTask) == []
    assert [c.minutes for c in door.of(ExtendTask)][:1] == [10]


def test_crew_does_not_start_what_its_predecessor_still_holds_up() -> None:
    door = door_at("Wed 08:50")
    door.set(COOK, status=TaskStatus.IN_HAND, started_at=at("Wed 08:45"), started_by=CrewId("early-cook"))
    crew_at(door).look(door.now)
    assert door.of(StartTask) == []


def test_crew_with_full_hands_starts_nothing_more_until_somebody_else_is_free() -> None:
    door = door_at("Wed 10:31")
    door.set(COOK, status=TaskStatus.IN_HAND, started_at=at("Wed 10:20"), started_by=CrewId("early-cook"))
    crew = crew_at(door)
    crew.look(door.now)
    assert TaskId("S1.simmer") not in [c.task for c in door.of(StartTask)]


def test_crew_whose_planned_person_stays_away_is_replaced_after_a_while() -> None:
    door = door_at("Wed 13:05")
    for task in (COOK, CHILL):
        door.set(task, status=TaskStatus.DONE, started_at=at("Wed 08:00"), finished_at=at("Wed 09:00"))
    crew = crew_at(door)
    crew.roster.away[CrewId("early-cook")] = (at("Wed 06:00"), at("Wed 14:00"))
    crew.look(door.now)
    assert [(c.task, c.person) for c in door.of(StartTask)] == [(TaskId("S1.simmer"), CrewId("late-cook"))]


def test_gate_shut_makes_people_measure_by_hand_and_wait_then_insist_with_a_reason() -> None:
    door = door_at("Thu 09:00")
    for task in ("C1.cook", "C1.chill", "S1.simmer", "S1.chill"):
        door.set(TaskId(task), status=TaskStatus.DONE, started_at=at("Wed 08:00"), finished_at=at("Wed 10:00"))
    door.set(TaskId("C1.age.B1"), status=TaskStatus.IN_HAND, started_at=at("Wed 10:15"))
    shut = refusal(RefusalCode.GATE_SHUT, CHURN, "wait until the gate is met, or name a person and a reason")
    door.refuse = [(lambda c: isinstance(c, StartTask) and not c.override_reason, shut) for _ in range(6)]
    crew = crew_at(door, measure_c=lambda lot: 4.6)
    go_through(door, crew, at("Thu 09:25"))
    assert [(c.task, c.celsius) for c in door.of(EnterTemperature)][:1] == [(CHURN, 4.6)]
    starts = [c for c in door.of(StartTask) if c.task == CHURN]
    assert [c.override_reason for c in starts[:2]] == ["", ""]
    assert starts[-1].override_reason != ""
    started = door.state.record(CHURN).started_at
    assert started is not None
    assert started > at("Thu 09:15")


def test_gate_without_a_probe_is_confirmed_by_hand_at_once() -> None:
    door = door_at("Thu 09:00")
    for task in ("C1.cook", "C1.chill", "S1.simmer", "S1.chill"):
        door.set(TaskId(task), status=TaskStatus.DONE, started_at=at("Wed 08:00"), finished_at=at("Wed 10:00"))
    door.set(TaskId("C1.age.B1"), status=TaskStatus.IN_HAND, started_at=at("Wed 10:15"))
    unread = refusal(RefusalCode.GATE_SHUT, CHURN, "measure by hand, or name a person and a reason")
    door.refuse = [(lambda c: isinstance(c, StartTask), unread)]
    crew_at(door).look(door.now)
    assert [c.override_reason for c in door.of(StartTask)] == ["", "read off by hand"]
    assert door.state.record(CHURN).status is TaskStatus.IN_HAND


def test_finish_enters_what_the_step_asks_for() -> None:
    door = door_at("Thu 09:31")
    door.set(CHURN, status=TaskStatus.IN_HAND, started_at=at("Thu 09:00"), started_by=CrewId("early-cook"))
    crew_at(door).look(door.now)
    finished = next(c for c in door.of(FinishTask) if c.task == CHURN)
    assert finished.measured == {Measure.VOLUME_L: 5.0}
    assert finished.person == "early-cook"


def test_finish_refused_is_tried_again_with_a_reason() -> None:
    door = door_at("Thu 09:31")
    door.set(CHURN, status=TaskStatus.IN_HAND, started_at=at("Thu 09:00"), started_by=CrewId("early-cook"))
    door.refuse = [(lambda c: isinstance(c, FinishTask), refusal(RefusalCode.BAD_VALUE, CHURN))]
    go_through(door, crew_at(door), at("Thu 09:36"))
    assert [bool(c.override_reason) for c in door.of(FinishTask)] == [False, True]


def test_at_night_nobody_acts_but_what_ends_by_itself_is_ended() -> None:
    door = door_at("Wed 23:00")
    door.set(CHILL, status=TaskStatus.IN_HAND, started_at=at("Wed 21:00"), started_by=CrewId("late-cook"))
    door.set(COOK, status=TaskStatus.DONE, started_at=at("Wed 20:00"), finished_at=at("Wed 20:40"))
    at_target(door, "ice-bath-core", "ice-bath", CHILL, at("Wed 22:40"))
    crew_at(door).look(door.now)
    assert [(c.task, c.person) for c in door.of(FinishTask)] == [(CHILL, None)]
    assert door.of(StartTask) == []


@pytest.mark.parametrize(("celsius", "ends"), [(4.9, True), (7.5, False)])
def test_target_without_a_probe_is_measured_by_hand_before_the_end(celsius: float, ends: bool) -> None:
    door = door_at("Wed 10:20")
    door.set(COOK, status=TaskStatus.DONE, started_at=at("Wed 08:00"), finished_at=at("Wed 08:40"))
    door.set(CHILL, status=TaskStatus.IN_HAND, started_at=at("Wed 08:45"), started_by=CrewId("early-cook"))
    crew_at(door, measure_c=lambda lot: celsius).look(door.now)
    assert [(c.task, c.celsius) for c in door.of(EnterTemperature)] == [(CHILL, celsius)]
    assert bool(door.of(FinishTask)) is ends


@pytest.mark.parametrize("celsius", [4.2, None])
def test_whites_in_a_fridge_that_failed_are_measured_by_hand_as_batches_are_before_anybody_answers(
    celsius: float | None,
) -> None:
    door = door_at("Wed 09:00")
    whites = IngredientLot.model_validate(
        {"id": "C1-left-1", "ingredient": "egg white", "quantity": "0.9 kg", "received_at": at("Wed 08:40")}
        | {"place": "fridge", "made_from": "C1"}
    )
    lots, since = (LotCode("C1-left-1"),), at("Wed 08:15")
    facts = DeviationFacts(
        cause="record gap", safety=True, reason="no reading", lots=lots, asked=True, equipment=EquipmentId("fridge")
    )
    failed = Deviation(id=DeviationId("DEV-1"), opened_at=door.now, facts=facts, lots=lots, asked_since=since)
    pantry = Pantry({whites.id: whites})
    door.state = replace(door.state, pantry=pantry, deviations={failed.id: failed})
    go_through(door, crew_at(door, measure_c=lambda lot: celsius), at("Wed 09:20"))
    measured = [(c.lot, c.celsius, c.person) for c in door.of(MeasureIngredient)]
    assert set(measured) == ({("C1-left-1", 4.2, "early-cook")} if celsius is not None else set())
    assert [type(c) for c in door.commands if isinstance(c, MeasureIngredient | AnswerLot)][:1] == [
        MeasureIngredient if celsius is not None else AnswerLot
    ]
    assert door.of(AnswerLot)[0].answer == "kept"


def alarm(raised: datetime) -> Alarm:
    facts = AlarmFacts(kind=AlarmKind.STORE_WARM, priority=Priority.CRITICAL)
    return Alarm(id=AlarmId("store_warm:freezer"), facts=facts, status=AlarmStatus.UNACKNOWLEDGED, raised_at=raised)


def test_alarm_is_seen_after_a_few_minutes_by_somebody_who_is_there() -> None:
    door = door_at("Wed 07:00")
    raised = alarm(door.now)
    door.state = replace(door.state, alarms={raised.id: raised})
    crew = crew_at(door)
    crew.look(door.now)
    assert door.of(AcknowledgeAlarm) == []
    go_through(door, crew, at("Wed 07:13"))
    assert [(c.alarm, c.person) for c in door.of(AcknowledgeAlarm)] == [(raised.id, "early-cook")]


@pytest.mark.parametrize(("comes", "who"), [("Wed 07:00", "early-cook"), ("Wed 09:00", "manager")])
def test_proposal_is_decided_within_minutes_by_the_manager_or_whoever_is_there(comes: str, who: str) -> None:
    door = door_at(comes)
    assert door.state.plan is not None
    waits = Proposal(41, door.state.plan, (), ("late",), at("Wed 10:00"))
    door.state = replace(door.state, proposal=waits)
    crew = crew_at(door)
    go_through(door, crew, door.now + timedelta(minutes=5))
    assert {(c.proposal, c.adopt, c.person) for c in door.of(DecidePlan)} == {(41, True, who)}


@pytest.mark.parametrize(
    ("reason", "decision"),
    [
        # As core writes them: see core/decide/{notes,finishing,temperatures,ticks}.py.
        ("machine: belt", "release"),
        ("quality", "release"),
        ("temperature: felt warm", "discard"),
        ("ingredient: shell in it", "discard"),
        ("Chill the base: target at most 5 °C was not met, last 7.2 °C", "discard"),
        ("Chill the base: cooling: first leg missed", "discard"),
        ("Age the base: longer than its safety limit, Sat 10:15", "discard"),
        ("critical step left out: Chill the base", "discard"),
    ],
)
def test_held_lot_is_released_only_when_neither_temperature_nor_time_is_wrong(reason: str, decision: str) -> None:
    assert _decided(reason, {}) == ("C1", decision, "manager")


def test_held_lot_with_a_missed_limit_beside_a_harmless_report_is_discarded() -> None:
    facts = AlarmFacts(kind=AlarmKind.STORE_WARM, priority=Priority.CRITICAL, missed=True, lots=(LotCode("C1"),))
    warm = Alarm(
        id=AlarmId("store_warm:fridge"), facts=facts, status=AlarmStatus.ACKNOWLEDGED, raised_at=at("Wed 08:00")
    )
    assert _decided("machine: belt", {warm.id: warm}) == ("C1", "discard", "manager")


def _decided(reason: str, alarms: dict[AlarmId, Alarm]) -> tuple[str, str, str | None]:
    door = door_at("Wed 09:00")
    held = LotRecord(LotStatus.ON_HOLD, at("Wed 08:59"), reason)
    door.state = replace(door.state, lots={LotCode("C1"): held}, alarms=alarms)
    go_through(door, crew_at(door), at("Wed 09:40"))
    decided = door.of(DecideLot)[0]
    return decided.lot, decided.decision, decided.person


def test_attended_work_in_hand_at_the_end_of_the_shift_is_finished_before_anybody_leaves() -> None:
    door = door_at("Wed 20:50")
    door.set(COOK, status=TaskStatus.IN_HAND, started_at=at("Wed 20:45"), started_by=CrewId("late-cook"))
    crew = crew_at(door)
    at_target(door, "hob-1-core", "hob-1", COOK, at("Wed 21:00"))
    go_through(door, crew, at("Wed 22:00"))
    finished = next(c for c in door.of(FinishTask) if c.task == COOK)
    assert (finished.person, door.state.record(COOK).finished_at) == ("late-cook", at("Wed 21:25"))
    assert crew.roster.there(at("Wed 22:00")) == ()


def test_attended_work_that_would_end_after_the_shift_is_left_for_the_next_one() -> None:
    door = door_at("Wed 20:52")  # the late cook leaves at 21:00; cooking takes 40 minutes, simmering 30
    go_through(door, crew_at(door), at("Thu 06:00"))
    assert door.of(StartTask) == []


def test_machine_is_brought_back_when_its_time_is_over() -> None:
    door = door_at("Wed 09:00")
    stop = MachineStop(at("Wed 07:00"), at("Wed 09:10"), "belt", None)
    door.state = replace(door.state, machines={EquipmentId("churn"): stop})
    crew = crew_at(door)
    crew.look(door.now)
    assert door.of(MachineBack) == []
    door.now = at("Wed 09:10")
    crew.look(door.now)
    assert [c.equipment for c in door.of(MachineBack)] == ["churn"]


def test_crew_sent_away_does_nothing() -> None:
    door = door_at("Wed 08:00")
    crew = crew_at(door)
    crew.on = False
    crew.look(door.now)
    assert door.commands == []


def test_same_seed_gives_the_same_acts() -> None:
    def acts(seed: int) -> list[tuple[Any, ...]]:
        door = door_at("Wed 07:59")
        crew = crew_at(door, seed=seed, variation=1.0)
        at_target(door, "hob-1-core", "hob-1", COOK, at("Wed 08:20"))
        go_through(door, crew, at("Wed 13:00"))
        return [(c.kind, c.command_id) for c in door.commands]

    assert acts(5) == acts(5)
    assert acts(5) != acts(6)


def cones() -> FakeDoor:
    """The small kitchen's cook step turned into trays of six, so many minutes each."""
    kitchen = small_kitchen()
    base = kitchen.recipes[0]
    step = base.steps[0].model_copy(update={"duration": None, "target": None, "measure": Measure.COUNT})
    step = step.model_validate({**step.model_dump(), "cycle": {"pieces": 6, "each": 10}})
    recipe = base.model_copy(update={"steps": (step, *base.steps[1:])})
    kitchen = kitchen.model_copy(update={"recipes": (recipe, *kitchen.recipes[1:])})
    plan = small_plan()
    tasks = [
        t.model_validate(
            {**t.model_dump(), "quantity": "16 each", "duration": {"shortest": 30, "usual": 30, "longest": 30}}
        )
        if t.id == COOK
        else t
        for t in plan.tasks
    ]
    return FakeDoor(State(kitchen=kitchen, plan=plan.model_copy(update={"tasks": tuple(tasks)})), at("Wed 08:00"))


def test_trays_come_out_one_by_one_and_are_counted() -> None:
    door = cones()
    assert door.state.kitchen is not None
    crew = Crew(door, door.state.kitchen, variation=0.0)
    go_through(door, crew, at("Wed 08:32"))
    trays: list[Command] = door.of(FinishTray)
    assert [c.pieces for c in trays if isinstance(c, FinishTray)] == [6, 6, 4]
    assert door.state.record(COOK).measured == {Measure.COUNT: 16.0}
    assert door.state.record(COOK).finished_at == at("Wed 08:30")


def test_people_say_that_they_come_and_go_with_their_shifts() -> None:
    door = door_at("Wed 05:59")
    crew = crew_at(door)
    go_through(door, crew, at("Wed 06:05"))
    early = [member.id for member in small_kitchen().crew if any(s.start == at("Wed 06:00") for s in member.shifts)]
    assert early
    assert [(said.kind, said.person) for said in door.said] == [("come_in", who) for who in early]
    go_through(door, crew, at("Thu 05:59"))
    shifts = [(m.id, s) for m in small_kitchen().crew for s in m.shifts if at("Wed 06:00") <= s.start < at("Thu 05:59")]
    for kind in ("come_in", "go_home"):
        people = sorted(said.person or "" for said in door.said if said.kind == kind)
        assert people == sorted(who for who, _ in shifts)


def test_who_is_late_says_so_only_when_they_are_there() -> None:
    door = door_at("Wed 06:00")
    crew = crew_at(door)
    late = next(m.id for m in small_kitchen().crew if any(s.start == at("Wed 06:00") for s in m.shifts))
    crew.roster.away[late] = (at("Wed 06:00"), at("Wed 07:00"))
    go_through(door, crew, at("Wed 06:59"))
    assert late not in [said.person for said in door.said]
    go_through(door, crew, at("Wed 07:10"))
    assert late in [said.person for said in door.said]


def test_who_was_put_down_as_away_does_not_come() -> None:
    door = door_at("Wed 05:00")
    kitchen = small_kitchen()
    away = kitchen.crew[0].model_copy(update={"shifts": ()})
    door.state = replace(door.state, kitchen=kitchen.model_copy(update={"crew": (away, *kitchen.crew[1:])}))
    go_through(door, crew_at(door), at("Wed 12:00"))
    assert away.id not in [said.person for said in door.said]
