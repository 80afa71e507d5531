"""What a reader is told when an address, a form or the program fails: in their language, and what to do."""

from http import HTTPStatus

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.views import CoreViews
from display.words import TABLES
from orchestrator.core.views.board_models import BoardView
from orchestrator.gateway.door import Snapshot
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing

HTTP_NAMES = {status.phrase for status in HTTPStatus}
"""What HTTP itself calls them, RFC 9110: English, and of no use to a cook."""


class Broken(CoreViews):
    """One view has a fault."""

    def board(self, snapshot: Snapshot) -> BoardView:
        """Never."""
        raise ZeroDivisionError


@pytest.fixture
def client() -> FlaskClient:
    return create_app(KitchenGateway(base_ageing(), at("Thu 08:42")), Broken()).web.test_client()


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize(
    ("method", "path", "status", "word"),
    [
        ("GET", "/board", 500, "fault_500"),
        ("GET", "/acts/start", 405, "fault_405"),
        ("POST", "/orders/table", 413, "fault_413"),
        ("GET", "/record/X9", 404, "not_found"),
    ],
)
def test_fault_is_told_in_the_readers_language_with_what_to_do(
    client: FlaskClient, language: str, method: str, path: str, status: int, word: str
) -> None:
    client.set_cookie("language", language)
    answer = client.open(path, method=method, data={"text": "x" * 70_000} if status == 413 else None)
    assert answer.status_code == status
    page = Page(answer.text)
    assert TABLES[language][word] in page.text
    assert TABLES[language][f"{word}_remedy"] in page.text
    assert [name for name in HTTP_NAMES if name in page.text and " " in name] == []
