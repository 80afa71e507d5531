"""The bench of slow screens drives a real browser, slowed down; how long it takes is no matter of a test."""

from tests.benchmarks.slow_screens import SLOWER, measured, measurements, tables


def test_station_is_measured_slowed_down() -> None:
    figures = measured("/station/stove", "early-cook", SLOWER, 1.0, 1)
    assert figures["tap_ms"] > 0
    assert figures["idle_all_ms_per_min"] >= figures["idle_script_ms_per_min"] > 0
    assert figures["reading_all_ms"] > 0
    assert tables({"one": figures}).count("\n| /station/stove, 6× slower") == 1


def test_measurements_are_each_page_at_both_speeds() -> None:
    assert len({m.key for m in measurements(full=False)}) == 4
