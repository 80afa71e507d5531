"""Words by key: two tables that say different things under one key would lose one of them on some page."""

from collections import defaultdict
from types import ModuleType

import pytest

from display.words import english, spanish


@pytest.mark.parametrize("language", [english, spanish], ids=["english", "spanish"])
def test_words_of_a_key_stand_in_one_table_alone(language: ModuleType) -> None:
    where = defaultdict(list)
    for table in language.TABLES:
        for key in table.WORDS:
            where[key].append(table.__name__)
    assert {key: names for key, names in where.items() if len(names) > 1} == {}


def test_there_are_words_in_english() -> None:
    assert len(english.ENGLISH) > 500
