"""A closed door for tests of screens: a store on disk with a passphrase, screens of each role, and clocks to turn."""

import re
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from display.access.guard import Guard
from orchestrator.adapters.access_store import SqlAccessStore
from orchestrator.ports.access import Role, Wish

PASSPHRASE = "walnut ferry lantern oxide"
START = datetime(2026, 11, 26, 5, 0, tzinfo=UTC)


@dataclass
class Door:
    """A guard over a store, in a kitchen that has a passphrase."""

    folder: Path
    passphrase: str = PASSPHRASE
    seconds: float = 0.0
    store: SqlAccessStore = field(init=False)
    guard: Guard = field(init=False)

    def __post_init__(self) -> None:
        self.store = SqlAccessStore(self.folder / "access.db")
        if self.passphrase:
            self.store.set_passphrase(self.passphrase, START)
        self.guard = Guard(self.store, clock=self.now, monotonic=lambda: 1000.0 + self.seconds)

    def now(self) -> datetime:
        """The real time, as far as the test says."""
        return START + timedelta(seconds=self.seconds)

    def paired(self, role: Role, name: str = "") -> str:
        """The secret of a screen that was let in."""
        ((_, code),) = self.store.make_spares([Wish(name or f"a {role.value}'s", "Stove", role)], self.now())
        secret = self.store.use_spare(code, self.now())
        assert secret is not None
        return secret

    def signed_in(self) -> str:
        """The secret of a manager's session."""
        return self.store.begin_session("127.0.0.1", self.now(), self.now() + timedelta(hours=12))

    def reasons(self) -> list[str]:
        """Why acts were refused, newest last."""
        return [one.reason for one in reversed(self.store.refused())]


def token_of(client: FlaskClient, path: str = "/stations") -> str:
    """What this client's forms must bring back."""
    found = re.search(r'data-form-token="(\w+)"', client.get(path).text)
    assert found
    return found[1]


def sign_in(client: FlaskClient, typed: str = PASSPHRASE, **more: str) -> TestResponse:
    """Type a passphrase."""
    return client.post("/sign-in", data={"passphrase": typed, **more})


def said(client: FlaskClient) -> str:
    """The messages that wait for this client."""
    return client.get("/access", follow_redirects=True).text
