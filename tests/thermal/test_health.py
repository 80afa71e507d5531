"""Probe health against simulated truth: what is found, what is missed, and what is found where nothing is wrong."""

import random
from dataclasses import replace

import pytest

from orchestrator.thermal.health import Drift, OneProbe, ProbeClock, Sign
from orchestrator.thermal.health.places import cooling_food, idle_food, store_air, warming_food
from orchestrator.thermal.health.signs import Finding, Latch
from tests.thermal import faults
from tests.thermal.faults import BOILS_C, HEALTHY, Sent, at_step, beside, heating, judged

SEEDS = range(40)
FAULT_AT_S = 6 * 3600.0


@pytest.mark.parametrize("kind", HEALTHY)
def test_healthy_curves_raise_nothing(kind: str) -> None:
    found = {seed: ever for seed in SEEDS if (ever := judged(HEALTHY[kind](seed))[0])}
    assert found == {}


def _count(sign: Sign, spoil: object, make: object = faults.store) -> tuple[int, int, int]:
    """Curves on which the fault was found, on which anything else was, and findings altogether."""
    right = others = came = 0
    for seed in SEEDS:
        sent = spoil(make(seed), random.Random(1000 + seed))  # type: ignore[operator]
        ever, times = judged(sent)
        right += sign in ever
        others += bool(ever - {sign})
        came += times
    return right, others, came


def test_food_probe_stuck_while_heating_is_found_once_and_stays() -> None:
    def spoil(sent: list[Sent], dice: random.Random) -> list[Sent]:
        at = dice.randrange(10, len(sent) // 2)
        return at_step([replace(s, celsius=sent[min(n, at)].celsius) for n, s in enumerate(sent)])

    assert _count(Sign.STUCK, spoil, heating) == (len(SEEDS), 0, len(SEEDS))


@pytest.mark.parametrize("make", [faults.store, faults.freezer])
def test_store_probe_stuck_for_the_rest_of_the_day_is_found_once(make: object) -> None:
    def spoil(sent: list[Sent], dice: random.Random) -> list[Sent]:
        at = dice.randrange(len(sent) // 8, len(sent) // 4)
        return [replace(s, celsius=sent[min(n, at)].celsius) for n, s in enumerate(sent)]

    assert _count(Sign.STUCK, spoil, make) == (len(SEEDS), 0, len(SEEDS))


def test_noisy_probe_is_found_and_does_not_flicker() -> None:
    def spoil(sent: list[Sent], dice: random.Random) -> list[Sent]:
        return [replace(s, celsius=s.celsius + dice.gauss(0.0, 3.0)) for s in sent]

    right, others, came = _count(Sign.NOISY, spoil)
    assert right == len(SEEDS)
    assert others <= 1  # scatter of 3 degrees now and then leaps as no air can
    assert came <= 1.2 * len(SEEDS)


def test_loose_contact_is_found_as_noise_or_impossible_rate() -> None:
    found = 0
    for seed in SEEDS:
        dice = random.Random(seed)
        sent = [replace(s, celsius=s.celsius + (60.0 if dice.random() < 0.2 else 0.0)) for s in faults.store(seed, 4.0)]
        ever, _ = judged(sent)
        found += bool(ever & {Sign.NOISY, Sign.IMPOSSIBLE_RATE})
    assert found == len(SEEDS)


def test_store_air_that_leaps_back_and_forth_changes_impossibly_fast() -> None:
    def spoil(sent: list[Sent], dice: random.Random) -> list[Sent]:
        at = dice.randrange(50, len(sent) - 50)
        return [replace(s, celsius=s.celsius + (70.0 if at <= n < at + 3 else 0.0)) for n, s in enumerate(sent)]

    right, _, _ = _count(Sign.IMPOSSIBLE_RATE, spoil)
    assert right == len(SEEDS)


def test_probe_carried_from_boiling_water_into_ice_within_seconds_is_possible() -> None:
    probe = OneProbe()
    for second, celsius in enumerate([99.9] * 30 + [40.0, 12.0, 3.0] + [0.5] * 30):
        probe.fold(float(second * 10), celsius, idle_food())
    assert probe.findings() == ()


def test_fridge_that_turns_to_fahrenheit_is_said_to_send_fahrenheit_as_celsius() -> None:
    found = []
    for seed in SEEDS:
        probe = OneProbe()
        for s in faults.store(seed, 12.0):
            probe.fold(s.second, s.celsius if s.second < FAULT_AT_S else 1.8 * s.celsius + 32.0, s.expected)
        found.append([(f.sign, f.hint) for f in probe.findings() if f.sign is not Sign.NOISY])  # 1.8 times the noise
    assert found == [[(Sign.UNIT_MISTAKEN, "fahrenheit as celsius")]] * len(SEEDS)


def test_fridge_in_fahrenheit_from_the_start_is_likelier_in_fahrenheit_than_warm() -> None:
    probe = OneProbe()
    for s in faults.store(1, 2.0):
        probe.fold(s.second, 1.8 * s.celsius + 32.0, s.expected)
    (finding,) = probe.findings()
    assert (finding.sign, finding.hint) == (Sign.UNIT_MISTAKEN, "fahrenheit as celsius")
    assert finding.limit == pytest.approx((finding.amount - 32.0) / 1.8)


def test_fridge_whose_celsius_is_read_as_fahrenheit_is_said_so() -> None:
    found = 0
    for seed in SEEDS:
        probe = OneProbe()
        for s in faults.store(seed, 12.0):
            probe.fold(s.second, s.celsius if s.second < FAULT_AT_S else (s.celsius - 32.0) / 1.8, s.expected)
        found += [(f.sign, f.hint) for f in probe.findings()] == [(Sign.UNIT_MISTAKEN, "celsius as fahrenheit")]
    assert found == len(SEEDS)
    probe = OneProbe()
    for s in faults.store(1, 2.0):
        probe.fold(s.second, (s.celsius - 32.0) / 1.8, s.expected)
    assert [(f.sign, f.hint) for f in probe.findings()] == [(Sign.UNIT_MISTAKEN, "celsius as fahrenheit")]


def test_custard_of_180_degrees_is_in_fahrenheit() -> None:
    probe = OneProbe()
    for n in range(20):
        celsius = 1.8 * (80.0 + 0.1 * n) + 32.0
        probe.fold(60.0 * n, celsius, warming_food(celsius, 82.0, BOILS_C))
    assert [(f.sign, f.hint) for f in probe.findings()] == [(Sign.UNIT_MISTAKEN, "fahrenheit as celsius")]


def test_fridge_that_fails_and_warms_by_itself_is_never_taken_for_another_unit() -> None:
    ever = set()
    for seed in SEEDS:
        warm = [
            replace(s, celsius=min(32.0, s.celsius + max(0.0, s.second - FAULT_AT_S) / 3600.0 * 2.5))
            for s in faults.store(seed, 18.0)
        ]
        ever |= judged(warm)[0] - {Sign.STUCK}  # as warm as the kitchen, nothing cycles any more
    assert ever == set()


def test_freezer_that_fails_is_never_taken_for_another_unit() -> None:
    ever = set()
    for seed in SEEDS:
        warm = [
            replace(s, celsius=min(24.0, s.celsius + max(0.0, s.second - FAULT_AT_S) / 3600.0 * 4.0))
            for s in faults.freezer(seed, 18.0)
        ]
        ever |= judged(warm)[0] - {Sign.STUCK}  # at room temperature nothing cycles any more
    assert ever == set()


def test_battery_is_told_low_from_20_percent_until_it_is_back_at_30() -> None:
    def told(percents: list[float]) -> list[bool]:
        probe, seen = OneProbe(), []
        for n, percent in enumerate(percents):
            probe.fold(60.0 * n, 4.0 + 0.1 * (n % 2), store_air(0.0, 5.0), battery_percent=percent)
            seen.append(any(f.sign is Sign.BATTERY_LOW for f in probe.findings()))
        return seen

    assert told([25, 21, 20, 19, 22, 19, 29, 100, 100]) == [False] * 3 + [True] * 4 + [True, False]
    assert told([30, 21, 20, 21, 22, 21]) == [False] * 6


def _clocks(lags: list[tuple[float, float]], usual: float = 0.0, count: bool = False) -> list[str]:
    clock = ProbeClock()
    for n, (measured, received) in enumerate(lags):
        clock.fold(measured, received, seq=n if count else None, usual_lag_s=usual)
    return [f.hint for f in clock.findings()]


def test_clock_ahead_behind_and_stepping_back_are_told_apart() -> None:
    minutes = [60.0 * n for n in range(40)]
    assert _clocks([(m + 90.0, m + 1.0) for m in minutes]) == ["ahead"]
    assert _clocks([(m - 600.0, m + 1.0) for m in minutes]) == ["behind"]
    assert _clocks([(m, m + 1.0) for m in minutes]) == []
    back = [(m if m < 1200.0 else m - 900.0, m + 1.0) for m in minutes]
    assert _clocks(back[:28]) == ["stepping back"]
    assert _clocks(back[:28], count=True) == ["stepping back"]


def test_clock_far_ahead_is_told_by_one_reading_and_over_after_ten() -> None:
    assert _clocks([(7200.0, 3600.0)]) == ["ahead"]
    back_in_step = [(7200.0 + 60.0 * n, 7200.0 + 60.0 * n) for n in range(10)]
    assert _clocks([(7200.0, 3600.0), *back_in_step[:9]]) == ["ahead"]
    assert _clocks([(7200.0, 3600.0), *back_in_step]) == []


def test_our_own_clock_set_back_is_no_fault_of_a_probe_that_has_none() -> None:
    minutes = [60.0 * n for n in range(40)]
    assert _clocks([(m if m < 1200.0 else m - 900.0,) * 2 for m in minutes]) == []


def test_backlog_that_is_caught_up_is_no_clock_that_is_behind() -> None:
    minutes = [60.0 * n for n in range(60)]
    assert _clocks([(m, 3600.0 + n * 0.05) for n, m in enumerate(minutes)]) == []
    out_of_turn = [*((m, m + 1.0) for m in minutes), *((m + 30.0, 3700.0 + n * 0.01) for n, m in enumerate(minutes))]
    assert _clocks(out_of_turn) == []


def test_delay_that_all_probes_share_is_not_the_clock_of_one() -> None:
    assert _clocks([(60.0 * n, 60.0 * n + 300.0) for n in range(40)], usual=300.0) == []


def test_drift_of_a_degree_against_three_in_the_same_air_names_the_one_that_drifts() -> None:
    right = wrong = 0
    for seed in range(10):
        sent = faults.store(seed, 30.0)
        curves = {name: ("fridge", _copy(sent, seed * 10 + n, 0.3 * n)) for n, name in enumerate("abc")}
        air, own = curves["b"]
        curves["b"] = (air, [replace(s, celsius=s.celsius + max(0.0, s.second - 5 * 3600) / 86400 * 2.5) for s in own])
        found = beside(curves)
        right += [f.sign for f in found["b"]] == [Sign.DRIFTING]
        wrong += bool(found["a"] or found["c"])
    assert (right, wrong) == (10, 0)


def test_of_two_that_drift_apart_either_may_be_the_one() -> None:
    sent = faults.store(3, 30.0)
    drifting = [replace(s, celsius=s.celsius + s.second / 86400 * 3.0) for s in _copy(sent, 5, 0.0)]
    found = beside({"a": ("fridge", sent), "b": ("fridge", drifting)})
    assert {name: [(f.sign, f.hint, f.other) for f in fs] for name, fs in found.items()} == {
        "a": [(Sign.DRIFTING, "one of two", "b")],
        "b": [(Sign.DRIFTING, "one of two", "a")],
    }


def test_neighbours_with_a_steady_difference_do_not_drift() -> None:
    for seed in range(10):
        sent = faults.freezer(seed, 30.0)
        found = beside({"a": ("freezer", sent), "b": ("freezer", _copy(sent, seed, 2.5))})
        assert found == {"a": (), "b": ()}


def _copy(sent: list[Sent], seed: int, apart: float) -> list[Sent]:
    """Another probe in the same air, with noise and a place of its own."""
    dice = random.Random(seed)
    return [
        replace(s, second=s.second + 7.0, celsius=round(s.celsius + apart + dice.gauss(0.0, 0.15), 1)) for s in sent
    ]


def test_fridge_and_freezer_probes_in_each_others_place_are_found_and_put_right_again() -> None:
    for seed in range(10):
        fridge, freezer = faults.store(seed, 3.0), faults.freezer(seed, 3.0)
        crossed = {
            "fridge-air": ("fridge", [replace(s, expected=store_air(0.0, 5.0)) for s in freezer]),
            "freezer-air": ("freezer", [replace(s, expected=store_air(None, -18.0)) for s in fridge]),
        }
        found = beside(crossed)
        assert {n: [(f.sign, f.other) for f in fs] for n, fs in found.items()} == {
            "fridge-air": [(Sign.SWAPPED, "freezer-air")],
            "freezer-air": [(Sign.SWAPPED, "fridge-air")],
        }
        assert beside({"fridge-air": ("fridge", fridge), "freezer-air": ("freezer", freezer)}) == {
            "fridge-air": (),
            "freezer-air": (),
        }


def test_pan_and_bath_whose_curves_go_each_others_way_are_swapped() -> None:
    pan, bath = [], []
    for n in range(40):
        heats, cools = 20.0 + 1.5 * n, 85.0 - 2.0 * n
        pan.append(Sent(60.0 * n, cools, warming_food(cools, 95.0, BOILS_C)))
        bath.append(Sent(60.0 * n + 5.0, heats, cooling_food(heats, 4.0, BOILS_C)))
    found = beside({"hob": ("", pan), "bath": ("", bath)})
    assert {n: [(f.sign, f.other) for f in fs] for n, fs in found.items()} == {
        "hob": [(Sign.SWAPPED, "bath")],
        "bath": [(Sign.SWAPPED, "hob")],
    }


def test_new_probe_says_what_it_cannot_say() -> None:
    assert dict(OneProbe().cannot_say()) == {
        Sign.NOISY: "few readings",
        Sign.STUCK: "never changed",
        Sign.BATTERY_LOW: "not told",
    }
    clock = ProbeClock()
    clock.fold(0.0, 0.0)
    assert clock.cannot_say() == ((Sign.CLOCK_WRONG, "no time sent"),)


def test_latch_between_its_limits_keeps_what_it_was() -> None:
    latch = Latch(2, 2)
    seen = [
        latch.fold(float(n), bad) for n, bad in enumerate([True, None, True, None, False, None, True, False, False])
    ]
    assert seen == [False, False, True, True, True, True, True, True, False]


def test_drift_keeps_fourteen_means_whatever_it_is_given() -> None:
    drift = Drift()
    for n in range(100_000):
        drift.fold(60.0 * n, 0.1)
    assert (len(drift._first), len(drift._last), drift.finding()) == (8, 6, None)


def test_drift_is_told_with_how_far_it_went() -> None:
    drift = Drift()
    for n in range(2880):
        drift.fold(60.0 * n, n / 1440)
    assert isinstance(found := drift.finding(), Finding)
    assert found.amount == pytest.approx(2.0 - 0.15, abs=0.2)
