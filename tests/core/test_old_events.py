"""Old forms of events are read for ever; a schema that changes without a new form and a step is found."""

import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.core.events import EVENTS, MachineReturned
from orchestrator.core.old_events import FORMS, Body, Forms, UnknownForm
from orchestrator.ports.event_log import LogUnavailable
from tests.contracts.test_event_log import record
from tests.core.all_events import ALL_EVENTS
from tests.core.event_schemas import noted, present, unreadable

OLD = Path(__file__).parent / "golden" / "old_events.json"
"""Rows as they were written in forms that are no longer: kind, form, and the body. Only ever add to it."""
KIND = "machine_returned"
AT = "2026-11-25T06:00:00Z"


def _first_to_second(body: Body) -> Body:
    machine = body.pop("machine")
    return {**body, "equipment": machine}


def _second_to_third(body: Body) -> Body:
    return {**body, "person": body["person"] or None}


PLANTED = Forms({KIND: 3}, {(KIND, 1): _first_to_second, (KIND, 2): _second_to_third})
"""As if machines had once been called otherwise, and nobody had been written as an empty name."""


@pytest.mark.parametrize(
    "row",
    [
        {"kind": KIND, "machine": "churn", "at": AT, "person": ""},
        {"form": 2, "kind": KIND, "equipment": "churn", "at": AT, "person": ""},
        {"form": 3, "kind": KIND, "equipment": "churn", "at": AT, "person": None},
    ],
    ids=["first form", "second form", "form of today"],
)
def test_row_of_every_form_reads_as_the_same_event(row: dict[str, Any]) -> None:
    meant = MachineReturned.model_validate({"equipment": "churn", "at": AT, "person": None})
    assert PLANTED.read(KIND, json.dumps(row)) == meant
    assert PLANTED.read(KIND, PLANTED.written(meant)) == meant


def test_form_is_part_of_what_is_written_from_the_second_on() -> None:
    meant = MachineReturned.model_validate({"equipment": "churn", "at": AT, "person": None})
    assert json.loads(PLANTED.written(meant))["form"] == 3
    assert PLANTED.written(meant).startswith('{"form":3,')
    assert FORMS.written(meant) == meant.model_dump_json()


def test_every_event_is_written_and_read_by_the_forms_of_today() -> None:
    assert [FORMS.read(event.kind, FORMS.written(event)) for event in ALL_EVENTS] == list(ALL_EVENTS)


def test_form_of_a_later_version_is_refused_by_name() -> None:
    row = json.dumps({"form": 4, "kind": KIND, "equipment": "churn", "at": AT, "person": None})
    with pytest.raises(UnknownForm, match="machine_returned is written in form 4, and this version knows 3"):
        PLANTED.read(KIND, row)
    with pytest.raises(UnknownForm, match="knows 1"):
        FORMS.read(KIND, row)


@pytest.mark.parametrize("body", ['{"form":2,', '{"form":"x"}', '["form"]', '{"form":null}'])
def test_damaged_row_is_said_to_be_damaged(body: str) -> None:
    with pytest.raises(ValidationError):
        PLANTED.read(KIND, body)


def test_log_with_a_record_of_a_later_version_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    log = SqlEventLog(tmp_path / "events.db")
    log.append([record(1)])
    monkeypatch.setattr("orchestrator.adapters.sql_event_log.FORMS", Forms({KIND: 2}, {}))
    log.append([record(2)])
    assert [r.seq for r in log.read(1)] == [2]
    monkeypatch.undo()
    with pytest.raises(LogUnavailable, match=r"record 2 of .* was written by a later version .*; use that version"):
        list(log.read())
    assert log.verify()[1] is None
    log.close()


def missing(forms: Forms, rows: list[dict[str, Any]]) -> list[str]:
    """Forms that were left behind without a step, or without a row that shows that it works."""
    there = {(row["kind"], row["form"]) for row in rows}
    left = [(kind, form) for kind, now in forms.versions.items() for form in range(1, now)]
    return [f"{kind} {form}" for kind, form in left if (kind, form) not in forms.steps or (kind, form) not in there]


def test_every_form_that_was_left_behind_has_its_step_and_its_row() -> None:
    rows = json.loads(OLD.read_text(encoding="utf-8"))
    assert missing(FORMS, rows) == []
    for row in rows:
        assert EVENTS.dump_python(FORMS.read(row["kind"], json.dumps(row["body"])), mode="json")["kind"] == row["kind"]


def test_form_without_step_or_row_is_found() -> None:
    assert missing(PLANTED, [{"kind": KIND, "form": 2, "body": {}}]) == [f"{KIND} 1"]
    assert missing(Forms({KIND: 2}, {}), [{"kind": KIND, "form": 1, "body": {}}]) == [f"{KIND} 1"]


def test_no_schema_has_changed_so_that_an_old_row_could_not_be_read() -> None:
    """A failure here: give the kind a new form and a step in `core/old_events.py`, then run ``make schemas``."""
    assert unreadable(noted(), present()) == []


def test_every_kind_of_event_is_noted() -> None:
    """A failure here: run ``make schemas``."""
    assert present()["forms"].keys() == noted()["forms"].keys()


def _properties(schema: dict[str, Any], name: str) -> dict[str, Any]:
    found: dict[str, Any] = schema["schema"]["$defs"][name]
    return found


CHANGES: dict[str, tuple[Callable[[dict[str, Any]], object], str]] = {
    "a field is gone": (
        lambda s: _properties(s, "MachineReturned")["properties"].pop("person"),
        "machine_returned.person is gone",
    ),
    "a field is wanted that was not": (
        lambda s: _properties(s, "AlarmUnshelved")["required"].append("person"),
        "alarm_unshelved.person must be there now",
    ),
    "a type is another": (
        lambda s: _properties(s, "TaskExtended")["properties"]["minutes"].update(type="string"),
        "task_extended.minutes was integer and is string",
    ),
    "a word is no longer known": (
        lambda s: _properties(s, "WindowClass")["enum"].remove("preference"),
        'no longer "preference"',
    ),
    "a limit is narrower": (
        lambda s: _properties(s, "TrayFinished")["properties"]["pieces"].update(minimum=1),
        "tray_finished.pieces has a narrower minimum",
    ),
    "a kind is gone": (
        lambda s: s["schema"]["discriminator"]["mapping"].pop("task_freed"),
        "task_freed is gone",
    ),
}


@pytest.mark.parametrize("change", CHANGES)
def test_schema_changed_without_a_new_form_is_found(change: str) -> None:
    make, words = CHANGES[change]
    changed = copy.deepcopy(present())
    make(changed)
    assert any(words in told for told in unreadable(present(), changed))


def test_new_field_with_a_default_and_a_new_form_need_nothing() -> None:
    changed = copy.deepcopy(present())
    _properties(changed, "MachineReturned")["properties"]["noted"] = {"type": "string", "default": ""}
    assert unreadable(present(), changed) == []
    _properties(changed, "MachineReturned")["properties"].pop("person")
    changed["forms"][KIND] = 2
    assert unreadable(present(), changed) == []
