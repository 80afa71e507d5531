"""Who holds a kitchen in a database: one at a time, waited for, and noticed when lost."""

import threading
import time

import pytest

from orchestrator.adapters.data_server import DataServer
from orchestrator.ports.event_log import LogUnavailable
from tests.fakes.postgres import Postgres, postgres


def test_kitchen_taken_twice_is_refused_until_released(server: Postgres) -> None:
    url = server.url()
    first, second = DataServer(url), DataServer(url)
    first.take()
    assert first.held()
    with pytest.raises(LogUnavailable, match="is written by another service; end that one, or start this one with"):
        second.take()
    assert not second.held()
    first.release()
    second.take()
    second.release()


def test_other_kitchen_of_the_same_server_is_free(server: Postgres) -> None:
    first, second = DataServer(server.url()), DataServer(server.url())
    first.take()
    second.take()
    assert (first.held(), second.held()) == (True, True)
    first.release()
    second.release()


def test_standby_takes_over_when_the_first_ends(server: Postgres) -> None:
    url = server.url()
    first, second = DataServer(url), DataServer(url)
    first.take()
    got: list[bool] = []
    waiting = threading.Thread(target=lambda: got.append(second.wait(threading.Event())))
    waiting.start()
    time.sleep(0.7)
    assert got == []
    first.release()
    waiting.join(10)
    assert (got, second.held()) == ([True], True)
    second.release()


def test_standby_told_to_stop_takes_nothing(server: Postgres) -> None:
    url = server.url()
    first, second = DataServer(url), DataServer(url)
    first.take()
    stop = threading.Event()
    stop.set()
    assert second.wait(stop) is False
    first.release()


def test_lock_is_lost_with_the_server_and_can_be_taken_anew() -> None:
    with postgres() as own:
        place = DataServer(own.url())
        place.take()
        own.stop()
        assert place.held() is False
        with pytest.raises(LogUnavailable, match="cannot be reached"):
            place.regain()
        own.start()
        assert place.regain() is True
        assert place.held()
        place.release()
