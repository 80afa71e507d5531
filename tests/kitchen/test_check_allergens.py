"""Allergens under one name each."""

from pathlib import Path

from tests.kitchen.small import change, faults, write_small

PUREE, SORBET = "recipes/damson-puree.yaml", "recipes/damson-sorbet.yaml"


def test_allergen_in_capitals_is_told(tmp_path: Path) -> None:
    change(write_small(tmp_path), PUREE, "amount: 4 kg }", "amount: 4 kg, allergens: [Milk] }")
    assert faults(tmp_path) == [
        "recipes/damson-puree.yaml:18:58: the allergen 'Milk' is not in lower case — write milk"
    ]


def test_allergen_written_in_two_ways_is_told(tmp_path: Path) -> None:
    change(write_small(tmp_path), PUREE, "amount: 4 kg }", "amount: 4 kg, allergens: [hazelnut] }")
    change(tmp_path, SORBET, "yields: 5 L", "yields: 5 L\nallergens: [milk, hazelnuts]")
    assert faults(tmp_path) == [
        "recipes/damson-sorbet.yaml:6:19: the allergen 'hazelnuts' looks like 'hazelnut', in recipes/damson-puree.yaml"
        " — write one allergen in one way: clean-downs compare the words"
    ]


def test_allergens_of_different_kinds_are_no_slip(tmp_path: Path) -> None:
    """The nine of the US and those of the EU (Regulation 1169/2011, Annex II), in the words a cook would use."""
    names = "milk, egg, fish, crustacean, hazelnut, walnut, peanut, wheat, soy, sesame, celery, mustard, lupin, mollusc"
    change(write_small(tmp_path), SORBET, "yields: 5 L", f"yields: 5 L\nallergens: [{names}, sulphites, barley, rye]")
    assert faults(tmp_path) == []
