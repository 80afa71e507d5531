"""Every kind of alarm has cause, consequence, time to act and what to do: in the code, on the page, in the documents.

ANSI/ISA-18.2 asks that of every alarm (rationalisation), from memory.
"""

from datetime import timedelta
from pathlib import Path

import pytest

from display.alarm_table import PARTS, longest, table
from display.alarm_words import meaning
from display.words import Words
from display.words.english.alarms import WORDS as ENGLISH_ALARMS
from orchestrator.core.alarm_rationale import RATIONALE
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind, Priority
from tests.display.test_alarm_words import NOW, showing
from tests.display.test_desk_pages import page_of, text_of, troubled

DOCUMENT = Path(__file__).parents[2] / "docs" / "alarms.md"
SAYS = Words("en")


@pytest.mark.parametrize("kind", AlarmKind)
def test_every_kind_has_all_that_rationalisation_asks_for_in_words_of_its_own(kind: AlarmKind) -> None:
    assert RATIONALE[kind].instead
    said = [SAYS(f"{part}_{kind}") for part in ("kind", *PARTS)]
    assert all(len(says) > 5 for says in said)
    others = {SAYS(f"{part}_{other}") for other in AlarmKind if other is not kind for part in PARTS}
    assert not others & set(said)


def test_no_kind_is_left_over_in_the_table() -> None:
    assert list(RATIONALE) == list(AlarmKind)
    of_kinds = {key.partition("_")[2] for key in ENGLISH_ALARMS if key.startswith("consequence_")}
    assert of_kinds == {kind.value for kind in AlarmKind}


@pytest.mark.parametrize("kind", AlarmKind)
def test_meaning_names_the_instant_that_ends_the_time_to_act(kind: AlarmKind) -> None:
    at = NOW + timedelta(minutes=30)
    facts = AlarmFacts(kind=kind, priority=Priority.WARNING, limit_at=at, save_by=at)
    heads = {fact.head: fact.says.replace("\u202f", " ").replace("\u00a0", " ") for fact in meaning(showing(), facts)}
    assert list(heads) == ["Cause", "If nobody acts", "Time to act", "What to do"]
    assert heads["Time to act"].startswith("15:30, in 30 min")
    bare = AlarmFacts(kind=kind, priority=Priority.WARNING)
    assert next(f.says for f in meaning(showing(), bare) if f.head == "Time to act") == SAYS(f"time_{kind}")


def test_alarms_page_says_what_each_standing_alarm_means() -> None:
    gateway = troubled()
    text = text_of(page_of(gateway, "/alarms"))
    kinds = {alarm.facts.kind for alarm in gateway.state.alarms.values()}
    assert len(kinds) > 2
    for kind in kinds:
        for part in PARTS:
            assert SAYS(f"{part}_{kind}") in text


def test_document_holds_the_table_of_today() -> None:
    written = DOCUMENT.read_text(encoding="utf-8")
    assert table(SAYS) in written, "put display.alarm_table.table(Words()) into docs/alarms.md anew"
    assert longest() in written
