"""The board's view: rows, blocks, flags, hands."""

from dataclasses import replace
from datetime import timedelta

import pytest

from orchestrator.core import views
from orchestrator.core.alarms import alarm_events
from orchestrator.core.ids import EquipmentId, LotCode, StationId, TaskId
from orchestrator.core.models import Maintenance, Move
from orchestrator.core.models.questions import LatestStart
from orchestrator.core.state import Instants, LotRecord, LotStatus, MachineStop, State
from orchestrator.core.views.board_models import BlockView, BoardView, HandsPoint
from tests.fakes.kitchens import at, small_kitchen, with_machine
from tests.fakes.states import base_ageing, begun, planned, with_events

STOVE, COUNTER = StationId("stove"), StationId("counter")


def _board(state: State, now: str) -> BoardView:
    return views.board_view(state, {}, at(now))


def _block(board: BoardView, task: str) -> BlockView:
    return next(b for row in board.rows for b in row.blocks if b.task == task)


def test_board_rows_go_down_from_fire_to_freezer() -> None:
    board = _board(planned(), "Wed 07:00")
    assert [(r.equipment, r.floor) for r in board.rows] == [
        ("hob-1", "warm"),
        ("bench", "warm"),
        ("ice-bath", "cold"),
        ("fridge", "cold"),
        ("churn", "churn"),
        ("freezer", "hard"),
    ]
    assert (board.start, board.end) == (at("Wed 06:00"), at("Mon 06:00"))


def test_board_block_of_a_stay_has_litres_marks_and_threads() -> None:
    block = _block(_board(base_ageing(), "Wed 14:00"), "C1.age.B1")
    assert (block.label, block.litres, block.status) == ("C1", 5.0, "in hand")
    assert (block.start, block.end, block.done_until) == (at("Wed 10:15"), at("Thu 09:00"), at("Wed 14:00"))
    assert (block.opens, block.closes, block.feeds) == (at("Wed 22:15"), at("Sat 10:15"), ("B1.churn",))
    assert _block(_board(planned(), "Wed 07:00"), "C1.age.B1").opens == at("Wed 22:15")


def test_board_draws_stops_and_clean_downs() -> None:
    stop = MachineStop(since=at("Thu 08:10"), until=at("Thu 10:10"), reason="belt slips", by=None)
    state = replace(base_ageing(), machines={EquipmentId("churn"): stop})
    board = _board(state, "Thu 09:00")
    churn = next(r for r in board.rows if r.equipment == "churn")
    assert churn.stopped is True
    assert [(b.task, b.status, b.start) for b in churn.blocks] == [
        (None, "stopped", at("Thu 08:10")),
        ("B1.churn", "planned", at("Thu 10:10")),
        ("churn.clean.S1", "clean", at("Thu 10:40")),
        ("S1.churn", "planned", at("Thu 11:00")),
    ]


def test_board_draws_maintenance_beforehand() -> None:
    stop = Maintenance(start=at("Thu 08:10"), end=at("Thu 09:40"), why="Belt renewed")
    board = _board(planned(with_machine(small_kitchen(), "churn", maintenance=(stop,))), "Wed 07:00")
    churn = next(r for r in board.rows if r.equipment == "churn")
    # Planned by hand for 09:00: the live plan moves it past the end of the maintenance.
    first, second = churn.blocks[:2]
    assert (churn.stopped, first.maintenance, first.title, first.end) == (False, True, "Belt renewed", at("Thu 09:40"))
    assert (second.task, second.start) == ("B1.churn", at("Thu 09:40"))


def test_board_flags_moved_at_risk_missed_and_on_hold() -> None:
    move = Move(task=TaskId("S1.churn"), title="", before=at("Thu 10:00"), after=at("Thu 11:00"), what="later")
    state = replace(base_ageing(), moves=(move,))
    assert _block(_board(state, "Thu 08:00"), "S1.churn").flag == "moved"
    risk = with_events(state, alarm_events(state, {}, at("Fri 11:15")), at("Fri 11:15"))
    assert _block(_board(risk, "Fri 11:15"), "S1.churn").flag == "at risk"
    missed = with_events(risk, alarm_events(risk, {}, at("Fri 12:01")), at("Fri 12:01"))
    assert _block(_board(missed, "Fri 12:01"), "S1.age").flag == "missed"
    held = replace(missed, lots={LotCode("S1"): LotRecord(LotStatus.ON_HOLD, at("Fri 12:02"), "rested too long")})
    assert _block(_board(held, "Fri 12:03"), "S1.age").flag == "on hold"


@pytest.mark.parametrize(
    ("slack_min", "exact", "flag"), [(15, True, "tight"), (16, True, "moved"), (0, False, "moved")]
)
def test_board_marks_as_tight_what_can_wait_no_longer_than_a_quarter_of_an_hour(
    slack_min: int, exact: int, flag: str
) -> None:
    move = Move(task=TaskId("B1.churn"), title="", before=at("Thu 08:00"), after=at("Thu 09:00"), what="later")
    latest = LatestStart(task=TaskId("B1.churn"), at=at("Thu 09:00") + timedelta(minutes=slack_min), exact=bool(exact))
    found = Instants(found_at=at("Wed 14:00"), starts={latest.task: latest}, returns=())
    state = replace(base_ageing(), moves=(move,), instants=found)
    block = _block(_board(state, "Thu 08:00"), "B1.churn")
    assert (block.flag, block.latest_start, block.latest_is_exact) == (flag, latest.at, bool(exact))
    begun_since = begun(state, "B1.churn", "Thu 09:00")
    assert _block(_board(begun_since, "Thu 09:05"), "B1.churn").latest_start is None


def test_board_calls_at_risk_what_is_in_alarm_however_tight_it_is() -> None:
    latest = LatestStart(task=TaskId("S1.churn"), at=at("Fri 11:20"), exact=True)
    state = replace(base_ageing(), instants=Instants(at("Wed 14:00"), {latest.task: latest}, ()))
    risk = with_events(state, alarm_events(state, {}, at("Fri 11:15")), at("Fri 11:15"))
    assert _block(_board(risk, "Fri 11:15"), "S1.churn").flag == "at risk"


def test_board_hands_profile_counts_needed_and_present() -> None:
    hands = _board(planned(), "Wed 06:00").hands
    assert [p for p in hands if p.at < at("Wed 10:00")] == [
        HandsPoint(at=at("Wed 06:00"), needed=0, present=1),
        HandsPoint(at=at("Wed 08:00"), needed=1, present=1),
        HandsPoint(at=at("Wed 08:40"), needed=0, present=1),
        HandsPoint(at=at("Wed 08:45"), needed=1, present=1),
        HandsPoint(at=at("Wed 08:50"), needed=0, present=1),
    ]
    assert hands[-1].needed == 0
    assert hands[-1].present == 0
