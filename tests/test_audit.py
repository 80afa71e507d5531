"""A locked release that its makers withdrew is found; where that cannot be known, it is said and not passed over."""

import json
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread

import pytest

from tests.audit import CannotAsk, weaknesses, withdrawn

NOBODY = {"UV_DEFAULT_INDEX": "http://127.0.0.1:9/simple", "UV_HTTP_RETRIES": "0", "UV_NO_CONFIG": "1"}
"""Nothing listens there (the discard port)."""


YANKED = {
    "meta": {"api-version": "1.0"},
    "name": "withdrawn-example",
    "versions": ["1.0"],
    "files": [
        {
            "filename": "withdrawn_example-1.0-py3-none-any.whl",
            "url": "withdrawn_example-1.0-py3-none-any.whl",
            "hashes": {},
            "core-metadata": True,
            "yanked": "It does not import.",
        }
    ],
}
"""As a registry tells it. Source: PEP 691, "JSON-based Simple API", and PEP 592 for `yanked`."""


class _Registry(BaseHTTPRequestHandler):
    """A package registry of one release."""

    def do_GET(self) -> None:
        metadata = b"Metadata-Version: 2.1\nName: withdrawn-example\nVersion: 1.0\n"
        told = metadata if self.path.endswith(".metadata") else json.dumps(YANKED).encode()
        self.send_response(200)
        self.send_header("Content-Type", "application/vnd.pypi.simple.v1+json")
        self.send_header("Content-Length", str(len(told)))
        self.end_headers()
        self.wfile.write(told)

    def log_message(self, format: str, *_: object) -> None:
        """Nobody reads along."""


@pytest.fixture
def registry() -> Iterator[str]:
    """Where a registry of one withdrawn release listens."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), _Registry)
    Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/simple"
    server.shutdown()
    server.server_close()


def test_release_that_was_withdrawn_is_found_with_its_reason(tmp_path: Path, registry: str) -> None:
    lock = tmp_path / "old.lock"
    lock.write_text("withdrawn-example==1.0\n")
    env = {"UV_DEFAULT_INDEX": registry, "UV_NO_CONFIG": "1"}
    assert withdrawn(lock, env) == {"withdrawn-example==1.0": "It does not import."}


def test_registry_that_does_not_answer_is_said_with_the_remedy(tmp_path: Path) -> None:
    lock = tmp_path / "some.lock"
    lock.write_text("attrs==25.1.0\n")
    with pytest.raises(CannotAsk, match=r"some\.lock; see to the network"):
        withdrawn(lock, NOBODY)


def test_advisories_that_cannot_be_reached_are_said_with_the_remedy(tmp_path: Path) -> None:
    lock = tmp_path / "some.lock"
    lock.write_text("attrs==25.1.0\n")
    with pytest.raises(CannotAsk, match=r"on a machine that reaches pypi\.org itself"):
        weaknesses(lock, {**NOBODY, "UV_OFFLINE": "1", "UV_CACHE_DIR": str(tmp_path / "empty")})
