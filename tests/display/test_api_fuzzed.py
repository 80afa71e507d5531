"""The interface for programs, asked at random by a reference reader of its own OpenAPI document (schemathesis)."""

from pathlib import Path

import pytest
from schemathesis.core.failures import FailureGroup

from display.views import CoreViews
from display.web import create_web
from orchestrator.ports.access import Scope
from tests.browser.full_house import full_house
from tests.display.fuzzed import DOCUMENT, MODES, fuzz, operations
from tests.fakes.access import Door

EXAMPLES = 12
WEB = create_web(full_house(), CoreViews())
OPERATIONS = {f"{one.method.upper()} {one.path}": one for one in operations(WEB)}


@pytest.mark.parametrize("name", OPERATIONS)
def test_answers_fit_the_document_and_none_is_a_servers_error(name: str) -> None:
    operation = OPERATIONS[name]
    right, wrong = (fuzz(operation, mode, EXAMPLES) for mode in MODES)
    assert sum(right.values()) > 0
    assert all(status < 500 for status in (*right, *wrong))
    if operation.method.upper() == "POST":
        assert set(wrong) == {422}, "what breaks the schema is never taken"


def test_a_document_that_promises_something_else_is_found_out() -> None:
    document = WEB.test_client().get(DOCUMENT).get_json()
    document["components"]["schemas"]["Now"]["properties"]["rate"] = {"type": "string"}
    now = next(one for one in operations(WEB, document) if one.path == "/now")
    with pytest.raises(FailureGroup, match="distinct failure"):
        fuzz(now, MODES[0], 2)


def test_behind_a_passphrase_answers_fit_the_document_too(tmp_path: Path) -> None:
    door = Door(tmp_path)
    web = create_web(full_house(), CoreViews(), door.guard)
    reads = {"Authorization": f"Bearer {door.store.make_token('Till', frozenset({Scope.READ}), door.now())}"}
    document = WEB.test_client().get(DOCUMENT).get_json()
    for operation in operations(web, document):
        assert set(fuzz(operation, MODES[0], 3)) == {401}, operation.path
        told = set(fuzz(operation, MODES[0], 3, headers=reads))
        assert (told == {403}) is (operation.method.upper() == "POST"), operation.path


def test_a_door_that_the_document_does_not_name_is_found_out(tmp_path: Path) -> None:
    web = create_web(full_house(), CoreViews(), Door(tmp_path).guard)
    document = WEB.test_client().get(DOCUMENT).get_json()
    for status in ("401", "default"):
        del document["paths"]["/now"]["get"]["responses"][status]
    now = next(one for one in operations(web, document) if one.path == "/now")
    with pytest.raises(FailureGroup, match="distinct failure"):
        fuzz(now, MODES[0], 2)
