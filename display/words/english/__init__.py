"""All words in English, by key; one table for each part of the screens."""

from collections.abc import Mapping
from typing import Final

from display.words.tables import merged, tables_of

TABLES: Final = tables_of(__name__, __path__)

ENGLISH: Final[Mapping[str, str]] = merged(TABLES)
