"""Answers made small: what the standard library unpacks is what goes to a browser that asked for nothing small."""

import gzip

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from tests.fakes.gateway import FakeGateway

SMALL = {"Accept-Encoding": "gzip, deflate, br"}


@pytest.fixture
def client() -> FlaskClient:
    gateway = FakeGateway()
    return create_app(gateway, gateway).web.test_client()


@pytest.mark.parametrize("path", ["/static/css/base.css", "/static/js/acts.js", "/api/v1/openapi.json"])
def test_answer_is_smaller_and_the_same_once_unpacked(client: FlaskClient, path: str) -> None:
    plain, small = client.get(path, headers={"Accept-Encoding": "identity"}), client.get(path, headers=SMALL)
    assert "Content-Encoding" not in plain.headers
    assert small.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(small.data) == plain.data
    assert len(small.data) < len(plain.data) / 2
    assert int(small.headers["Content-Length"]) == len(small.data)
    assert "Accept-Encoding" in small.headers["Vary"]


def test_page_is_squeezed(client: FlaskClient) -> None:
    answer = client.get("/stations", headers=SMALL)
    assert answer.headers["Content-Encoding"] == "gzip"
    assert b"<!doctype html>" in gzip.decompress(answer.data).lower()


def test_file_known_already_is_not_sent_again(client: FlaskClient) -> None:
    first = client.get("/static/css/base.css", headers=SMALL)
    again = client.get("/static/css/base.css", headers={**SMALL, "If-None-Match": first.headers["ETag"]})
    assert again.status_code == 304
    assert again.data == b""


def test_what_is_small_or_no_text_goes_as_it_is(client: FlaskClient) -> None:
    assert "Content-Encoding" not in client.get("/api/v1/now", headers=SMALL).headers
    assert "Content-Encoding" not in client.get("/person?back=/", headers={"Accept-Encoding": "identity"}).headers
