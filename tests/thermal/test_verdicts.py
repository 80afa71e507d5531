"""Verdicts on curves: at the printed figures, just short of them, through gaps, and against plain arithmetic."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchestrator.kitchen.shipped import shipped_limits
from orchestrator.thermal.defrost import Clock, Defrosts
from orchestrator.thermal.trend import Arrival
from orchestrator.thermal.verdict import Fold, Tolerant, Verdict, worst
from orchestrator.thermal.verdict_cool import CoolFold, Leg
from orchestrator.thermal.verdict_hold import HoldFold, HoldRow
from orchestrator.thermal.verdict_keep import EndFold, KeepBand, KeepFold
from tests.thermal.folding import folded

# Figures and their texts: tests/kitchen/test_shipped.py holds them to the printed tables.
HEAT = [(limit.id, row) for limit in shipped_limits().limits if limit.kind == "heat" for row in limit.rows]
TWO_LEGS = (Leg("first", 21.0, 7200.0), Leg("second", 5.0, 21600.0))
GAP_S = 300.0


@pytest.mark.parametrize("unit", ["C", "F"])
@pytest.mark.parametrize(("limit", "row"), HEAT)
def test_every_row_is_met_as_printed_and_not_one_step_short(limit: str, row: object, unit: str) -> None:
    degrees, hold = row.asked.in_unit(unit), row.hold  # type: ignore[attr-defined]
    start, rows = 210_000_000.0, (HoldRow("row", degrees, hold),)

    def said(last: float, value: float) -> str:
        instants = [start + min(i * 60.0, last) for i in range(int(last // 60) + 2)]
        return folded(HoldFold(rows, GAP_S), [(second, value) for second in instants]).status

    short = min(1.0, hold / 2)  # one second, or half of what is shorter than two
    assert said(hold, degrees) == "met"
    assert said(hold - short, degrees) == "not yet"
    assert said(hold, degrees - 0.1) == "not yet"


@settings(deadline=None)
@given(
    steps=st.lists(st.tuples(st.integers(1, 400), st.integers(780, 850)), min_size=1, max_size=40),
    rows=st.lists(st.tuples(st.integers(785, 845), st.integers(1, 900)), min_size=1, max_size=3),
)
def test_hold_fold_agrees_with_every_stretch_of_the_whole_curve(
    steps: list[tuple[int, int]], rows: list[tuple[int, int]]
) -> None:
    second, curve = 0, []
    for step, tenths in steps:
        second += step
        curve.append((float(second), tenths / 10))
    fold = HoldFold(tuple(HoldRow(str(i), t / 10, float(h)) for i, (t, h) in enumerate(rows)), GAP_S)
    said = folded(fold, curve)
    margins = [_best(curve, float(hold), GAP_S) - tenths / 10 for tenths, hold in rows]
    through = [_best(curve, float(hold), 1e9) - tenths / 10 for tenths, hold in rows]
    wanted = "met" if max(margins) >= 0 else "not judged" if max(through) >= 0 else "not yet"
    assert said.status == wanted
    if wanted == "met":
        assert said.margin_degrees == pytest.approx(max(margins), abs=1e-9)


def _best(curve: list[tuple[float, float]], hold: float, gap: float) -> float:
    """The warmest of all stretches by their lowest reading, by trying every one."""
    found = float("-inf")
    for i in range(len(curve)):
        for j in range(i, len(curve)):
            part = curve[i : j + 1]
            whole = all(b[0] - a[0] <= gap for a, b in pairwise(part))
            if whole and part[-1][0] - part[0][0] >= hold:
                found = max(found, min(degrees for _, degrees in part))
    return found


@pytest.mark.parametrize(
    ("degrees", "status", "within"),
    [(78.9, "not yet", False), (79.5, "not yet", True), (80.5, "met", True), (81.1, "met", False)],
)
def test_verdict_within_the_probes_tolerance_says_so(degrees: float, status: str, within: bool) -> None:
    # ±1 °C: FDA Food Code 2022, 4-203.11.
    rows = (HoldRow("25-s", 80.0, 25.0),)
    fold = Tolerant(HoldFold(rows, GAP_S), HoldFold(rows, GAP_S), HoldFold(rows, GAP_S), 1.0)
    said = folded(fold, [(0.0, degrees), (30.0, degrees)])
    assert (said.status, said.within_tolerance) == (status, within)


def test_of_several_probes_the_worst_decides_and_is_named() -> None:
    met, warm = Verdict("met", margin_degrees=2.0), Verdict("not yet", margin_degrees=-1.0)
    assert worst({"edge": met, "middle": warm}).probe == "middle"
    assert worst({"edge": met, "middle": Verdict("met", margin_degrees=0.5)}).probe == "middle"
    assert (worst({}).status, worst({}).why) == ("not judged", "no readings")
    # As warm as each other, the one with less time left; as late as each other, by name, so that it never changes.
    soon, later = (Verdict("not yet", margin_degrees=-1.0, margin_min=left) for left in (3.0, 9.0))
    assert worst({"edge": later, "middle": soon}).probe == "middle"
    assert worst({"middle": soon, "edge": soon}).probe == "edge"


def test_cold_food_is_kept_at_the_limit_and_broken_a_tenth_above() -> None:
    band = KeepBand("cold", high=5.0)
    kept = folded(KeepFold(band, 1800.0), [(60.0 * m, 5.0) for m in range(30)])
    assert (kept.status, kept.margin_degrees) == ("met", 0.0)
    broken = folded(KeepFold(band, 1800.0), [(0.0, 5.0), (60.0, 5.1), (120.0, 5.0)])
    assert (broken.status, broken.at_s, broken.readings) == ("broken", 60.0, ((60.0, 5.1),))


def test_stay_waits_for_no_temperature_and_a_draw_does_until_it_is_there() -> None:
    stay, draw = KeepFold(KeepBand("cold", high=5.0), GAP_S), EndFold(KeepBand("draw", high=-5.0), GAP_S)
    for fold in (stay, draw):
        assert not fold.waits(600.0)
        fold.fold(0.0, -2.0)
    assert (stay.waits(600.0), draw.waits(600.0), draw.waits(None)) == (False, True, False)
    draw.fold(60.0, -5.5)
    assert not draw.waits(600.0)


def test_silence_in_a_stay_is_not_judged() -> None:
    said = folded(KeepFold(KeepBand("cold", high=5.0), 1800.0), [(0.0, 4.0), (1801.0, 4.0)])
    assert (said.status, said.gap) == ("not judged", (0.0, 1801.0))


@pytest.mark.parametrize(
    ("last", "status", "at", "margin"),
    [
        (3000.0, "not yet", None, -10.0),
        (3600.0, "met", 3600.0, 0.0),
        (7200.0, "met", 3600.0, 60.0),
        (7800.0, "broken", 7200.0, -10.0),
    ],
)
def test_stay_is_met_from_its_least_time_on_and_broken_after_its_longest(
    last: float, status: str, at: float | None, margin: float
) -> None:
    band = KeepBand("age", low=0.0, high=5.0, least_s=3600.0, most_s=7200.0)
    said = folded(KeepFold(band, 1800.0), [(600.0 * n, 4.0) for n in range(int(last // 600) + 1)])
    assert (said.status, said.at_s, said.margin_min, said.margin_degrees) == (status, at, margin, 1.0)


def test_stay_too_cold_is_broken_as_one_too_warm() -> None:
    band = KeepBand("age", low=0.0, high=5.0)
    assert folded(KeepFold(band, 1800.0), [(0.0, 0.0), (60.0, 5.0)]).status == "met"
    cold = folded(KeepFold(band, 1800.0), [(0.0, 3.0), (60.0, -0.1)])
    assert (cold.status, cold.at_s, cold.margin_degrees) == ("broken", 60.0, pytest.approx(-0.1))


def test_silence_since_the_last_reading_is_not_judged_once_it_is_longer_than_the_gap() -> None:
    fold = KeepFold(KeepBand("cold", high=5.0), 1800.0)
    fold.fold(0.0, 4.0)
    fold.fold(1800.0, 4.5)
    assert fold.verdict(3600.0).status == "met"
    said = fold.verdict(3601.0)
    assert (said.status, said.gap, said.margin_degrees) == ("not judged", (1800.0, 3601.0), 0.5)


def test_air_is_broken_once_it_is_outside_for_longer_than_its_grace() -> None:
    def said(until: float) -> Verdict:
        fold = KeepFold(KeepBand("cold", high=5.0), 1800.0, 1200.0)
        return folded(fold, [(0.0, 4.0), (60.0, 7.0), (600.0, 9.0), (until, 6.0)])

    assert said(1260.0).status == "met"
    broken = said(1261.0)
    assert (broken.status, broken.since_s, broken.at_s, broken.margin_degrees) == ("broken", 60.0, 1261.0, -4.0)
    assert broken.readings == ((60.0, 7.0), (600.0, 9.0), (1261.0, 6.0))
    assert broken.margin_min == pytest.approx(-1 / 60)


@pytest.mark.parametrize(
    "fold",
    [
        HoldFold((HoldRow("25-s", 80.0, 25.0),), GAP_S, ceiling=85.0),
        CoolFold(TWO_LEGS, GAP_S, 0.0, 57.0),
        KeepFold(KeepBand("cold", high=60.0), GAP_S),
        EndFold(KeepBand("draw", high=60.0), GAP_S),
    ],
    ids=["hold", "cool", "keep", "end"],
)
def test_reading_that_is_not_later_than_the_last_changes_nothing(fold: Fold) -> None:
    before = folded(fold, [(0.0, 60.0), (120.0, 57.0)])
    for second, degrees in [(120.0, 90.0), (120.0, 3.0), (60.0, 90.0), (0.0, 3.0)]:
        fold.fold(second, degrees)
        assert fold.verdict(120.0) == before


def _freezer(rises: list[tuple[int, int]], minutes: int) -> list[tuple[float, float]]:
    def degrees(minute: int) -> float:
        return -12.0 if any(start <= minute < start + long for start, long in rises) else -20.0

    return [(60.0 * m, degrees(m)) for m in range(minutes)]


def test_rises_of_air_that_come_by_the_clock_are_defrosts_and_one_out_of_time_is_none() -> None:
    band, grace = KeepBand("frozen", high=-18.0), 30 * 60.0
    clock = [(60, 25), (420, 25), (780, 25)]

    def said(last: tuple[int, int]) -> Verdict:
        fold = KeepFold(band, 1800.0, grace, Defrosts(-18.0))
        return folded(fold, _freezer([*clock, last], 1400))

    assert (said((1140, 40)).status, said((1140, 40)).why) == ("met", "defrost")
    assert said((960, 40)).status == "broken"  # longer than the grace, and at no time that was due
    assert said((1140, 60)).status == "broken"  # due, but longer than a defrost lasts


@pytest.mark.parametrize(
    ("rises", "status"),
    [
        ([(60, 40)], "met"),  # the first: nobody knows its hour yet
        ([(60, 50)], "broken"),  # longer than one lasts: counts from its beginning
        ([(60, 40), (420, 40), (780, 40)], "met"),
        ([(60, 40), (430, 40), (600, 35)], "broken"),  # two have shown the hour, and this is another
        ([(60, 40), (420, 40), (1140, 40)], "met"),  # one between them was not seen
        ([(60, 35), (250, 35), (560, 35), (700, 35)], "broken"),  # the clock that was entered is not the machine's
    ],
)
def test_where_the_clock_is_known_first_defrosts_are_let_pass(rises: list[tuple[int, int]], status: str) -> None:
    clock = Clock(360 * 60.0, 45 * 60.0)
    fold = KeepFold(KeepBand("frozen", high=-18.0), 1800.0, 30 * 60.0, Defrosts(-18.0, clock))
    assert folded(fold, _freezer(rises, rises[-1][0] + rises[-1][1] + 30)).status == status
    unknown = KeepFold(KeepBand("frozen", high=-18.0), 1800.0, 30 * 60.0, Defrosts(-18.0))
    assert folded(unknown, _freezer(rises, rises[-1][0] + rises[-1][1] + 30)).status == "broken"


def test_failure_between_defrosts_leaves_the_hour_of_a_known_clock() -> None:
    clock = Clock(360 * 60.0, 45 * 60.0)
    defrosts = Defrosts(-18.0, clock)
    for second, degrees in _freezer([(60, 40), (420, 40), (500, 120), (780, 40)], 800):
        defrosts.fold(second, degrees)
    assert defrosts.expected_now


def test_rise_that_the_food_follows_is_no_defrost() -> None:
    defrosts = Defrosts(-18.0)
    for second, degrees in _freezer([(60, 25), (420, 25), (780, 25)], 1141):
        defrosts.fold(second, degrees)
    defrosts.fold_food(-19.0)
    defrosts.fold(1141 * 60.0, -12.0)
    assert defrosts.expected_now
    defrosts.fold_food(-17.5)
    assert not defrosts.expected_now


def test_draw_counts_as_it_is_now() -> None:
    band = KeepBand("draw", low=-7.0, high=-5.0)
    warm = [(0.0, -2.0), (60.0, -4.9)]
    assert folded(EndFold(band, GAP_S), warm).status == "not yet"
    assert folded(EndFold(band, GAP_S), [*warm, (120.0, -5.0)]).status == "met"
    assert folded(EndFold(band, GAP_S), [*warm, (120.0, -5.0), (180.0, -7.1)]).status == "broken"
    assert folded(EndFold(band, GAP_S), [*warm, (120.0, -7.0)]).status == "met"


def test_draw_that_is_not_cold_in_time_says_so_before_and_after() -> None:
    fold = EndFold(KeepBand("draw", low=-7.0, high=-5.0), GAP_S)
    fold.fold(0.0, -2.0)
    assert fold.verdict(0.0, Arrival(10.0, 14.0), 600.0).status == "not yet"
    late = fold.verdict(0.0, Arrival(10.5, 14.0), 600.0)
    assert (late.status, late.margin_min) == ("will not be met in time", pytest.approx(-0.5))
    assert fold.verdict(GAP_S, None, GAP_S).status == "not yet"
    over = fold.verdict(GAP_S, None, GAP_S - 1.0)
    assert (over.status, over.at_s, over.margin_degrees) == ("broken", GAP_S - 1.0, -3.0)
    silent = fold.verdict(GAP_S + 1.0)
    assert (silent.status, silent.why, silent.gap) == ("not judged", "gap", (0.0, GAP_S + 1.0))


@settings(deadline=None)
@given(
    steps=st.lists(st.tuples(st.integers(1, 400), st.integers(770, 860)), min_size=1, max_size=40),
    rows=st.lists(st.tuples(st.integers(785, 845), st.integers(1, 900)), min_size=1, max_size=3),
    soonest=st.none() | st.floats(0.0, 60.0),
    deadline=st.none() | st.floats(0.0, 9000.0),
)
def test_one_fold_with_a_tolerance_says_what_three_folds_say(
    steps: list[tuple[int, int]], rows: list[tuple[int, int]], soonest: float | None, deadline: float | None
) -> None:
    asked = tuple(HoldRow(str(i), t / 10, float(h)) for i, (t, h) in enumerate(rows))
    one, three = (
        HoldFold(asked, GAP_S, 85.0, 1.0),
        Tolerant(HoldFold(asked, GAP_S, 85.0), HoldFold(asked, GAP_S, 85.0), HoldFold(asked, GAP_S, 85.0), 1.0),
    )
    second, arrival = 0, None if soonest is None else Arrival(soonest, 90.0)
    for step, tenths in steps:
        second += step
        one.fold(float(second), tenths / 10)
        three.fold(float(second), tenths / 10)
        said = three.verdict(float(second), arrival, deadline)
        assert one.verdict(float(second), arrival, deadline) == said
        # What is broken, met or unknown is so by the readings alone; a fold that waits for nothing needs no estimate.
        without = one.verdict(float(second), None, deadline)
        assert said.status in (without.status, "will not be met in time")
        assert one.waits(deadline) or without == said


@settings(deadline=None)
@given(
    curve=st.lists(st.tuples(st.floats(1.0, 3000.0), st.floats(-2.0, 70.0)), min_size=1, max_size=25),
    soonest=st.none() | st.floats(0.0, 500.0),
    begins=st.none() | st.just(57.0),
)
def test_tolerance_says_of_a_cooling_what_three_folds_say(
    curve: list[tuple[float, float]], soonest: float | None, begins: float | None
) -> None:
    folds = [CoolFold(TWO_LEGS, GAP_S, 0.0, begins) for _ in range(3)]
    together = Tolerant(*(CoolFold(TWO_LEGS, GAP_S, 0.0, begins) for _ in range(3)), tolerance=1.0)
    arrival, second = None if soonest is None else Arrival(soonest, soonest + 10.0), 0.0
    for passed, degrees in curve:
        second += passed
        together.fold(second, degrees)
        for fold, off in zip(folds, (0.0, -1.0, 1.0), strict=True):
            fold.fold(second, degrees + off)
        exact, *others = (fold.verdict(second, arrival) for fold in folds)
        alike = all(other.status == exact.status for other in others)
        assert together.verdict(second, arrival) == (exact if alike else exact._replace(within_tolerance=True))
        assert all(not f.plainly_open(second, arrival) or f.verdict(second, arrival).status == "not yet" for f in folds)
