"""A kitchen's own limits, and the limits that its steps choose."""

from pathlib import Path

import pytest

from orchestrator.core.models import Target
from orchestrator.core.models.limit import LimitId
from orchestrator.kitchen import read_kitchen
from tests.kitchen.small import change, faults, write_small

PUREE = "recipes/damson-puree.yaml"
OWN = """\
limits:
  - id: frozen-dessert-mix
    title: Pasteurise a mix
    kind: heat
    rows: [{ id: 10-min, at_least: 72 °C (162 °F), hold: 10 min }]
    source: Ordinance 12
    edition: 2024, section 3
    scope: Mixes
    caution: Stir
    local_code: Town of Example, Ordinance 12 (2024), section 3
"""


def _simmer(folder: Path, line: str) -> Path:
    change(write_small(folder), PUREE, "load: 5 L\n", f"load: 5 L\n    {line}\n")
    return folder


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        (
            "limit: uk-ice-cream-1995",
            "5: 'uk-ice-cream-1995' cannot be chosen: the 1995 regulations of the United Kingdom (SI 1995/1372) are "
            "revoked — take 'frozen-dessert-mix'",
        ),
        (
            "limit: ninety-degrees-ten-minutes",
            "5: 'ninety-degrees-ten-minutes' cannot be chosen: the 21-point table to 90 °C for 10 min is for chilled "
            "foods and spore formers, not for this food — take 'frozen-dessert-mix'",
        ),
        ("limit: frozen-desert-mix", "5: there is no limit 'frozen-desert-mix' — did you mean 'frozen-dessert-mix'?"),
        (
            "limit: { id: raw-egg, row: 15-s }",
            "27: 'raw-egg' has no row '15-s' — known here: 1-min, 17-s, 3-min, at-once",
        ),
        (
            "limit: frozen-holding",
            "5: 'frozen-holding' cannot be judged on the step 'simmer', which is to simmer — known here: "
            "frozen-dessert-mix, raw-egg, sweetened-or-fat-milk",
        ),
        (
            "limit: raw-egg",
            "5: 'raw-egg' has 4 rows, and nothing says which of them is aimed at — write "
            "{ id: raw-egg, row: 3-min }, or give the step a target",
        ),
        (
            "limit: { id: frozen-dessert-mix, row: 15-s, ceiling: 82 °C }",
            "49: the ceiling, 82 °C, lies below the limit, 83 °C — raise the ceiling, or choose a milder row",
        ),
    ],
)
def test_limit_that_cannot_be_chosen_is_told(tmp_path: Path, line: str, fault: str) -> None:
    assert faults(_simmer(tmp_path, line)) == [f"{PUREE}:14:{fault}"]


def test_target_milder_than_the_limit_is_told(tmp_path: Path) -> None:
    _simmer(tmp_path, "target: { at_least: 79.9 °C, hold: 1 min }\n    limit: { id: frozen-dessert-mix, row: 25-s }")
    assert faults(tmp_path) == [
        f"{PUREE}:14:5: the target is milder than 'frozen-dessert-mix' — aim at 80 °C (175 °F), or take the target out"
    ]


def test_limit_for_another_food_is_told(tmp_path: Path) -> None:
    _simmer(tmp_path, "limit: { id: sweetened-or-fat-milk, row: 30-min }")
    change(tmp_path, PUREE, "makes: component\n", "makes: component\nallergens: [egg]\n")
    (only,) = faults(tmp_path)
    assert only.startswith(f"{PUREE}:15:5: 'sweetened-or-fat-milk' is not for food with egg: Milk products without egg")
    assert only.endswith("— known here: frozen-dessert-mix, raw-egg")


@pytest.mark.parametrize(("unit", "celsius"), [("C", 80.0), ("F", (175 - 32) / 1.8)])
def test_step_without_a_target_aims_at_its_limit_in_the_column_of_the_kitchens_unit(
    tmp_path: Path, unit: str, celsius: float
) -> None:
    _simmer(tmp_path, "limit: { id: frozen-dessert-mix, row: 25-s, ceiling: 85 °C }")
    change(tmp_path, "kitchen.yaml", "horizon_days: 3\n", f"horizon_days: 3\ntemperature_unit: {unit}\n")
    (recipe,) = [one for one in read_kitchen(tmp_path).recipes if one.id == "damson-puree"]
    (step,) = [one for one in recipe.steps if one.id == "simmer"]
    # 25 s are held for a whole minute: targets count in minutes, and never come out shorter than the limit.
    assert step.target == Target(at_least=celsius, hold=1, ceiling=85.0)


def test_kitchen_without_limits_has_the_shipped_ones(tmp_path: Path) -> None:
    kitchen = read_kitchen(write_small(tmp_path))
    mix = kitchen.limit(LimitId("frozen-dessert-mix"))
    assert mix is not None
    assert (mix.applied, len(kitchen.limits)) == (
        "21 CFR 1240.61(c); 7 CFR 58.635, as amended 57 FR 57344 (1992); the section on grading as read in 2020",
        13,
    )


def test_kitchens_own_limit_takes_the_place_of_the_shipped_one_and_says_which_text_applies(tmp_path: Path) -> None:
    write_small(tmp_path)
    (tmp_path / "limits.yaml").write_text(OWN, encoding="utf-8")
    kitchen = read_kitchen(tmp_path)
    mix = kitchen.limit(LimitId("frozen-dessert-mix"))
    assert mix is not None
    assert mix.applied == "Town of Example, Ordinance 12 (2024), section 3"
    assert [(row.asked.celsius, row.asked.fahrenheit, row.hold) for row in mix.rows] == [(72.0, 162.0, 600.0)]
    assert len(kitchen.limits) == 13


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            "    local_code: Town of Example, Ordinance 12 (2024), section 3\n",
            "",
            [
                "limits.yaml:2:5: 'frozen-dessert-mix' differs from what is shipped and does not say by which local "
                "code — add `local_code: ...`, naming the code and edition, or who decided"
            ],
        ),
        (
            "id: frozen-dessert-mix",
            "id: uk-ice-cream-1995",
            [
                "limits.yaml:2:5: 'uk-ice-cream-1995' cannot be a limit: the 1995 regulations of the United Kingdom "
                "(SI 1995/1372) are revoked — take 'frozen-dessert-mix'"
            ],
        ),
        (
            "72 °C (162 °F)",
            "72 °C",
            [
                "limits.yaml:5:26: '72 °C' lacks one of the two units — write both as printed, like '80 °C (175 °F)'",
            ],
        ),
        (
            "72 °C (162 °F)",
            "72 °C (72 °F)",
            [
                "limits.yaml:5:26: the two temperatures are not the same — write both as printed, like 80 °C (175 °F)",
            ],
        ),
        (
            ", hold: 10 min",
            "",
            [
                "limits.yaml:2:5: row 10-min does not fit the kind heat — a row of it says at_least, hold",
            ],
        ),
        (
            "hold: 10 min",
            "hold: 10",
            [
                "limits.yaml:5:52: the unit is missing — write it, for example '25 s'",
            ],
        ),
        (
            "    source: Ordinance 12\n",
            "",
            [
                "limits.yaml:2:5: 'source' is missing — add `source: ...`",
            ],
        ),
    ],
)
def test_own_limit_with_a_fault_is_told(tmp_path: Path, old: str, new: str, told: list[str]) -> None:
    write_small(tmp_path)
    assert OWN.count(old) == 1
    (tmp_path / "limits.yaml").write_text(OWN.replace(old, new), encoding="utf-8")
    assert faults(tmp_path) == told


def test_limit_given_twice_is_told(tmp_path: Path) -> None:
    write_small(tmp_path)
    twice = OWN + OWN.removeprefix("limits:\n")
    (tmp_path / "limits.yaml").write_text(twice, encoding="utf-8")
    assert faults(tmp_path) == [
        "limits.yaml:11:5: the id 'frozen-dessert-mix' is taken, on line 2 — give each one a name of its own"
    ]


@pytest.mark.parametrize(
    ("life", "limit", "told"),
    [
        ("5 d", "limit: cold-holding", []),
        ("7 d", "limit: cold-holding", []),
        (
            "8 d",
            "limit: cold-holding",
            [
                f"{PUREE}:7:1: it keeps for longer than its date mark allows: 7 days, the day it is made being day "
                "1 — write 6 d or less, freeze it, or name the local code that allows more"
            ],
        ),
        ("8 d", "load: 3 L", []),
        ("8 d", "limit: cold-holding\n    frozen: true", []),
    ],
    ids=["shorter", "as long", "longer", "not kept cold for safety", "frozen, which pauses it"],
)
def test_shelf_life_longer_than_the_date_mark_is_told(tmp_path: Path, life: str, limit: str, told: list[str]) -> None:
    # 7 days, the day of preparation being day 1: FDA Food Code 2022, 3-501.17.
    write_small(tmp_path)
    change(tmp_path, PUREE, "shelf_life: 5 d", f"shelf_life: {life}")
    change(
        tmp_path,
        PUREE,
        "    equipment: fridge\n    load: 3 L\n",
        f"    equipment: fridge\n    {limit}\n" + ("" if "load" in limit else "    load: 3 L\n"),
    )
    assert faults(tmp_path) == told
