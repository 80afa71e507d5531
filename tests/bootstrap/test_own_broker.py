"""The embedded broker is never open to a network without a login."""

from pathlib import Path

import pytest

from orchestrator.bootstrap.own_broker import own_broker
from orchestrator.bootstrap.settings import Failure, Settings


@pytest.mark.parametrize("host", ["0.0.0.0", "192.0.2.7", "kitchen.example"])
def test_beyond_this_machine_only_with_a_login(host: str, tmp_path: Path) -> None:
    with pytest.raises(Failure, match="without a login the embedded broker listens on this machine only") as refused:
        own_broker(Settings(tmp_path, broker_host=host))
    assert refused.value.status == 2
    assert own_broker(Settings(tmp_path, broker_host=host, broker_login="cook:word")).alive() is False


def test_a_login_that_is_none_is_refused_without_showing_it(tmp_path: Path) -> None:
    with pytest.raises(Failure, match="COLDWRIGHT_BROKER_LOGIN: a login is written user:password") as refused:
        own_broker(Settings(tmp_path, broker_login="secretword"))
    assert "secretword" not in refused.value.text
    assert "secretword" not in repr(Settings(tmp_path, broker_login="secretword"))
