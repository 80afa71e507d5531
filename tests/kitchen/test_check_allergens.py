"""Allergens under one name each."""

from pathlib import Path

from orchestrator.kitchen import read_kitchen
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
    names = "milk, egg, cod, prawn, hazelnut, walnut, peanut, wheat, soy, sesame, celery, mustard, lupin, mollusc"
    change(write_small(tmp_path), SORBET, "yields: 5 L", f"yields: 5 L\nallergens: [{names}, sulphites, barley, rye]")
    assert faults(tmp_path) == []


def test_group_that_must_be_named_by_kind_is_told_where_its_list_is_printed(tmp_path: Path) -> None:
    """21 CFR 101.4 and FALCPA ask for the nut and the species, Annex II for the nut and the cereal."""
    change(write_small(tmp_path), SORBET, "yields: 5 L", "yields: 5 L\nallergens: [nuts, gluten, fish]")
    asks = "does not say which: a law whose list is printed asks for the kind — write what it is, such as"
    assert faults(tmp_path) == [
        f"recipes/damson-sorbet.yaml:6:13: the allergen 'nuts' {asks} almond, black walnut, brazil nut",
        f"recipes/damson-sorbet.yaml:6:19: the allergen 'gluten' {asks} wheat, barley, durum",
        f"recipes/damson-sorbet.yaml:6:27: the allergen 'fish' {asks} anchovy, bass, cod",
    ]
    change(tmp_path, "kitchen.yaml", "horizon_days: 3", "horizon_days: 3\nallergen_lists: [eu]")
    assert [line.split("'")[1] for line in faults(tmp_path)] == ["nuts", "gluten"]  # Annex II asks for no species


def test_slip_of_a_listed_word_is_told(tmp_path: Path) -> None:
    change(write_small(tmp_path), SORBET, "yields: 5 L", "yields: 5 L\nallergens: [hazlenut]")
    assert faults(tmp_path) == [
        "recipes/damson-sorbet.yaml:6:13: the allergen 'hazlenut' looks like 'hazelnut', which is on a list"
        " — write hazelnut"
    ]


def test_allergen_of_a_lot_on_hand_is_checked_too(tmp_path: Path) -> None:
    change(write_small(tmp_path), "stock.yaml", "place: fridge", "place: fridge\n    allergens: [pistachios]")
    assert faults(tmp_path) == [
        "stock.yaml:8:17: the allergen 'pistachios' looks like 'pistachio', which is on a list — write pistachio"
    ]


def test_kitchen_chooses_which_list_it_prints(tmp_path: Path) -> None:
    change(write_small(tmp_path), "kitchen.yaml", "horizon_days: 3", "horizon_days: 3\nallergen_lists: [us]")
    assert read_kitchen(tmp_path).allergen_lists == ("us",)
    change(tmp_path, "kitchen.yaml", "allergen_lists: [us]", "allergen_lists: [uk]")
    assert len(faults(tmp_path)) == 1
