"""Compositions of recipes: amounts as written, components, trim, reductions, what is missing, and what follows."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchestrator.core.ids import RecipeId
from orchestrator.core.mix.book import Book, book
from orchestrator.core.mix.composition import Composition, Lack, composition, walk
from orchestrator.core.mix.standards import standard
from orchestrator.core.mix.usual import usual
from orchestrator.core.mix.yields import LB_PER_GAL, yields
from orchestrator.core.models import Recipe
from orchestrator.core.models.ingredient import Contents, Ingredient
from orchestrator.kitchen.shipped import shipped_ingredients
from orchestrator.thermal.mix import FIGURES, KINDS, weight_g

DURATION = {"shortest": 5, "usual": 10, "longest": 20}


def recipe(name: str, yields_: str, *steps: dict[str, object], **more: object) -> Recipe:
    """A recipe of steps that say only what matters here."""
    whole = [
        {"id": f"s{at}", "process": "mix", "title": f"Step {at}", "duration": DURATION, **step}
        for at, step in enumerate(steps)
    ]
    return Recipe.model_validate(
        {
            "id": name,
            "name": name.capitalize(),
            "code": "X",
            "makes": "product",
            "yields": yields_,
            "batch": {"least": yields_, "most": yields_},
            "steps": whole,
            **more,
        }
    )


def takes(**amounts: str) -> list[dict[str, str]]:
    """Lines by ingredient; a name that begins with ``the_`` is a component."""
    lines = []
    for name, amount in amounts.items():
        kind = "component" if name.startswith("the_") else "ingredient"
        written = name.removeprefix("the_").replace("_", "-" if kind == "component" else " ")
        lines.append({kind: written, "amount": amount})
    return lines


def own(name: str, **contents: float) -> Ingredient:
    return Ingredient(
        id=name.replace(" ", "-"), name=name, per_100g=Contents(**contents), source="ours", cost_per_kg=2.0
    )


SHIPPED = shipped_ingredients()
FOUR = own("four", water=96, fat=4, milk_fat=4).model_copy(update={"density_g_per_ml": 1.03})
CREAM = own("cream", water=65, fat=35, milk_fat=35)


def of(*recipes: Recipe, rows: tuple[Ingredient, ...] = SHIPPED) -> tuple[Book, Composition]:
    """The composition of the last one."""
    listed = book((*rows, FOUR, CREAM), recipes)
    return listed, composition(recipes[-1], listed)


def share(made: Composition, figure: str) -> float:
    found = FIGURES[figure].of(made.mixed)
    assert found.exact
    return found.low


def test_pearson_square_through_a_recipe_in_kilograms() -> None:
    # University of Guelph, standardization problems: 500 kg at 4 % and 120 kg at 35 % give 10 %.
    _, made = of(recipe("base", "620 kg", {"takes": takes(four="500 kg", cream="120 kg")}))
    assert made.grams == pytest.approx(620_000)
    assert share(made, "fat") == pytest.approx(10.0)
    assert made.cost == pytest.approx(2.0 * 620)


def test_litres_are_weighed_by_the_density_of_the_row_and_names_do_not_mind_capitals() -> None:
    _, made = of(recipe("base", "2 L", {"takes": [{"ingredient": "FOUR", "amount": "2 L"}]}))
    assert made.lines[0].grams == pytest.approx(2060)


def test_trim_leaves_what_is_usable_and_the_price_is_of_what_was_bought() -> None:
    _, made = of(recipe("puree", "3 kg", {"takes": takes(Damsons="4 kg")}))
    assert made.lines[0].grams == pytest.approx(4000)
    assert made.grams == pytest.approx(0.86 * 4000)
    assert made.unpriced == ("Damsons",)


def test_component_counts_as_what_it_is_made_of_by_weight_and_by_litre() -> None:
    inner = recipe("base", "6 L", {"takes": takes(Whole_milk="5 L", Sugar="1 kg")})
    by_kg = recipe("outer", "1 L", {"takes": takes(the_base="600 g", Sugar="100 g")})
    by_litre = recipe("outer", "1 L", {"takes": takes(the_base="1 L")})
    _, base = of(inner)
    _, made = of(inner, by_kg)
    assert made.grams == pytest.approx(700)
    sugar = base.mixed[KINDS.index("sucrose")] / base.grams * 600 + 99.8
    assert made.mixed[KINDS.index("sucrose")] == pytest.approx(sugar)
    _, litre = of(inner, by_litre)
    # University of Guelph, mix density, by hand from the row of milk and 1 kg of sugar.
    milk = 5 * 1030
    volume = (milk * (0.0325 * 1.07527 + 0.0862 * 0.6329 + 0.8813) + 999.8 * 0.6329 + 0.2) / 1000
    assert litre.grams == pytest.approx(1000 * (milk + 1000) / 1000 / volume, rel=1e-3)


def test_reduction_inside_a_component_is_carried_through() -> None:
    inner = recipe(
        "puree", "3 kg", {"takes": takes(Strawberries="4 kg")},
        {"process": "reduce", "reduce_to": 0.5, "station": "stove"},
    )  # fmt: skip
    outer = recipe("outer", "1 kg", {"takes": takes(the_puree="1 kg")})
    _, puree = of(inner)
    assert puree.reductions[0].off_g == pytest.approx(0.5 * 0.94 * 4000)
    # USDA SR 09316: strawberries hold 90.95 % water, so half of the weight gone leaves 81.9 %.
    _, made = of(inner, outer)
    assert share(made, "water") == pytest.approx(100 * (90.95 - 50) / 50, abs=0.01)
    assert made.grams == pytest.approx(1000)


def test_drying_is_told_by_the_yield_in_kilograms() -> None:
    dried = {"process": "dehydrate", "station": "stove"}
    # IRRI Rice Knowledge Bank: 1000 kg at 25 % water dried to 14 % are 872 kg.
    paddy = own("paddy", water=25, other_solids=75)
    _, made = of(recipe("rice", "872 kg", {"takes": takes(paddy="1000 kg")}, dried), rows=(*SHIPPED, paddy))
    assert share(made, "water") == pytest.approx(14.0, abs=0.02)
    _, in_litres = of(recipe("zest", "1 L", {"takes": takes(Basil="1 kg")}, dried))
    assert [one.lack for one in in_litres.missing] == [Lack.DRIED]


def test_driving_off_more_water_than_there_is_is_told() -> None:
    step = {"process": "reduce", "reduce_to": 0.5, "station": "stove"}
    _, made = of(recipe("caramel", "1 kg", {"takes": takes(Sugar="1 kg", Water="100 ml")}, step))
    assert [(one.recipe, one.name, one.lack) for one in made.missing] == [("caramel", "Caramel", Lack.TOO_MUCH_WATER)]


def test_what_is_folded_in_after_the_churn_is_not_part_of_the_mix() -> None:
    churn = {"process": "churn", "takes": takes(four="2 kg"), "station": "stove"}
    _, made = of(recipe("ice", "3 L", churn, {"takes": takes(Hazelnuts="100 g")}))
    assert weight_g(made.mixed) == pytest.approx(2000)
    assert weight_g(made.later) == pytest.approx(92)
    assert share(made, "fat") == pytest.approx(4.0)


@pytest.mark.parametrize(
    ("line", "lacks", "grams"),
    [
        ({"ingredient": "Unobtainium", "amount": "100 g"}, [Lack.ROW], 100),
        ({"ingredient": "Unobtainium", "amount": "1 L"}, [Lack.ROW, Lack.DENSITY], None),
        ({"ingredient": "Hazelnuts", "amount": "1 L"}, [Lack.DENSITY], None),
        ({"ingredient": "Egg yolk", "amount": "6 each"}, [Lack.PIECE], None),
        ({"ingredient": "Egg yolk", "amount": "6 trays"}, [Lack.UNIT], None),
        ({"component": "nowhere", "amount": "1 kg"}, [Lack.COMPONENT], 1000),
        ({"component": "outer", "amount": "1 kg"}, [Lack.LOOP], 1000),
    ],
)
def test_what_cannot_be_counted_is_told_and_never_nothing(
    line: dict[str, str], lacks: list[Lack], grams: float | None
) -> None:
    _, made = of(recipe("outer", "2 kg", {"takes": [*takes(four="1 kg"), line]}))
    assert [one.lack for one in made.missing] == lacks
    assert made.missing[-1].grams == grams
    assert made.weighed == (grams is not None)
    assert yields(made) is None if grams is None else yields(made) is not None
    assert len(made.unpriced) == 1
    if grams is not None:
        fat = FIGURES["fat"].of(made.mixed)
        assert (fat.low, fat.high) == (
            pytest.approx(4000 / (1000 + grams)),
            pytest.approx(100 * (40 + grams) / (1000 + grams)),
        )


def test_unknown_ingredient_deep_inside_is_named_with_its_recipe() -> None:
    inner = recipe("powder", "60 g", {"takes": [{"ingredient": "Zest", "amount": "12 each"}]})
    outer = recipe("outer", "1 kg", {"takes": takes(the_powder="25 g", four="1 kg")})
    _, made = of(inner, outer)
    assert [(one.recipe, one.name, one.lack) for one in made.missing] == [
        ("powder", "Zest", Lack.ROW), ("powder", "Zest", Lack.PIECE), ("outer", "Powder", Lack.INSIDE),
    ]  # fmt: skip
    assert made.weighed
    assert made.unknown_share == pytest.approx(25 / 1025)


@settings(deadline=None)
@given(st.floats(0.01, 100.0))
def test_scaled_recipe_weighs_and_costs_so_many_times_and_keeps_its_shares(scale: float) -> None:
    inner = recipe(
        "puree", "3 kg", {"takes": takes(Damsons="4 kg", Sugar="500 g")},
        {"process": "reduce", "reduce_to": 0.75, "station": "stove"},
    )  # fmt: skip
    outer = recipe("outer", "2 kg", {"takes": takes(the_puree="1 kg", cream="700 ml", four="1 L")})
    listed = book((*SHIPPED, FOUR, CREAM.model_copy(update={"density_g_per_ml": 0.99})), (inner, outer))
    one, many = composition(outer, listed), composition(outer, listed, scale)
    assert many.grams == pytest.approx(one.grams * scale, rel=1e-6)
    assert many.cost == pytest.approx(one.cost * scale, rel=1e-6)
    for figure in FIGURES:
        assert share(many, figure) == pytest.approx(share(one, figure), rel=1e-6)
    assert many.missing == ()


@settings(deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(["Whole milk", "Sugar", "Damsons", "Honey", "Basil"]), st.floats(0.01, 9)),
        min_size=1,
        max_size=6,
    ),
    st.floats(0.3, 0.99),
)
def test_what_goes_in_comes_out_but_for_trim_and_water(lines: list[tuple[str, float]], to: float) -> None:
    written = [{"ingredient": name, "amount": f"{kg:.6f} kg"} for name, kg in lines]
    step = {"process": "reduce", "reduce_to": round(to, 6), "station": "stove"}
    _, made = of(recipe("pot", "1 kg", {"takes": written}, step))
    usable = sum((line.grams or 0) * {"Damsons": 0.86, "Basil": 0.6}.get(line.name, 1.0) for line in made.lines)
    off = sum(one.off_g for one in made.reductions)
    assert made.grams + off == pytest.approx(usable, rel=2e-3)  # printed rows add up to 100 g within a hundredth
    assert off == pytest.approx((1 - round(to, 6)) * usable, rel=2e-3)


def test_overrun_and_weight_of_a_litre_are_those_of_the_written_yield() -> None:
    # University of Guelph, overrun by volume: 1 L of mix that becomes 1.5 L has 50 %.
    churn = {"process": "churn", "takes": takes(four="2 kg"), "station": "stove"}
    _, made = of(recipe("ice", "3 L", churn))
    out = yields(made)
    assert out is not None
    assert out.overrun is not None
    litres = 2.0 * (0.04 * 1.07527 + 0.96)
    assert out.mix_l.low == pytest.approx(litres)
    assert out.overrun.low == pytest.approx(3.0 / litres - 1.0)
    assert out.product_kg_per_l == pytest.approx(2.0 / 3.0)
    assert (out.portions, out.cost_per_portion) == (pytest.approx(30), pytest.approx(4.0 / 30))


def test_yield_that_its_weights_do_not_give_is_told() -> None:
    _, right = of(recipe("base", "5 kg", {"takes": takes(four="5 kg")}))
    _, wrong = of(recipe("base", "7 kg", {"takes": takes(four="5 kg")}))
    # 5 kg of it are 4.997 L: the same fat and water as in the test of overrun.
    _, in_litres = of(recipe("base", "5.2 L", {"takes": takes(four="5 kg")}))
    _, too_few = of(recipe("base", "4 L", {"takes": takes(four="5 kg")}))
    _, pieces = of(recipe("base", "80 each", {"takes": takes(four="5 kg")}))
    litres = 5.0 * (0.04 * 1.07527 + 0.96)
    for made, misfit in (
        (right, None),
        (wrong, pytest.approx(2.0)),
        (in_litres, None),
        (too_few, pytest.approx(4.0 - litres)),
        (pieces, None),
    ):
        out = yields(made)
        assert out is not None
        assert out.misfit == misfit


def ice_cream(*rows: Ingredient, litres: float, **amounts: str) -> Composition:
    churn = {"process": "churn", "takes": takes(**amounts), "station": "stove"}
    _, made = of(recipe("ice", f"{litres} L", churn), rows=(*SHIPPED, *rows))
    return made


TEN = own("ten", water=64, fat=10, milk_fat=10, milk_solids_not_fat=10, sucrose=16)
FRUIT = own("fruit", water=90, mixed_sugars=8, other_solids=2).model_copy(update={"bulky_flavour": True})


def verdicts(made: Composition) -> dict[str, str]:
    found = standard(made, yields(made))
    assert found is not None
    return {one.key: one.verdict for one in found.advice}


def test_plain_ice_cream_at_the_figures_of_the_standard() -> None:
    # 21 CFR 135.110(a)(2): 10 % milk fat, 10 % milk solids not fat, 4.5 lb and 1.6 lb of solids to the gallon.
    made = ice_cream(TEN, litres=2.0, ten="1.09 kg")
    assert verdicts(made) == {"milk_fat": "met", "milk_solids_not_fat": "met", "weight": "met", "solids": "met"}
    assert pytest.approx(0.5392, abs=0.0001) == 4.5 * LB_PER_GAL
    airy = ice_cream(TEN, litres=2.2, ten="1.09 kg")
    assert verdicts(airy) == {"milk_fat": "met", "milk_solids_not_fat": "met", "weight": "short", "solids": "short"}


@pytest.mark.parametrize(
    ("fat", "solids", "verdict"), [(12, 8, "met"), (12, 7.9, "short"), (11.9, 8, "short"), (14, 6, "met")]
)
def test_more_milk_fat_allows_less_of_the_other_solids(fat: float, solids: float, verdict: str) -> None:
    # The table of 21 CFR 135.110(a)(2): 10/10, 11/9, 12/8, 13/7, 14/6.
    mix = own("mix", water=80 - fat - solids, fat=fat, milk_fat=fat, milk_solids_not_fat=solids, sucrose=20)
    assert verdicts(ice_cream(mix, litres=1.5, mix="1.09 kg"))["milk_solids_not_fat"] == verdict


@pytest.mark.parametrize(("kg", "of_rest", "of_all"), [(0.18, "met", "met"), (0.30, "met", "short")])
def test_bulky_flavour_is_allowed_for_but_never_below_eight_and_sixteen(kg: float, of_rest: str, of_all: str) -> None:
    # 21 CFR 135.110(a)(2): 10 and 20 % of what is left without it, never below 8 and 16 % of all.
    found = verdicts(ice_cream(TEN, FRUIT, litres=1.5, ten="1 kg", fruit=f"{kg} kg"))
    assert (found["milk_fat"], found["milk_solids"]) == (of_rest, of_rest)
    assert (found["milk_fat_of_all"], found["milk_solids_of_all"]) == (of_all, of_all)
    assert "milk_solids_not_fat" not in found


@pytest.mark.parametrize(("yolk", "name"), [("29 g", "ice cream"), ("31 g", "frozen custard")])
def test_yolk_solids_from_one_point_four_per_cent_make_a_custard(yolk: str, name: str) -> None:
    # 21 CFR 135.110: 1.4 % of egg yolk solids. USDA SR 01125: yolk holds 47.69 % solids.
    found = ice_cream(TEN, litres=1.5, ten="0.97 kg", Egg_yolk=yolk)
    told = standard(found, yields(found))
    assert told is not None
    assert told.name == name
    grams = float(yolk.removesuffix(" g"))
    assert told.yolk.low == pytest.approx(47.69 * grams / (970 + grams), abs=0.01)


def test_unknown_ingredient_leaves_open_what_it_decides() -> None:
    found = verdicts(ice_cream(TEN, litres=1.8, ten="1 kg", Unobtainium="50 g"))
    assert (found["milk_fat"], found["weight"]) == ("open", "met")


def test_sorbet_and_what_is_not_churned_have_no_standard_and_their_own_usual_ranges() -> None:
    sorbet = ice_cream(litres=1.3, Sugar="300 g", Water="700 ml")
    assert standard(sorbet, yields(sorbet)) is None
    assert "sugars" in usual(sorbet)
    _, base = of(recipe("base", "1 kg", {"takes": takes(cream="1 kg")}))
    assert standard(base, yields(base)) is None
    assert "milk_fat" in usual(base)
    assert [usual(base)["milk_fat"].mark(FIGURES["milk_fat"].of(base.mixed))] == ["above"]


def test_walk_names_components_first() -> None:
    inner = recipe("puree", "3 kg", {"takes": takes(Damsons="4 kg")})
    outer = recipe("outer", "1 kg", {"takes": takes(the_puree="1 kg")})
    listed, _ = of(inner, outer)
    assert [one.id for one in walk(outer, listed)] == [RecipeId("puree"), RecipeId("outer")]
    assert math.isclose(composition(outer, listed).grams, 1000)
