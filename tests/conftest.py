"""What tests of several rooms share: one PostgreSQL, in which each test has a kitchen of its own."""

from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, settings

from tests.fakes.postgres import Postgres, postgres

# A busy machine is no fault of the code: no test may fail by the clock.
settings.register_profile("coldwright", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("coldwright")


@pytest.fixture(scope="session")
def server() -> Iterator[Postgres]:
    with postgres() as running:
        yield running
