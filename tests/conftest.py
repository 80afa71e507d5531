"""What tests of several rooms share: one PostgreSQL, in which each test has a kitchen of its own."""

from collections.abc import Iterator

import pytest

from tests.fakes.postgres import Postgres, postgres


@pytest.fixture(scope="session")
def server() -> Iterator[Postgres]:
    with postgres() as running:
        yield running
