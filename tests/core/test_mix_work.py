"""What a mix asks of the kitchen's work, and minutes that a recipe has worked out from it."""

from pathlib import Path

import pytest

from orchestrator.core.ids import RecipeId, StepId
from orchestrator.core.mix.balancing import NotBalanced, balanced
from orchestrator.core.mix.book import book_of
from orchestrator.core.mix.composition import composition
from orchestrator.core.mix.work import (
    COOLED,
    Chill,
    DrivenOff,
    Hardening,
    chill_of,
    reckoned_min,
    with_reckoned,
    work_of,
)
from orchestrator.core.models import Kitchen, Process, Recipe
from orchestrator.core.models.recipe import Reckon
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.kitchen.faults import KitchenFaults
from orchestrator.kitchen.read import read_kitchen
from orchestrator.thermal.hardening import hardening_min
from orchestrator.thermal.mix import FIGURES
from orchestrator.thermal.mix_balance import Wanted
from tests.kitchen.small import faults, write_small

EXAMPLE = Path(__file__).parents[2] / "config"


@pytest.fixture(scope="module")
def kitchen() -> Kitchen:
    return read_kitchen(EXAMPLE)


def named(kitchen: Kitchen, name: str) -> Recipe:
    return next(recipe for recipe in kitchen.recipes if recipe.id == name)


def test_chill_begins_at_the_target_before_it_and_the_ice_takes_up_its_heat(kitchen: Kitchen) -> None:
    base = named(kitchen, "custard-base")
    (found,) = [one for one in work_of(base, kitchen, book_of(kitchen)) if isinstance(one, Chill)]
    assert (found.from_c, found.begins, found.to_c) == (82, "target", 5)
    # By hand: 6.418 kg with 62.6 % water, 14.3 % fat; 4.187, 1.93 and 1.55 kJ/(kg K); 333.6 kJ melt a kilogram of ice.
    heat = 6.418 * (0.6257 * 4.187 + 0.143 * 1.93 + 0.2313 * 1.55) * (82 - 5)
    assert found.ice_kg == pytest.approx(heat / 333.6, rel=2e-3)


def test_chill_after_a_simmer_without_a_target_begins_at_the_boil(kitchen: Kitchen) -> None:
    found = work_of(named(kitchen, "damson-puree"), kitchen, book_of(kitchen))
    chill = next(one for one in found if isinstance(one, Chill))
    assert chill.begins == "boiling"
    assert chill.from_c == pytest.approx(99.9, abs=0.1)  # IAPWS-IF97 and US Standard Atmosphere 1976, at 30 m


def test_reduction_says_what_the_pot_weighs_before_and_after(kitchen: Kitchen) -> None:
    found = work_of(named(kitchen, "damson-puree"), kitchen, book_of(kitchen))
    off = next(one for one in found if isinstance(one, DrivenOff))
    assert off.before_kg == pytest.approx(0.86 * 4.2 + 0.5 + 0.4 * 0.998, abs=0.001)
    assert off.left_kg == pytest.approx(0.75 * off.before_kg)


def test_larger_tubs_take_longer_and_the_arithmetic_is_planks(kitchen: Kitchen) -> None:
    recipe = named(kitchen, "hazelnut-custard")
    (found,) = [one for one in work_of(recipe, kitchen, book_of(kitchen)) if isinstance(one, Hardening)]
    assert (found.air_c, found.air_known, found.drawn_c, found.core_c) == (-25, True, -6, -15)
    assert found.load_share == pytest.approx(5 / 12)
    minutes = [tub_min for _, tub_min in found.by_tub]
    assert minutes == sorted(minutes)
    made = composition(recipe, book_of(kitchen))
    again = hardening_min(
        tub_m=0.1, air_c=-25, to_freeze=0.826 - 0.619, water=FIGURES["water"].of(made.mixed).low / 100,
        load_share=5 / 12, density_kg_per_m3=1000 * made.grams / 1000 / 5,
    )  # fmt: skip
    assert dict(found.by_tub)[100] == pytest.approx(again, rel=0.03)


def hardening_of(recipe: Recipe, kitchen: Kitchen) -> Hardening:
    (found,) = [one for one in work_of(recipe, kitchen, book_of(kitchen)) if isinstance(one, Hardening)]
    return found


def test_hardening_of_what_is_weighed_takes_the_common_density_for_the_litres_that_nobody_wrote(
    kitchen: Kitchen,
) -> None:
    recipe = named(kitchen, "hazelnut-custard")
    weighed = recipe.model_copy(update={"yields": Quantity(value=3.0, unit=Unit.KILOGRAM)})
    by_litre, by_weight = hardening_of(recipe, kitchen), hardening_of(weighed, kitchen)
    # Plank: minutes go with the density; 560 kg/m3 where the recipe's own litres do not tell it.
    density = composition(recipe, book_of(kitchen)).grams / 5.0
    for (mm, minutes), (same, by_itself) in zip(by_weight.by_tub, by_litre.by_tub, strict=True):
        assert mm == same
        assert minutes / by_itself == pytest.approx(560.0 / density)


@pytest.mark.parametrize("capacity", [None, Quantity(value=4.0, unit=Unit.KILOGRAM)])
def test_freezer_that_does_not_say_what_it_holds_in_the_loads_unit_is_taken_to_be_half_full(
    kitchen: Kitchen, capacity: Quantity | None
) -> None:
    recipe = named(kitchen, "hazelnut-custard")
    blast = next(step.equipment for step in recipe.steps if step.process is Process.HARDEN)
    equipment = tuple(
        one.model_copy(update={"capacity": capacity}) if one.kind == blast else one for one in kitchen.equipment
    )
    changed = kitchen.model_copy(update={"equipment": equipment})
    assert hardening_of(recipe, changed).load_share == 0.5
    assert hardening_of(recipe, kitchen).load_share != 0.5


def test_ice_of_a_chill_is_that_of_its_own_step_and_none_of_a_step_that_does_not_cool(kitchen: Kitchen) -> None:
    base = named(kitchen, "custard-base")
    chill = next(step for step in base.steps if step.process in COOLED)
    found = chill_of(base, chill.id, kitchen, 0.5)
    whole = chill_of(base, chill.id, kitchen, 1.0)
    assert found is not None
    assert whole is not None
    assert (found.step, found.ice_kg) == (chill, pytest.approx(whole.ice_kg / 2))
    others = [step for step in base.steps if step.process not in COOLED]
    assert others
    assert [chill_of(base, step.id, kitchen, 1.0) for step in others] == [None] * len(others)
    assert chill_of(base, StepId("no-such-step"), kitchen, 1.0) is None


def with_reckon(kitchen: Kitchen, recipe: str, step: str, reckon: Reckon) -> Recipe:
    whole = named(kitchen, recipe)
    steps = [one.model_copy(update={"reckon": reckon}) if one.id == step else one for one in whole.steps]
    return whole.model_copy(update={"steps": tuple(steps)})


@pytest.mark.parametrize(
    ("rate", "usual"),
    [(2.0, 34), (4.0, 30), (0.5, 60)],  # 1.128 kg at 2 kg/h are 34 min; 17 and 135 min are held to 30 and 60
)
def test_usual_minutes_of_a_reduction_follow_the_mix_within_the_recipes_bounds(
    kitchen: Kitchen, rate: float, usual: int
) -> None:
    asked = with_reckon(kitchen, "damson-puree", "reduce", Reckon(drives_off_kg_per_h=rate))
    duration = with_reckoned(asked, kitchen, book_of(kitchen)).step(asked.steps[2].id).duration
    assert duration is not None
    assert (duration.shortest, duration.usual, duration.longest) == (30, usual, 60)


def test_usual_minutes_of_a_hardening_follow_the_tub(kitchen: Kitchen) -> None:
    asked = [with_reckon(kitchen, "hazelnut-custard", "harden", Reckon(tub_mm=mm)) for mm in (80.0, 100.0)]
    minutes = [reckoned_min(one, one.steps[2], kitchen, book_of(kitchen)) for one in asked]
    small, large = minutes
    assert small is not None
    assert large is not None
    assert small < large


def test_recipe_that_asks_for_nothing_is_left_as_it_is(kitchen: Kitchen) -> None:
    for recipe in kitchen.recipes:
        assert with_reckoned(recipe, kitchen, book_of(kitchen)) is recipe


PUREE = (EXAMPLE / "recipes" / "damson-puree.yaml").read_text(encoding="utf-8")


def test_files_with_reckon_are_read_with_its_minutes(tmp_path: Path) -> None:
    for path in EXAMPLE.rglob("*.yaml"):
        target = tmp_path / path.relative_to(EXAMPLE)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(path.read_text(encoding="utf-8"), encoding="utf-8")
    asked = PUREE.replace("    reduce_to: 0.75", "    reckon: { drives_off_kg_per_h: 2 }\n    reduce_to: 0.75")
    assert asked != PUREE
    (tmp_path / "recipes" / "damson-puree.yaml").write_text(asked, encoding="utf-8")
    duration = named(read_kitchen(tmp_path), "damson-puree").steps[2].duration
    assert duration is not None
    assert duration.usual == 34
    unknown = asked.replace("Damsons, amount: 4.2 kg", "Sloes, amount: 80 each")
    (tmp_path / "recipes" / "damson-puree.yaml").write_text(unknown, encoding="utf-8")
    (tmp_path / "supplies.yaml").unlink()
    (tmp_path / "suppliers.yaml").unlink()
    with pytest.raises(KitchenFaults) as told:
        read_kitchen(tmp_path)
    line = next(at for at, text in enumerate(unknown.splitlines(), 1) if "reckon" in text)
    assert [(one.file, one.line) for one in told.value.faults] == [("recipes/damson-puree.yaml", line)]
    assert "cannot be worked out from the mix — give every ingredient" in str(told.value)


@pytest.mark.parametrize("reckon", ["{ tub_mm: 100 }", "{ drives_off_kg_per_h: 2 }", "{ }"])
def test_reckon_where_it_does_not_belong_is_a_fault(tmp_path: Path, reckon: str) -> None:
    write_small(tmp_path)
    path = next((tmp_path / "recipes").glob("*.yaml"))
    text = path.read_text(encoding="utf-8")
    assert "duration:" in text
    path.write_text(text.replace("    duration:", f"    reckon: {reckon}\n    duration:", 1), encoding="utf-8")
    assert any("reckon" in fault for fault in faults(tmp_path))


def test_balance_of_the_example_adds_milk_powder_and_leaves_the_recipe_alone(kitchen: Kitchen) -> None:
    listed, base = book_of(kitchen), named(kitchen, "custard-base")
    made = composition(base, listed)
    wanted = [Wanted("milk_solids_not_fat", 9.0, 12.0), Wanted("milk_fat", 10.0, 16.0)]
    may = dict.fromkeys(range(len(made.lines)), "freely")
    found = balanced(made, listed, wanted, may=may, adding=["Skim milk powder", "nothing of that name"])
    assert found.found
    told = {one.figure: one for one in found.figures}
    assert told["milk_solids_not_fat"].after.low >= 9.0 - 1e-6
    assert told["milk_solids_not_fat"].before.low < 6.0
    assert found.lines[-1].name == "Skim milk powder"
    assert found.lines[-1].after_g > 150
    assert sum(line.after_g for line in found.lines) == pytest.approx(sum(line.before_g for line in found.lines))
    assert composition(base, listed).grams == made.grams


def test_balance_that_cannot_be_says_which_ranges_conflict(kitchen: Kitchen) -> None:
    listed = book_of(kitchen)
    made = composition(named(kitchen, "custard-base"), listed)
    wanted = [Wanted("milk_fat", 10.0, 16.0), Wanted("fat", None, 8.0), Wanted("sugars", 12.0, 18.0)]
    found = balanced(made, listed, wanted, may=dict.fromkeys(range(4), "freely"))
    assert not found.found
    assert [one.figure for one in found.conflict] == ["milk_fat", "fat"]  # milk fat is part of all fat
    assert not found.weight_conflicts


def test_balance_refuses_what_makes_no_question(kitchen: Kitchen) -> None:
    listed = book_of(kitchen)
    made = composition(named(kitchen, "custard-base"), listed)
    zest = composition(named(kitchen, "grapefruit-powder"), listed)
    with pytest.raises(NotBalanced, match="nothing may change"):
        balanced(made, listed, [Wanted("fat", 1, 2)], may={0: "stays"})
    with pytest.raises(NotBalanced, match="no ranges"):
        balanced(made, listed, [], may={0: "freely"})
    with pytest.raises(NotBalanced, match="not weighed"):
        balanced(zest, listed, [Wanted("fat", 1, 2)], may={0: "freely"})


def test_amount_of_a_changed_line_stays_in_the_recipes_unit(kitchen: Kitchen) -> None:
    listed = book_of(kitchen)
    made = composition(named(kitchen, "damson-sorbet"), listed)
    found = balanced(made, listed, [Wanted("sugars", 29.0, 30.0)], may={1: "freely", 2: "freely"})
    assert found.found
    sugar, water = found.lines[1], found.lines[2]
    assert sugar.after is not None
    assert water.after is not None
    assert (sugar.after.unit, water.after.unit) == ("kg", "L")
    assert sugar.after_g > sugar.before_g
    assert water.after_g == pytest.approx(water.before_g - (sugar.after_g - sugar.before_g), abs=0.5)
    assert found.moved_g == pytest.approx(2 * (sugar.after_g - sugar.before_g), abs=0.5)
    assert found.lines[0].after_g == found.lines[0].before_g
    assert {recipe.id for recipe in kitchen.recipes} >= {RecipeId("damson-sorbet")}
