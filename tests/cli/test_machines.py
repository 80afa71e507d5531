"""``coldwright display``: what it is told reaches the screens; over TLS by the same options as ``serve``."""

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from orchestrator.bootstrap import show as shown
from orchestrator.bootstrap.settings import Certificate
from orchestrator.bootstrap.show import Showing
from orchestrator.cli.main import main


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> list[Showing]:
    heard: list[Showing] = []
    monkeypatch.setattr(shown, "show", lambda one, say: heard.append(one) or 0)
    monkeypatch.setenv("COLDWRIGHT_DATABASE", "postgresql://127.0.0.1/none?kitchen=stall")
    return heard


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["display", *arguments])


def test_display_speaks_tls_with_certificate_and_key_and_refuses_one_alone(told: list[Showing], tmp_path: Path) -> None:
    files = Certificate(tmp_path / "chain.pem", tmp_path / "key.pem")
    for file in (files.chain, files.key):
        file.write_text("PEM")
    assert run("--certificate", str(files.chain), "--key", str(files.key), "--port", "8499").exit_code == 0
    assert run().exit_code == 0
    assert [(one.certificate, one.port) for one in told] == [(files, 8499), (None, 8481)]
    alone = run("--certificate", str(files.chain))
    assert (alone.exit_code, "give --certificate and --key together" in alone.output) == (2, True)
    assert run("--certificate", str(tmp_path / "none.pem"), "--key", str(files.key)).exit_code == 2
    assert len(told) == 2


def test_serve_and_display_say_the_same_of_them() -> None:
    def lines(command: str) -> list[str]:
        helps = CliRunner().invoke(main, [command, "--help"], terminal_width=200).output
        return [line.split() for line in helps.splitlines() if "--certificate" in line or "--key " in line]

    assert lines("display") == lines("serve") != []
