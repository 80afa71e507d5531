"""The command line, run as a person would: output and exit status."""

import json
import shutil
import socket
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from orchestrator.adapters.embedded_broker import EmbeddedBroker
from orchestrator.cli.example import example_kitchen
from orchestrator.cli.main import main


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


@pytest.fixture
def kitchen(tmp_path: Path) -> Path:
    folder = tmp_path / "kitchen"
    shutil.copytree(example_kitchen(), folder)
    return folder


def test_help_names_every_command_and_defers_to_local_code() -> None:
    result = run("--help")
    assert result.exit_code == 0
    for command in ("demo", "serve", "plan", "check", "new", "publish"):
        assert f"  {command} " in result.output
    assert "your local code and a licensed professional decide" in " ".join(result.output.split())


def test_every_command_has_help() -> None:
    for command in main.commands:
        assert run(command, "--help").exit_code == 0


def test_help_loads_neither_solver_nor_server() -> None:
    """Imports are late, so that --help answers at once."""
    script = (
        "import sys; from orchestrator.cli.main import main\n"
        "try: main(['--help'])\nexcept SystemExit: pass\n"
        "print(sorted({'ortools', 'flask', 'uvicorn', 'pydantic', 'sqlalchemy', 'rich'} & set(sys.modules)))"
    )
    result = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, timeout=60)
    assert result.stdout.splitlines()[-1] == "[]"


def test_check_of_the_example_finds_no_fault() -> None:
    result = run("check")
    assert result.exit_code == 0
    assert "no faults" in result.output


def test_check_as_json_counts_what_was_read(kitchen: Path) -> None:
    answer = json.loads(run("check", str(kitchen), "--json").output)
    assert answer["ok"] is True
    assert answer["faults"] == []
    assert answer["counts"]["orders"] == 5


def test_check_of_faulty_files_tells_all_of_them_and_is_bad_input(kitchen: Path) -> None:
    orders = kitchen / "orders.yaml"
    orders.write_text(orders.read_text().replace("4 L }", "4 gallons }").replace("weight: 3", "wieght: 3"))
    result = run("check", str(kitchen))
    lines = [line for line in result.output.splitlines() if line.startswith("orders.yaml:")]
    assert result.exit_code == 2
    assert len(lines) >= 4
    assert all(line.split(":")[1].isdigit() for line in lines)


def test_check_of_faulty_files_as_json_is_bad_input_too(kitchen: Path) -> None:
    (kitchen / "crew.yaml").unlink()
    result = run("check", str(kitchen), "--json")
    answer = json.loads(result.output)
    assert result.exit_code == 2
    assert answer["ok"] is False
    assert "crew.yaml" in {fault["file"] for fault in answer["faults"]}


def test_folder_that_is_not_there_is_bad_input() -> None:
    for command in ("check", "plan", "serve"):
        assert run(command, "no/such/folder").exit_code == 2


def test_new_writes_a_kitchen_that_checks(tmp_path: Path) -> None:
    folder = tmp_path / "mine"
    assert run("new", str(folder)).exit_code == 0
    assert run("check", str(folder)).exit_code == 0


def test_new_does_not_write_over_anything(kitchen: Path) -> None:
    before = (kitchen / "kitchen.yaml").read_text()
    assert run("new", str(kitchen)).exit_code == 2
    assert (kitchen / "kitchen.yaml").read_text() == before


def test_publish_without_a_broker_is_refused() -> None:
    with socket.socket() as closed:
        closed.bind(("127.0.0.1", 0))
        port = closed.getsockname()[1]
    result = run("publish", "fridge-air", "4.2", "--url", f"mqtt://127.0.0.1:{port}")
    assert result.exit_code == 1
    assert "did not take it" in result.output


@pytest.mark.parametrize(
    "arguments",
    [
        ("fridge-air", "warm"),
        ("fridge-air", "nan"),
        ("fridge/air", "4"),
        ("fridge-air", "4", "--measured-at", "yesterday"),
        ("fridge-air", "4", "--url", "http://127.0.0.1"),
    ],
)
def test_publish_of_nonsense_is_bad_input(arguments: tuple[str, ...]) -> None:
    assert run("publish", *arguments).exit_code == 2


def test_publish_sends_fahrenheit_as_celsius() -> None:
    broker = EmbeddedBroker(0)
    broker.start()
    try:
        result = run("publish", "fridge-air", "41F", "--url", broker.url())
    finally:
        broker.stop()
    assert result.exit_code == 0
    assert result.output.startswith("Sent 5 as fridge-air")
