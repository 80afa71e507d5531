"""Temperatures that can be reached."""

from pathlib import Path

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
