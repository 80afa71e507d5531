"""No locked release was withdrawn by its makers; and where that cannot be known, it is said and not passed over."""

from pathlib import Path

import pytest

from tests.audit import LOCKS, CannotAsk, weaknesses, withdrawn

NOBODY = {"UV_DEFAULT_INDEX": "http://127.0.0.1:9/simple", "UV_HTTP_RETRIES": "0", "UV_NO_CONFIG": "1"}
"""Nothing listens there (the discard port)."""


@pytest.mark.parametrize("lock", LOCKS, ids=lambda lock: lock.name)
def test_no_locked_release_was_withdrawn(lock: Path) -> None:
    assert withdrawn(lock) == {}


def test_release_that_was_withdrawn_is_found_with_its_reason(tmp_path: Path) -> None:
    """Source: attrs 21.1.0 was yanked on 6 May 2021, see the release history of attrs."""
    lock = tmp_path / "old.lock"
    lock.write_text("attrs==21.1.0\n")
    assert withdrawn(lock) == {"attrs==21.1.0": "Installable but not importable on Python 3.4."}


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
