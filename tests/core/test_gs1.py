"""GS1: check digits and element strings against two reference libraries and the published example."""

import random
from datetime import date
from decimal import Decimal

import biip
import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum import ean, gs1_128

from orchestrator.core.gs1 import Element, check_digit, day, element_string, gtin14, lot_fits, net, readable
from orchestrator.core.quantities import Quantity


def quantity(text: str) -> Quantity:
    return Quantity.model_validate(text)


def test_check_digit_of_the_published_example() -> None:
    """GS1, "How to calculate a check digit manually": 629104150021 gives 3."""
    assert check_digit("629104150021") == 3
    assert gtin14("6291041500213") == "06291041500213"
    assert gtin14("6291041500214") is None


@given(st.text("0123456789", min_size=7, max_size=13))
def test_check_digit_agrees_with_a_reference_library(digits: str) -> None:
    """python-stdnum 2.2, module ean."""
    assert str(check_digit(digits)) == ean.calc_check_digit(digits)


@pytest.mark.parametrize("text", ["", "12", "629104150021x", "６２９１０４１５００２１３", "62910415002135"])
def test_gtin_of_wrong_length_letters_or_other_digits_is_none(text: str) -> None:
    assert gtin14(text) is None


@pytest.mark.parametrize("text", ["40123455", "012345678905", "6291041500213", "10012345678902"])
def test_gtins_of_all_four_lengths_agree_with_a_reference_library(text: str) -> None:
    """biip 5.2: the same number, padded to 14."""
    assert gtin14(text) == biip.gtin.Gtin.parse(text).as_gtin_14()


def test_element_string_is_read_by_two_reference_libraries() -> None:
    """Use by, best before, made, net weight, lot: biip 5.2 and python-stdnum 2.2 give back what went in."""
    weight = net(quantity("0.48 kg"))
    assert weight == Element("3103", "000480")
    elements = [
        Element("01", "06291041500213"),
        day("17", date(2026, 12, 27)),
        day("15", date(2026, 12, 18)),
        day("11", date(2026, 11, 27)),
        weight,
        Element("10", "B12-a"),
    ]
    told = element_string(elements)
    assert told == "0106291041500213172612271526121811261127310300048010B12-a"
    assert readable(elements) == "(01)06291041500213(17)261227(15)261218(11)261127(3103)000480(10)B12-a"
    message = biip.parse(f"]d2{told}").gs1_message
    assert message is not None
    found = {one.ai.ai: one for one in message.element_strings}
    assert found["10"].value == "B12-a"
    assert found["17"].date == date(2026, 12, 27)
    assert found["3103"].decimal == Decimal("0.480")
    assert gs1_128.info(told) == {
        "01": "06291041500213",
        "17": date(2026, 12, 27),
        "15": date(2026, 12, 18),
        "11": date(2026, 11, 27),
        "3103": Decimal("0.480"),
        "10": "B12-a",
    }


def test_lot_before_another_element_ends_with_the_separator_or_it_would_swallow_it() -> None:
    elements = [Element("10", "B1"), day("17", date(2026, 12, 27))]
    assert element_string(elements) == "10B1\x1d17261227"
    message = biip.parse(f"]d2{element_string(elements)}").gs1_message
    assert message is not None
    assert [one.value for one in message.element_strings] == ["B1", "261227"]


@pytest.mark.parametrize(
    ("amount", "told"),
    [
        ("500 ml", Element("3153", "000500")),
        ("4.8 L", Element("3153", "004800")),
        ("1200 kg", Element("3102", "120000")),
        ("6 each", None),
        ("0 kg", None),
    ],
)
def test_net_is_told_in_kilograms_or_litres(amount: str, told: Element | None) -> None:
    """310n net weight, kg; 315n net volume, L: GS1 General Specifications, as biip names them."""
    assert net(quantity(amount)) == told
    if told is not None:
        message = biip.parse(f"]d2{told.ai}{told.data}").gs1_message
        assert message is not None
        one = message.element_strings[0]
        assert one.decimal == Decimal(str(quantity(amount).value)).quantize(one.decimal or Decimal(1))
        assert ("Net weight, kilograms" in one.ai.description) == (amount.endswith("kg"))
        assert ("Net volume, litres" in one.ai.description) == (amount.endswith(("L", "ml")))


def test_random_strings_of_elements_are_read_back_in_order() -> None:
    chance = random.Random(11)
    for _ in range(300):
        lot = "".join(chance.choices("ABCXYZ0189-/.", k=chance.randint(1, 20)))
        elements = [
            Element("10", lot),
            day("11", date(2026, chance.randint(1, 12), chance.randint(1, 28))),
            Element("3103", f"{chance.randint(1, 999999):06d}"),
        ]
        chance.shuffle(elements)
        message = biip.parse(f"]d2{element_string(elements)}").gs1_message
        assert message is not None
        assert [(one.ai.ai, one.value) for one in message.element_strings] == [(one.ai, one.data) for one in elements]


def test_lot_code_fits_only_with_characters_of_the_set() -> None:
    assert lot_fits("B12")
    assert not lot_fits("")
    assert not lot_fits("B" * 21)
    assert not lot_fits("B 12")
    assert not lot_fits("Bé")
