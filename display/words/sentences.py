"""Sentences that core, kitchen and planner make in English, in other languages: by the pattern that makes them.

A pattern is the literal of the source with its values numbered from the left; a test walks the sources for all of them.
"""

from collections.abc import Mapping
from typing import Final

from display.words.spanish import (
    sentences_access,
    sentences_acts_1,
    sentences_acts_2,
    sentences_acts_3,
    sentences_by_products,
    sentences_changes_1,
    sentences_changes_2,
    sentences_checks,
    sentences_facts,
    sentences_files_1,
    sentences_files_2,
    sentences_files_3,
    sentences_plans_1,
    sentences_plans_2,
    sentences_service,
    terms,
)

_SPANISH_FILES: Final = (sentences_files_1.SENTENCES, sentences_files_2.SENTENCES, sentences_files_3.SENTENCES)
_SPANISH: Final = (
    sentences_access.SENTENCES,
    sentences_acts_1.SENTENCES,
    sentences_acts_2.SENTENCES,
    sentences_acts_3.SENTENCES,
    sentences_by_products.SENTENCES,
    sentences_changes_1.SENTENCES,
    sentences_changes_2.SENTENCES,
    sentences_checks.SENTENCES,
    sentences_facts.SENTENCES,
    *_SPANISH_FILES,
    sentences_plans_1.SENTENCES,
    sentences_plans_2.SENTENCES,
    sentences_service.SENTENCES,
)

SENTENCES: Final[Mapping[str, Mapping[str, str]]] = {
    "es": {english: said for table in (*_SPANISH, terms.PIECES) for english, said in table.items()},
}
"""Patterns by language. A value that the translation writes ``{0!}`` stays as it is: a key of a file, ids."""
OF_FILES: Final[Mapping[str, frozenset[str]]] = {"es": frozenset(s for table in _SPANISH_FILES for s in table.values())}
"""Translations whose quoted values stay as they are: who reads ``'freezer'`` must find it in the file."""
TERMS: Final[Mapping[str, Mapping[str, str]]] = {"es": terms.TERMS}
"""Single words and what joins them, by language."""
