"""Words by key: two tables that say different things under one key would lose one of them on some page."""

import pkgutil
from collections import defaultdict
from importlib import import_module

import display


def _tables() -> dict[str, dict[str, str]]:
    """Every table of English words, by the file that has it: `ENGLISH` in `words`, `ENGLISH_DESK` in `words_desk`."""
    names = [found.name for found in pkgutil.iter_modules(display.__path__) if found.name.startswith("words")]
    return {name: getattr(import_module(f"display.{name}"), name.upper().replace("WORDS", "ENGLISH")) for name in names}


def test_words_of_a_key_stand_in_one_table_alone() -> None:
    where = defaultdict(list)
    for name, table in _tables().items():
        for key in table:
            where[key].append(name)
    assert len(where) > 500
    assert {key: names for key, names in where.items() if len(names) > 1} == {}
