"""Temperatures that can be reached."""

from pathlib import Path

import pytest

from tests.kitchen.small import change, faults, write_small

PUREE, SORBET = "recipes/damson-puree.yaml", "recipes/damson-sorbet.yaml"


def test_ceiling_below_the_target_is_told(tmp_path: Path) -> None:
    change(write_small(tmp_path), PUREE, "load: 5 L\n", "load: 5 L\n    target: { at_least: 185 °F, ceiling: 82 °C }\n")
    assert faults(tmp_path) == [
        "recipes/damson-puree.yaml:14:33: the ceiling, 82 °C, lies below the target, 85 °C"
        " — raise the ceiling, or lower at_least"
    ]


def test_target_held_longer_than_the_step_is_told(tmp_path: Path) -> None:
    change(write_small(tmp_path), PUREE, "load: 5 L\n", "load: 5 L\n    target: { at_least: 82 °C, hold: 2 h }\n")
    assert faults(tmp_path) == [
        "recipes/damson-puree.yaml:14:32: the target is held for 2 h, longer than 'simmer' ever lasts"
        " — hold it for 1 h at most, or lengthen the step"
    ]


def test_gate_on_equipment_of_a_step_without_any_is_told(tmp_path: Path) -> None:
    gate = "    gates: [{ at_most: -10 °C, of: equipment, says: Cold }]\n    takes:\n"
    change(write_small(tmp_path), SORBET, "    takes:\n", gate)
    assert faults(tmp_path) == [
        "recipes/damson-sorbet.yaml:15:32: a gate asks for the temperature of equipment, but 'mix' uses none"
        " — add `equipment: ...` to the step, or write `of: before`"
    ]


def test_target_above_what_boils_at_the_kitchens_altitude_is_told(tmp_path: Path) -> None:
    # Denver's mile, 1609.344 m: water boils at 94.62 °C (IAPWS-IF97 at the US Standard Atmosphere 1976, computed with
    # CoolProp and fluids; see tests/thermal/test_boiling.py), and 3 °C more for sugar are common practice.
    write_small(tmp_path)
    change(tmp_path, "kitchen.yaml", "horizon_days: 3\n", "horizon_days: 3\naltitude_m: 1609.344\n")
    change(tmp_path, PUREE, "load: 5 L\n", "load: 5 L\n    target: { at_least: 98 °C }\n")
    assert faults(tmp_path) == [
        "recipes/damson-puree.yaml:14:15: the target, 98 °C, is never reached: at 1609.34 m water boils at 94.6 °C,"
        " and sugar adds a few degrees — ask for 97.6 °C at most, or put altitude_m right in kitchen.yaml"
    ]


@pytest.mark.parametrize(("altitude_m", "target_c"), [(0, 102.9), (1609.344, 97.6), (3000, 92.9)])
def test_target_up_to_three_degrees_above_boiling_water_is_no_fault(
    tmp_path: Path, altitude_m: float, target_c: float
) -> None:
    write_small(tmp_path)
    change(tmp_path, "kitchen.yaml", "horizon_days: 3\n", f"horizon_days: 3\naltitude_m: {altitude_m}\n")
    change(tmp_path, PUREE, "load: 5 L\n", f"load: 5 L\n    target: {{ at_least: {target_c} °C }}\n")
    assert faults(tmp_path) == []


def test_target_of_a_step_without_water_may_be_above_boiling(tmp_path: Path) -> None:
    roast = "process: roast\n    title: Roast the damsons\n"
    change(write_small(tmp_path), PUREE, "process: simmer\n    title: Simmer the damsons\n", roast)
    change(tmp_path, PUREE, "load: 5 L\n", "load: 5 L\n    target: { at_least: 150 °C }\n")
    assert faults(tmp_path) == []


def test_altitude_beyond_any_kitchen_is_told(tmp_path: Path) -> None:
    change(write_small(tmp_path), "kitchen.yaml", "horizon_days: 3\n", "horizon_days: 3\naltitude_m: 30000\n")
    assert faults(tmp_path) == ["kitchen.yaml:5:1: 'altitude_m', 30000, is too much — write 5500 or less"]
