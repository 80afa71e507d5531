"""The bench of mixes measures what it says; how long it takes is no matter of a test."""

from orchestrator.core.mix.composition import composition, walk
from tests.benchmarks.mixes import COMPONENTS, INGREDIENTS, measurements, scene, tables


def test_scene_holds_thirty_ingredients_however_many_components_part_them() -> None:
    for count in COMPONENTS:
        recipe, listed = scene(count)
        inside = {one.id: one for one in walk(recipe, listed)}
        assert len(inside) == count + 1
        lines = [take.ingredient for one in inside.values() for step in one.steps for take in step.takes]
        assert len({name for name in lines if name}) == INGREDIENTS
        made = composition(recipe, listed)
        assert made.weighed
        assert made.missing == ()


def test_figures_make_one_line_each() -> None:
    figures = {"components": 3, "plain_us": 1.0, "composition_us": 400.0, "with_figures_us": 500.0}
    assert tables({"one": figures}).count("\n| 30, 3") == 1
    assert len(measurements()) == len(COMPONENTS)
