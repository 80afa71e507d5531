"""A kitchen with a passphrase: clients that carry a screen's or the manager's secret."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from display.web import create_web
from tests.fakes.access import Door
from tests.fakes.gateway import FakeGateway


@pytest.fixture
def door(tmp_path: Path) -> Iterator[Door]:
    made = Door(tmp_path)
    yield made
    made.store.close()


@pytest.fixture
def gateway() -> FakeGateway:
    return FakeGateway(practice=False)


Clients = Callable[..., FlaskClient]


@pytest.fixture
def client_of(door: Door, gateway: FakeGateway) -> Clients:
    web = create_web(gateway, gateway, door.guard)

    def client(screen: str = "", manager: str = "", source: str = "192.0.2.7") -> FlaskClient:
        made = web.test_client()
        made.environ_base["REMOTE_ADDR"] = source
        for name, value in (("screen", screen), ("manager", manager)):
            if value:
                made.set_cookie(name, value)
        return made

    return client
