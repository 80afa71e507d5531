"""Words by key: two tables that say different things under one key would lose one of them on some page."""

import re
from collections import defaultdict
from string import Formatter
from types import ModuleType

import pytest

from display.words import CLIENT_KEYS, TABLES, Words, english, one_stop, spanish

ALIKE = {
    "12 h",
    "24 h",
    "Alcohol",
    "Base",
    "CSV",
    "English",
    "Español",
    "Id",
    "L",
    "PDF, A4",
    "Plan",
    "d",
    "h",
    "kg",
    "kg, L",
    "lb, qt",
    "min",
    "no",
    "plan {number}",
    "plan {time}",
    "s",
    "{count} s",
    "{minutes} min",
    "{seconds} s",
    "{usual} min",
    "< 1\u00a0min",
    "°Brix",
}
"""What both languages say in the same way: units, a few nouns of the trade, names of formats and of languages."""

ENGLISH_ALONE = re.compile(r"\b(the|and|of|is|are|was|with|from|this|that|not|for|by|nobody|its|until|since)\b", re.I)
"""Words that English sentences hardly do without and that Spanish does not have."""


def _placeholders(text: str) -> list[str]:
    return sorted(f"{name}:{form}" for _, name, form, _ in Formatter().parse(text) if name is not None)


@pytest.mark.parametrize("language", [english, spanish], ids=["english", "spanish"])
def test_words_of_a_key_stand_in_one_table_alone(language: ModuleType) -> None:
    where = defaultdict(list)
    for table in language.TABLES:
        for key in table.WORDS:
            where[key].append(table.__name__)
    assert {key: names for key, names in where.items() if len(names) > 1} == {}


def test_there_are_words_in_english() -> None:
    assert len(english.ENGLISH) > 500


def test_each_part_has_the_same_keys_in_both_languages() -> None:
    parts = [[table.__name__.rpartition(".")[2] for table in language.TABLES] for language in (english, spanish)]
    assert parts[0] == parts[1]
    for there, here in zip(english.TABLES, spanish.TABLES, strict=True):
        assert list(here.WORDS) == list(there.WORDS), f"{here.__name__} lacks words, has others, or another order"


def test_a_key_takes_the_same_values_in_both_languages() -> None:
    wanted = {key: _placeholders(text) for key, text in TABLES["en"].items()}
    assert {key: _placeholders(text) for key, text in TABLES["es"].items()} == wanted


def test_nothing_is_left_in_english_but_what_both_languages_say_alike() -> None:
    said = {key: text for key, text in TABLES["es"].items() if re.search(r"\w", re.sub(r"{[^}]*}", "", text))}
    assert {key: text for key, text in said.items() if text == TABLES["en"][key] and text not in ALIKE} == {}
    quoted = {key: re.sub(r"{[^}]*}|«[^»]*»", "", text) for key, text in said.items()}
    assert {key: text for key, text in quoted.items() if ENGLISH_ALONE.search(text)} == {}


def test_lists_for_scripts_and_dates_are_as_long_in_both_languages() -> None:
    for key, between in (("weekdays", None), ("months", None), ("scale_marks", "|")):
        assert len(TABLES["es"][key].split(between)) == len(TABLES["en"][key].split(between)), key


def test_scripts_get_their_words_in_spanish() -> None:
    words = Words("es").for_client()
    assert set(words) == set(CLIENT_KEYS)
    assert words["opens_in"] == "Abre en {time}"


def test_sentence_that_ends_in_a_time_of_the_afternoon_has_one_stop() -> None:
    said = Words("es")("shift_ends", time="3:00\u00a0p.\u00a0m.") + "."
    assert one_stop(said) == "Relevo a las 3:00\u00a0p.\u00a0m."
    assert one_stop("3 min.") == "3 min."
