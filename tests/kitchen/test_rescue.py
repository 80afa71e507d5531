"""Rescue cards: what is shipped defers to limits, a kitchen adds its own, and none says a temperature."""

from pathlib import Path

import pytest
from pydantic import ValidationError

from orchestrator.core.models import Process
from orchestrator.core.models.rescue import RescueCard, Sign
from orchestrator.kitchen.read import read_kitchen
from orchestrator.kitchen.shipped import shipped_cards, shipped_limits
from tests.kitchen.small import faults, write_small

EXAMPLE = Path(__file__).parents[2] / "config"
OWN = """\
cards:
  - id: curdled
    title: Curdled, our way
    process: [cook]
    look_for: [Grains]
    helps: [Sieve it and bring it to its limit again]
    discard_when: [Still grainy]
    minutes: 10 min
    limits: [frozen-dessert-mix]
  - id: spilt
    title: Spilt
    process: [mix]
    look_for: [It is on the floor]
    discard_when: [Always]
"""
CARD = {"id": "x", "title": "X", "process": ["cook"], "look_for": ["grains"], "discard_when": ["grainy"]}


def test_every_trouble_asked_for_has_a_card() -> None:
    wanted = {"curdled", "browned", "over-churned", "too-warm-to-churn", "soft", "stale", "record-gap"}
    assert wanted <= {card.id for card in shipped_cards()}


@pytest.mark.parametrize("card", shipped_cards(), ids=lambda card: card.id)
def test_shipped_card_names_limits_that_there_are_and_says_no_temperature(card: RescueCard) -> None:
    # Read apart from the model's own rule: the words of temperature, and any figure with a degree sign.
    words = " ".join((*card.look_for, *card.advice)).lower()
    touches = ("heat", "warm", "cold", "cool", "ice", "freez", "soft", "oven", "cook", "thaw", "hob")
    assert card.limits or not any(word in words for word in touches)
    assert all(shipped_limits().limit(limit) is not None for limit in card.limits)
    assert "°" not in words
    assert card.source
    assert card.discard_when


def test_no_card_says_that_anything_is_safe() -> None:
    for card in shipped_cards():
        words = " ".join(card.advice).lower()
        assert "safe to" not in words
        assert "may be sold" not in words


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"helps": ["Hold it at 82 °C"]}, "says no temperature"),
        ({"helps": ["Hold it at 180 F"]}, "says no temperature"),
        ({"helps": ["Put it back into the fridge"]}, "names no limit"),
        ({"cautions": ["It is hot"]}, "names no limit"),
    ],
)
def test_card_with_a_temperature_or_without_its_limit_is_refused(change: dict[str, list[str]], says: str) -> None:
    RescueCard.model_validate(CARD)
    with pytest.raises(ValidationError, match=says):
        RescueCard.model_validate({**CARD, **change})


def test_kitchen_adds_cards_and_replaces_by_id(tmp_path: Path) -> None:
    write_small(tmp_path)
    (tmp_path / "rescue.yaml").write_text(OWN, encoding="utf-8")
    cards = {card.id: card for card in read_kitchen(tmp_path).cards}
    assert cards["curdled"].title == "Curdled, our way"
    assert cards["spilt"].process == (Process.MIX,)
    assert set(cards) == {card.id for card in shipped_cards()} | {"spilt"}


def test_card_that_defers_to_no_known_limit_is_told_by_line(tmp_path: Path) -> None:
    write_small(tmp_path)
    (tmp_path / "rescue.yaml").write_text(OWN.replace("[frozen-dessert-mix]", "[frozen-dessert]"), encoding="utf-8")
    assert faults(tmp_path) == [
        "rescue.yaml:9:14: there is no limit 'frozen-dessert' — did you mean 'frozen-dessert-mix'?"
    ]


def test_example_kitchen_has_the_shipped_cards_and_every_sign_is_used() -> None:
    cards = read_kitchen(EXAMPLE).cards
    assert cards == shipped_cards()
    assert {sign for card in cards for sign in card.when} >= set(Sign) - {Sign.MACHINE}
