"""Whole folders: the example, broken ones, and arbitrary rubbish."""

import os
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orchestrator.core.models import Kitchen, Process, WindowClass
from orchestrator.kitchen import Fault, KitchenFaults, check_summary, read_kitchen
from tests.kitchen.small import FILES, change, faults, write_small

EXAMPLE = Path(__file__).parents[2] / "config"


@pytest.fixture(scope="module")
def example() -> Kitchen:
    return read_kitchen(EXAMPLE)


def test_small_kitchen_has_no_faults(tmp_path: Path) -> None:
    assert faults(write_small(tmp_path)) == []


def test_example_is_counted(example: Kitchen) -> None:
    assert check_summary(example) == {
        "stations": 3,
        "equipment": 13,
        "crew": 5,
        "shifts": 20,
        "probes": 7,
        "mappings": 2,
        "products": 4,
        "components": 5,
        "steps": 44,
        "orders": 5,
        "order lines": 12,
        "lots on hand": 1,
        "limits": 13,
        "people to call": 0,
    }


def test_example_exercises_every_process(example: Kitchen) -> None:
    used = {step.process for recipe in example.recipes for step in recipe.steps}
    # Upkeep of machines is planned, not written in recipes.
    assert used == set(Process) - {Process.CLEAN, Process.PRECOOL}


def test_example_has_windows_of_every_class(example: Kitchen) -> None:
    steps = [step for recipe in example.recipes for step in recipe.steps]
    links = {link.window for step in steps for link in step.after or ()}
    assert links | {step.stay.window for step in steps if step.stay} == set(WindowClass)


def test_example_survives_our_own_json(example: Kitchen) -> None:
    assert Kitchen.model_validate_json(example.model_dump_json()) == example


def test_times_are_read_on_the_kitchens_clock(tmp_path: Path) -> None:
    write_small(tmp_path)
    change(tmp_path, "kitchen.yaml", "Europe/London", "America/Los_Angeles")
    kitchen = read_kitchen(tmp_path)
    assert kitchen.planning_start == datetime(2026, 11, 25, 14, 0, tzinfo=UTC)  # UTC-8 in winter
    assert kitchen.crew[0].shifts[0].breaks[0].start == datetime(2026, 11, 25, 18, 0, tzinfo=UTC)
    assert kitchen.orders[0].due == datetime(2026, 11, 27, 20, 0, tzinfo=UTC)


def test_shift_past_midnight_ends_on_the_next_day(tmp_path: Path) -> None:
    write_small(tmp_path)
    change(
        tmp_path,
        "crew.yaml",
        '{ day: 2026-11-27, from: "09:00", to: "17:00" }',
        '{ day: 2026-11-26, from: "22:00", to: "06:00", breaks: ["23:30-00:15", "02:00-02:30"] }',
    )
    change(tmp_path, "orders.yaml", "2026-11-27T12:00", "2026-11-28T05:00")
    shift = read_kitchen(tmp_path).crew[1].shifts[0]
    assert shift.end == datetime(2026, 11, 27, 6, 0, tzinfo=UTC)
    assert shift.breaks[0].end == datetime(2026, 11, 27, 0, 15, tzinfo=UTC)
    assert shift.breaks[1].start == datetime(2026, 11, 27, 2, 0, tzinfo=UTC)


def test_optional_files_may_be_left_out(tmp_path: Path) -> None:
    write_small(tmp_path)
    (tmp_path / "probes.yaml").unlink()
    (tmp_path / "stock.yaml").unlink()
    kitchen = read_kitchen(tmp_path)
    assert (kitchen.probes, kitchen.mappings, kitchen.stock) == ((), (), ())


def test_many_slips_are_all_told_at_once_in_order(tmp_path: Path) -> None:
    write_small(tmp_path)
    change(tmp_path, "kitchen.yaml", "horizon_days: 3", "horizon_days: 3\ncolour: blue")
    change(tmp_path, "crew.yaml", "skills: [serve]", "skils: [serve]")
    change(tmp_path, "orders.yaml", "quantity: 3 L", "quantity: 3 kg")
    change(tmp_path, "recipes/damson-puree.yaml", "usual: 40 min", "usual: 40")
    change(tmp_path, "recipes/damson-puree.yaml", "equipment: fridge", "equipment: frigde")
    change(tmp_path, "recipes/damson-sorbet.yaml", "load: 4 L", "load: 4 kg")
    assert [text.split(" — ")[0] for text in faults(tmp_path)] == [
        "crew.yaml:10:5: unknown key 'skils'",
        "kitchen.yaml:5:1: unknown key 'colour'",
        "orders.yaml:6:35: 3 kg cannot be compared with the yield of damson-sorbet, in L",
        "recipes/damson-puree.yaml:14:35: the unit is missing",
        "recipes/damson-puree.yaml:22:5: there is no equipment of the kind 'frigde'",
        "recipes/damson-sorbet.yaml:21:5: 4 kg cannot be compared with the capacity of the churn, in L",
    ]


def test_fault_without_a_line_names_the_file_only() -> None:
    assert (
        Fault("crew.yaml", 0, 0, "is a folder", "put a file here").text() == "crew.yaml: is a folder — put a file here"
    )


def test_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    missing = tmp_path / "nowhere"
    assert faults(missing) == [f"{missing}: there is no such folder — name a folder with a kitchen.yaml in it"]


def test_empty_folder_names_every_missing_file(tmp_path: Path) -> None:
    assert faults(tmp_path) == [
        "crew.yaml: the file is missing — add it; see the example kitchen",
        "equipment.yaml: the file is missing — add it; see the example kitchen",
        "kitchen.yaml: the file is missing — add it; see the example kitchen",
        "orders.yaml: the file is missing — add it; see the example kitchen",
        "recipes: there is no recipe — add recipes/<id>.yaml for each product and component",
    ]


def test_misnamed_files_are_told(tmp_path: Path) -> None:
    write_small(tmp_path)
    (tmp_path / "stocks.yaml").write_text("stock: []", encoding="utf-8")
    (tmp_path / "recipes/plum.yml").write_text("id: plum", encoding="utf-8")
    assert faults(tmp_path) == [
        "recipes/plum.yml: is not read — rename it to plum.yaml",
        "stocks.yaml: is not a file of a kitchen — did you mean 'stock.yaml'?",
    ]


def test_files_that_cannot_be_read_are_told(tmp_path: Path) -> None:
    write_small(tmp_path)
    (tmp_path / "kitchen.yaml").write_bytes(b"name: K\nid: caf\xe9\n")
    (tmp_path / "crew.yaml").write_text("  \n", encoding="utf-8")
    (tmp_path / "orders.yaml").write_text("# nothing yet\n", encoding="utf-8")
    (tmp_path / "stock.yaml").unlink()
    (tmp_path / "stock.yaml").mkdir()
    (tmp_path / "probes.yaml").write_text("#" * 1_000_001, encoding="utf-8")
    (tmp_path / "equipment.yaml").unlink()
    os.mkfifo(tmp_path / "equipment.yaml")  # reading it would never end
    assert faults(tmp_path) == [
        "crew.yaml: the file is empty — write its content, or take the file away",
        "equipment.yaml: is not a file — put a YAML file here instead",
        "kitchen.yaml:2:8: the file is not UTF-8 — save it with the encoding UTF-8",
        "orders.yaml: the file is empty — write its content, or take the file away",
        "probes.yaml: the file has 1,000,001 bytes, more than 1,000,000"
        " — a kitchen's file is small: is this the right one?",
        "stock.yaml: is a folder — put a YAML file here instead",
    ]


def test_aliases_that_unfold_without_end_are_refused(tmp_path: Path) -> None:
    write_small(tmp_path)
    rows = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    rows += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 9)]
    (tmp_path / "stock.yaml").write_text("\n".join(rows), encoding="utf-8")
    assert [text.split(": ", 1)[1] for text in faults(tmp_path)] == [
        "the file unfolds to more than 50,000 parts — use fewer aliases"
    ]


@pytest.mark.parametrize("opening", ["[" * 5000, "- " * 2000])
def test_deep_nesting_is_refused(tmp_path: Path, opening: str) -> None:
    write_small(tmp_path)
    (tmp_path / "stock.yaml").write_text("stock:\n" + opening, encoding="utf-8")
    assert [text.split(": ")[-1] for text in faults(tmp_path)] == ["the file is nested too deeply — write it flatter"]


_PIECES = st.sampled_from(
    [
        "{",
        "}",
        "[",
        "]",
        ": ",
        "- ",
        "\n",
        "  ",
        "\t",
        "&a ",
        "*a",
        "? ",
        "!!int ",
        "|",
        ">",
        "%",
        "'",
        '"',
        "#",
        "~",
        "---\n",
    ]
) | st.text(max_size=4)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(file=st.sampled_from(sorted(FILES)), data=st.data())
def test_mangled_files_never_raise_anything_but_faults(tmp_path: Path, file: str, data: st.DataObject) -> None:
    write_small(tmp_path)
    text = FILES[file]
    for _ in range(data.draw(st.integers(1, 3))):
        start = data.draw(st.integers(0, len(text)))
        length = data.draw(st.integers(0, 40))
        text = text[:start] + data.draw(_PIECES) + text[start + length :]
    (tmp_path / file).write_text(text, encoding="utf-8", errors="replace")
    assert_told_or_read(tmp_path)


def assert_told_or_read(folder: Path) -> None:
    """Faults, each with both halves; or a kitchen that survives our own JSON."""
    found: tuple[Fault, ...] = ()
    kitchen = None
    try:
        kitchen = read_kitchen(folder)
    except KitchenFaults as error:
        found = error.faults
    assert (kitchen is None) == bool(found)
    assert all(fault.what and fault.remedy for fault in found)
    assert kitchen is None or Kitchen.model_validate_json(kitchen.model_dump_json()) == kitchen


_SCALARS = (
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8) | st.sampled_from(["5 L", "5 min"])
)
_TREES = st.recursive(
    _SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(file=st.sampled_from(sorted(FILES)), data=st.data())
def test_values_of_the_wrong_shape_never_raise_anything_but_faults(
    tmp_path: Path, file: str, data: st.DataObject
) -> None:
    """Well-formed YAML, one line of which holds any value at all."""
    write_small(tmp_path)
    lines = FILES[file].splitlines()
    index = data.draw(st.integers(0, len(lines) - 1))
    key, colon, _ = lines[index].partition(":")
    lines[index] = f"{key}{colon} {flow(data.draw(_TREES))}"
    (tmp_path / file).write_text("\n".join(lines), encoding="utf-8", errors="replace")
    assert_told_or_read(tmp_path)


def flow(value: object) -> str:
    """A value as one line of YAML."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{flow(str(key))}: {flow(part)}" for key, part in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(flow(part) for part in value) + "]"
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    if isinstance(value, float):
        return str(value).replace("inf", ".inf").replace("nan", ".nan")
    return (
        str(value)
        if isinstance(value, int)
        else '"' + str(value).encode("unicode_escape").decode().replace('"', "") + '"'
    )
