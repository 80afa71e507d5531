"""The limits that come with the program, against the texts that they are printed in."""

from typing import Final

import pytest

from orchestrator.kitchen.shipped import shipped_limits

# °C, °F, seconds of hold. Each table as printed in the text named beside it.
HEAT: Final = {
    # 21 CFR 1240.61(c), printed for eggnog; the first two rows also in 7 CFR 58.635 (°F only), for mix.
    "frozen-dessert-mix": [(69, 155, 1800), (80, 175, 25), (83, 180, 15)],
    # 21 CFR 1240.61(b): 63 °C (145 °F) 30 min, 72 (161) 15 s, 89 (191) 1 s, 90 (194) 0.5 s, 94 (201) 0.1 s,
    # 96 (204) 0.05 s, 100 (212) 0.01 s; and its footnote: "increased by 5 °F (3 °C)".
    "sweetened-or-fat-milk": [
        (63 + 3, 145 + 5, 1800),
        (72 + 3, 161 + 5, 15),
        (89 + 3, 191 + 5, 1),
        (90 + 3, 194 + 5, 0.5),
        (94 + 3, 201 + 5, 0.1),
        (96 + 3, 204 + 5, 0.05),
        (100 + 3, 212 + 5, 0.01),
    ],
    # FDA Food Code 3-401.11(A)(2) as adopted in Minnesota Rules 4626.0340 (chart), 17 s as on fda.gov, "Key
    # Temperatures for Egg Safety". The last is printed as "< 1 second".
    "raw-egg": [(63, 145, 180), (66, 150, 60), (68, 155, 17), (70, 158, 1)],
}


@pytest.mark.parametrize("limit", HEAT)
def test_rows_of_heat_stand_as_printed(limit: str) -> None:
    found = shipped_limits().limit(limit)
    assert found is not None
    rows = [(r.asked.celsius, r.asked.fahrenheit, r.hold) for r in found.rows]
    assert rows == HEAT[limit]


def test_155_f_has_two_celsius_columns_because_neither_is_derived() -> None:
    dairy, food = shipped_limits().limit("frozen-dessert-mix"), shipped_limits().limit("raw-egg")
    assert dairy is not None
    assert food is not None
    assert (dairy.row("30-min").asked.fahrenheit, dairy.row("30-min").asked.celsius) == (155, 69)
    assert (food.row("17-s").asked.fahrenheit, food.row("17-s").asked.celsius) == (155, 68)


def test_cooling_and_keeping_stand_as_in_the_food_code() -> None:
    # FDA Food Code 2022, 3-501.14(A) and (B), 3-501.16(A), 3-501.17, 4-602.11(C).
    told = {}
    for limit in shipped_limits().limits:
        for row in limit.rows:
            degrees = [row.begins, row.at_least, row.at_most]
            told[row.id] = [(d.celsius, d.fahrenheit) if d else None for d in degrees] + [row.within, row.days]
    assert told["first-leg"] == [(57, 135), None, (21, 70), 2 * 3600, None]
    assert told["second-leg"] == [(57, 135), None, (5, 41), 6 * 3600, None]
    assert told["cold"] == [None, None, (5, 41), None, None]
    assert told["hot"] == [None, (57, 135), None, None, None]
    assert told["seven-days"] == [None, None, (5, 41), None, 7]
    (b,) = [limit for limit in shipped_limits().limits if limit.id == "from-ambient-cooling"]
    assert [(r.begins, r.within) for r in b.rows] == [(None, 4 * 3600)]


def test_what_is_practice_says_so_and_all_else_names_a_text() -> None:
    practice = {limit.id for limit in shipped_limits().limits if limit.status == "practice"}
    assert practice == {"ageing", "draw-out-of-the-churn", "hardening-core"}


def test_revoked_and_foreign_figures_are_nowhere_in_what_can_be_chosen() -> None:
    shipped = shipped_limits()
    chosen = {(row.asked.celsius, row.hold) for limit in shipped.limits if limit.kind == "heat" for row in limit.rows}
    revoked = {(65.6, 1800.0), (71.1, 600.0), (79.4, 15.0)}  # SI 1995/1372, revoked
    foreign = {(90.0, 600.0), (80.0, 129 * 60.0), (85.0, 36 * 60.0), (70.0, 120.0)}  # chilled foods, 2006
    assert not chosen & (revoked | foreign)
    assert {one.id for one in shipped.refused} == {"uk-ice-cream-1995", "ninety-degrees-ten-minutes", "milk"}
    assert not {one.id for one in shipped.refused} & {limit.id for limit in shipped.limits}
