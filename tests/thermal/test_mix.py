"""Figures of mixes against published ones, and against the national nutrient table itself."""

import numpy as np
import pytest

from orchestrator.core.models.ingredient import ADD_UP as COLUMNS
from orchestrator.core.models.ingredient import OF_WHICH
from orchestrator.kitchen.shipped import shipped_ingredients
from orchestrator.thermal.mix import (
    ADD_UP,
    FIGURES,
    KINDS,
    Parts,
    blend,
    density_kg_per_l,
    overrun_by_volume,
    reduced,
    row,
    unknown_row,
    weight_g,
)
from orchestrator.thermal.mix_freezing import (
    depressions,
    freezing_point_c,
    freezing_range_c,
    frozen_range,
    frozen_water,
)
from orchestrator.thermal.mix_work import ice_kg
from tests.thermal import plain_freezing

ROWS = {one.id: row(one.per_100g.model_dump()) for one in shipped_ingredients()}
NMS, WHEY = row({"milk_solids_not_fat": 100, "lactose": 54.5}), row({"milk_solids_not_fat": 100, "lactose": 76.5})
PURE = {name: row({name: 100}) for name in ("water", "fat", "sucrose", "syrup_42de", "other_solids", "alcohol")}


def published_mix() -> Parts:
    """NMS 10, whey solids 2, sucrose 12, 42 DE syrup solids 4, water 60 %, the rest fat: Goff, University of Guelph."""
    return blend(
        [10, 2, 12, 4, 60, 12],
        [NMS, WHEY, PURE["sucrose"], PURE["syrup_42de"], PURE["water"], PURE["fat"]],
    )


def test_kinds_are_those_of_the_ingredient_table() -> None:
    assert set(KINDS) == {*COLUMNS, *OF_WHICH, "unknown", "bulky"}
    assert set(ADD_UP) == {*COLUMNS, "unknown"}


# USDA National Nutrient Database SR: 01049 half and half, 01052 light whipping cream; mixed here from 01077 whole milk
# and 01053 heavy cream to their fat. The table's own milks differ by a few tenths in what they were analysed for.
@pytest.mark.parametrize(
    ("fat", "water", "sugars"), [(11.50, 80.57, 4.30), (30.91, 63.50, 2.96)], ids=["half-and-half", "light-whipping"]
)
def test_milk_and_cream_mixed_to_a_fat_have_the_water_and_lactose_of_the_printed_row(
    fat: float, water: float, sugars: float
) -> None:
    milk, cream = 37.0 - fat, fat - 3.25  # Pearson square
    parts = blend([milk, cream], [ROWS["whole-milk"], ROWS["heavy-cream"]])
    assert FIGURES["milk_fat"].of(parts).low == pytest.approx(fat)
    assert FIGURES["water"].of(parts).low == pytest.approx(water, abs=0.35)
    assert 100 * parts[KINDS.index("lactose")] / weight_g(parts) == pytest.approx(sugars, abs=0.25)


def test_pearson_square_of_the_published_problem() -> None:
    # University of Guelph, standardization problems: 500 kg at 4 % and 120 kg at 35 % give 10 %.
    four, thirty_five = row({"water": 96, "fat": 4, "milk_fat": 4}), row({"water": 65, "fat": 35, "milk_fat": 35})
    parts = blend([500, 120], [four, thirty_five])
    assert FIGURES["fat"].of(parts).low == pytest.approx(10.0)


def test_density_of_the_published_mix() -> None:
    # University of Guelph, mix density: 12 % fat, 38.3 % solids weigh 1.096 kg/L.
    parts = blend([12, 26.3, 61.7], [PURE["fat"], NMS, PURE["water"]])
    assert density_kg_per_l(parts).low == pytest.approx(1.096, abs=0.001)


def test_overrun_of_the_published_examples() -> None:
    # University of Guelph, overrun: mix of 1090 g/L becomes a product of 560 g/L; and 1 L that becomes 1.5 L.
    assert overrun_by_volume(1 / 1.090, 1 / 0.560) == pytest.approx(0.946, abs=0.0005)
    assert overrun_by_volume(1.0, 1.5) == pytest.approx(0.50)


def test_freezing_of_the_published_mix() -> None:
    # Goff's example; the ice was computed two ways from the same equations.
    low, high = depressions(published_mix()) or pytest.fail("it has water")
    assert low == high
    assert low.sugar_g_per_100g_water == pytest.approx(34.43, abs=0.01)
    assert low.salts_c == pytest.approx(0.474, abs=0.0005)
    assert -2.59 <= freezing_point_c(low) <= -2.53
    for celsius, least, most in ((-5, 0.457, 0.462), (-10, 0.700, 0.706), (-15, 0.790, 0.792)):
        assert least - 0.0005 <= float(frozen_water(low, celsius)) <= most + 0.0005


def test_whole_curve_is_that_of_the_equation_solved_one_by_one() -> None:
    found = (depressions(published_mix()) or pytest.fail("it has water"))[0]
    plain = plain_freezing.FreezingMix(60, 12, 10, 2, 4)
    celsius = np.linspace(-2.7, -20.0, 40)
    expected = [plain_freezing.frozen_water(plain, float(one)) for one in celsius]
    assert frozen_water(found, celsius).tolist() == pytest.approx(expected, abs=2e-4)
    assert frozen_water(found, np.array([0.0, -1.0, -2.5])).tolist() == [0.0, 0.0, 0.0]


def test_milk_freezes_where_leighton_says() -> None:
    # Leighton, J. Dairy Sci. 10:300, 1927: cow's milk freezes at -0.55 °C.
    found = freezing_range_c(ROWS["whole-milk"]) or pytest.fail("it has water")
    assert found.low == pytest.approx(-0.55, abs=0.01)


def test_mix_of_a_published_description_freezes_at_about_two_and_a_half() -> None:
    # A mix of 12 % fat, 11 % MSNF, 15 % sugar, 0.3 % stabilizer and 61.7 % water freezes at about -2.5 °C (as described
    # in a study of lactose hydrolysis in ice cream; read in an extract).
    sorts = [PURE["fat"], NMS, PURE["sucrose"], PURE["other_solids"], PURE["water"]]
    found = freezing_range_c(blend([12, 11, 15, 0.3, 61.7], sorts)) or pytest.fail("it has water")
    assert found.low == pytest.approx(-2.5, abs=0.1)


# Freezing points of solutions at mass per cent: CRC Handbook of Chemistry and Physics, from memory. The figures at 1 %
# of salt and 5 % of alcohol are where ours comes from; these are others.
@pytest.mark.parametrize(
    ("kinds", "percent", "celsius", "within"),
    [("salt", 3, -1.79, 0.05), ("salt", 5, -3.05, 0.05), ("alcohol", 2, -0.81, 0.03), ("alcohol", 10, -4.47, 0.08)],
)
def test_salt_and_alcohol_in_water(kinds: str, percent: float, celsius: float, within: float) -> None:
    contents = {"water": 100 - percent, kinds: percent} | ({"other_solids": percent} if kinds == "salt" else {})
    found = freezing_range_c(row(contents)) or pytest.fail("it has water")
    assert found.low == pytest.approx(celsius, abs=within)


def test_reduction_by_simmering_and_drying_of_the_published_exercises() -> None:
    # Course exercise: 12 to 42 % solids drives off 0.7143 kg of water for each kg; IRRI Rice Knowledge Bank: 1000 kg of
    # paddy at 25 % water are 872 kg at 14 %.
    for solids, left, water in ((12, 1 - 0.7143, 58), (75, 0.872, 14)):
        food = row({"water": 100 - solids, "other_solids": solids})
        dried = blend([1000], reduced([food], left))
        assert dried[KINDS.index("water")] / weight_g(dried) == pytest.approx(water / 100, abs=0.0005)


def test_reducing_a_pot_takes_water_only_and_as_much_as_the_share_says() -> None:
    rows = [row({"water": 84, "mixed_sugars": 9, "other_solids": 7}, bulky=True), PURE["sucrose"], PURE["water"]]
    before = blend([3600, 500, 400], rows)
    after = blend([3600, 500, 400], reduced(rows, 0.75))
    assert weight_g(after) == pytest.approx(0.75 * 4500)
    lost = before - after
    assert lost[KINDS.index("water")] == pytest.approx(0.25 * 4500)
    assert after[KINDS.index("bulky")] == pytest.approx(0.75 * 3600)
    assert [lost[KINDS.index(kind)] for kind in ("sucrose", "mixed_sugars", "other_solids")] == [0, 0, 0]


def test_ice_for_water_from_eighty_degrees_is_a_little_more_than_its_weight() -> None:
    # The heat of fusion is that of warming water by about 80 °C: from where the old calorie has its 80.
    assert ice_kg(1.0, 4.187, 80.0, 0.0) == pytest.approx(1.004, abs=0.002)
    with pytest.raises(ValueError, match="is not chilled"):
        ice_kg(1.0, 4.187, 4.0, 20.0)


def test_unknown_part_makes_intervals_that_hold_the_figure_whatever_it_is() -> None:
    known = published_mix()
    parts = known + 10.0 * unknown_row()
    for other in ("whole-milk", "sugar", "butter", "dextrose", "cocoa", "honey", "egg-yolk"):
        truth = known + 10.0 * ROWS[other]
        for name, ratio in FIGURES.items():
            found, real = ratio.of(parts), ratio.of(truth).low
            assert found.low - 1e-9 <= real <= found.high + 1e-9, (name, other)
        ice, real_ice = frozen_range(parts, -13.0), frozen_range(truth, -13.0)
        assert ice is not None
        assert real_ice is not None
        assert ice.low - 1e-9 <= real_ice.low <= ice.high + 1e-9, other
        dense = density_kg_per_l(parts)
        assert dense.low - 1e-9 <= density_kg_per_l(truth).low <= dense.high + 1e-9
    assert not FIGURES["fat"].of(parts).exact
    assert FIGURES["fat"].of(known).exact


def test_without_water_nothing_freezes() -> None:
    assert freezing_range_c(PURE["fat"]) is None
    assert frozen_range(PURE["sucrose"], -10.0) is None
