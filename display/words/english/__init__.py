"""All words in English, by key; one table for each part of the screens."""

from collections.abc import Mapping
from typing import Final

from display.words.english import (
    acts,
    alarms,
    board,
    by_products,
    calls,
    chances,
    changing,
    desk,
    doubt,
    drafts,
    durations,
    first_run,
    health,
    mix,
    pages,
    papers,
    plan,
    planning,
    recipes,
    station,
    tongue,
    trace,
    verdicts,
)

TABLES: Final = (
    acts,
    alarms,
    board,
    by_products,
    calls,
    chances,
    changing,
    desk,
    doubt,
    drafts,
    durations,
    first_run,
    health,
    mix,
    pages,
    papers,
    plan,
    planning,
    recipes,
    station,
    tongue,
    trace,
    verdicts,
)

ENGLISH: Final[Mapping[str, str]] = {key: text for table in TABLES for key, text in table.WORDS.items()}
