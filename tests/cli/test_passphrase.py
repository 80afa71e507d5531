"""``coldwright passphrase``, as a person calls it, and what ``serve`` does without one."""

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from orchestrator.adapters.access_store import SqlAccessStore
from orchestrator.cli.main import main
from tests.fakes.postgres import Postgres

EXAMPLE = Path(__file__).parents[2] / "config"
TYPED = "walnut ferry lantern oxide"


def call(*arguments: str | Path, typed: str = f"{TYPED}\n{TYPED}\n", **environment: str) -> Result:
    return CliRunner(env=environment).invoke(main, [*map(str, arguments)], input=typed)


def is_set(where: Path | str, passphrase: str = TYPED) -> bool:
    store = SqlAccessStore(where)
    try:
        return store.is_passphrase(passphrase)
    finally:
        store.close()


def test_passphrase_typed_twice_is_set_and_never_printed(tmp_path: Path) -> None:
    told = call("passphrase", tmp_path / "data")
    assert (told.exit_code, TYPED in told.output) == (0, False)
    assert is_set(tmp_path / "data" / "access.db")
    again = call("passphrase", tmp_path / "data", typed="quartz ribbon anvil meadow\n" * 2)
    assert again.exit_code == 0, "without the former one: whoever is at the machine gets in"
    assert is_set(tmp_path / "data" / "access.db", "quartz ribbon anvil meadow")


def test_passphrase_too_short_is_refused(tmp_path: Path) -> None:
    told = call("passphrase", tmp_path / "data", typed="short one\nshort one\n")
    assert (told.exit_code, "at least 12 are wanted" in told.stderr) == (1, True)
    assert not (tmp_path / "data" / "access.db").exists()


def test_passphrase_is_no_option_and_no_argument() -> None:
    told = call("passphrase", "--help")
    assert [word for word in told.output.split() if word.startswith("--")] == ["--data.", "--host", "--help"]


def test_passphrase_goes_into_the_database_that_the_secrets_name(server: Postgres, tmp_path: Path) -> None:
    url = server.url()
    assert call("passphrase", COLDWRIGHT_DATABASE=url).exit_code == 0
    assert is_set(url)


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.1", "kitchen.example"])
def test_serve_beyond_this_machine_without_a_passphrase_is_refused_with_the_remedy(host: str, tmp_path: Path) -> None:
    told = call("serve", EXAMPLE, "--data", tmp_path / "data", "--host", host, "--port", "18499", "--broker", "none")
    assert told.exit_code == 1
    assert f"without a passphrase it listens on this machine only, and {host} is beyond it" in told.output
    assert "coldwright passphrase" in told.output
