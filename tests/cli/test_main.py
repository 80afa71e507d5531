"""The command line, run as a person would: output and exit status."""

import json
import re
import shutil
import socket
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from jsonschema import Draft202012Validator

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
        result = run(command, "no/such/folder")
        assert (result.exit_code, "there is no folder no/such/folder" in result.stderr) == (2, True)


def test_new_writes_a_kitchen_that_checks(tmp_path: Path) -> None:
    folder = tmp_path / "mine"
    assert run("new", str(folder)).exit_code == 0
    checked = run("check", str(folder))
    assert checked.exit_code == 0
    assert "1 order, 1 order line, 0 lots on hand" in checked.output


def test_new_does_not_write_over_anything(kitchen: Path) -> None:
    before = (kitchen / "kitchen.yaml").read_text()
    result = run("new", str(kitchen))
    assert (result.exit_code, "is not an empty folder" in result.stderr) == (2, True)
    assert (kitchen / "kitchen.yaml").read_text() == before


def test_publish_without_a_broker_is_refused() -> None:
    with socket.socket() as closed:
        closed.bind(("127.0.0.1", 0))
        port = closed.getsockname()[1]
    result = run("publish", "fridge-air", "4.2", "--url", f"mqtt://127.0.0.1:{port}")
    assert result.exit_code == 1
    assert "did not take it" in result.output


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("fridge-air", "warm"), "'warm' is not a temperature"),
        (("fridge-air", "nan"), "'nan' is not a temperature"),
        (("fridge/air", "4"), "'fridge/air' cannot be a probe's name"),
        (("fridge-air", "4", "--measured-at", "yesterday"), "'yesterday' is not an instant"),
        (("fridge-air", "4", "--url", "http://127.0.0.1"), "'http://127.0.0.1' is no broker"),
    ],
)
def test_publish_of_nonsense_is_bad_input(arguments: tuple[str, ...], says: str) -> None:
    result = run("publish", *arguments)
    assert (result.exit_code, says in result.stderr) == (2, True)


def test_publish_sends_fahrenheit_as_celsius() -> None:
    broker = EmbeddedBroker(0)
    broker.start()
    try:
        result = run("publish", "fridge-air", "41F", "--url", broker.url())
    finally:
        broker.stop()
    assert result.exit_code == 0
    assert result.output.startswith("Sent 5 as fridge-air")


def test_plan_prints_days_stations_and_orders_for_people() -> None:
    result = run("plan", "--seconds", "0")
    assert result.exit_code == 0
    for words in ("Example kitchen", "Stove and churn", "Friday 27 November", "SAT-STALL", "Europe/London"):
        assert words in result.output


def test_plan_as_json_fits_its_schema_and_names_lots_windows_and_people() -> None:
    schema = json.loads(run("plan", "--schema").output)
    document = json.loads(run("plan", "--seconds", "0", "--json").output)
    assert set(schema["required"]) | {"schema_version"} == set(document)
    assert set(document["tasks"][0]) == set(schema["$defs"]["TaskDocument"]["properties"])
    assert {outlook["order"] for outlook in document["outlooks"]} >= {"SAT-STALL", "SUN-CAFE"}
    lots = {batch["lot"] for batch in document["batches"]}
    product = next(b for b in document["batches"] if b["recipe"] == "basil-custard")
    assert product["parents"]
    assert set(product["parents"]) <= lots
    churn = next(t for t in document["tasks"] if t["process"] == "churn")
    assert churn["crew"]
    assert churn["opens"] <= churn["start"] <= churn["closes"]


def test_plan_as_json_is_valid_by_its_schema_and_a_wrong_document_is_not() -> None:
    schema = json.loads(run("plan", "--schema").output)
    Draft202012Validator.check_schema(schema)
    judge = Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)
    document = json.loads(run("plan", "--seconds", "0", "--json").output)
    assert [error.message for error in judge.iter_errors(document)] == []
    del document["tasks"][0]["closes"]
    assert [error.message for error in judge.iter_errors(document)] == ["'closes' is a required property"]


def test_plan_as_json_tells_all_of_a_task_and_its_batch() -> None:
    document = json.loads(run("plan", "--seconds", "0", "--json").output)
    batch = next(b for b in document["batches"] if b["recipe"] == "basil-custard")
    harden = next(t for t in document["tasks"] if t["lot"] == batch["lot"] and t["step"] == "harden")
    told = (harden["product"], harden["station"], harden["equipment"], harden["kind"], harden["closing_class"])
    assert told == ("basil-custard", "stove", "blast", "work", "quality")
    first, last = harden["attended"]
    assert (first["start"], last["end"]) == (harden["start"], harden["end"])
    assert {*first["crew"], *last["crew"]} == set(harden["crew"])
    assert {p[0] for p in batch["parents"]} == {"C", "G", "P"}
    assert set(batch["goes_to"]) <= {outlook["order"] for outlook in document["outlooks"]}
    assert {"met", "ready_at", "late_min", "margin_min", "reason"} <= set(document["outlooks"][0])


def test_plan_that_cannot_meet_an_order_still_prints_and_says_why(kitchen: Path) -> None:
    crew = kitchen / "crew.yaml"
    crew.write_text(
        re.sub(
            r'from: "\d\d:\d\d", to: "\d\d:\d\d"(, breaks: \[[^]]*\])?', 'from: "22:00", to: "23:59"', crew.read_text()
        )
    )
    result = run("plan", str(kitchen), "--seconds", "0")
    assert result.exit_code == 0
    assert "NOT MET. not enough people with the skill prep" in " ".join(result.output.split())


def test_plan_takes_the_instant_in_the_kitchens_own_time_or_with_its_offset() -> None:
    local = json.loads(run("plan", "--now", "2026-11-25T09:00", "--seconds", "0", "--json").output)
    absolute = json.loads(run("plan", "--now", "2026-11-25T09:00Z", "--seconds", "0", "--json").output)
    assert {**local, "seconds": 0} == {**absolute, "seconds": 0}
    assert min(task["start"] for task in local["tasks"] if task["kind"] == "work") >= "2026-11-25T09:00:00Z"


def test_plan_at_nonsense_is_bad_input() -> None:
    result = run("plan", "--now", "Wednesday")
    assert (result.exit_code, "'Wednesday' is not an instant" in result.stderr) == (2, True)


def test_plan_of_faulty_files_is_bad_input(kitchen: Path) -> None:
    (kitchen / "orders.yaml").write_text("orders: [")
    result = run("plan", str(kitchen))
    assert (result.exit_code, result.output.splitlines()[0].split(": ")[0]) == (2, "orders.yaml:1:10")


def test_why_tells_both_sides_of_a_task() -> None:
    result = run("plan", "--seconds", "0", "--why", "B1.churn")
    assert result.exit_code == 0
    assert result.output.startswith("Churn the basil custard (B1.churn), ")
    assert "Why not earlier:\n  " in result.output
    assert "Why not later:\n  " in result.output


def test_why_as_json_names_what_holds_a_task() -> None:
    result = run("plan", "--seconds", "0", "--why", "B1.churn", "--json")
    told = json.loads(result.output)
    assert (result.exit_code, told["task"]) == (0, "B1.churn")
    assert all(told[side]["holds"][0]["kind"] for side in ("earlier", "later"))


def test_why_of_an_unknown_task_is_bad_input_and_names_those_of_the_lot() -> None:
    result = run("plan", "--seconds", "0", "--why", "B1.chrun")
    assert result.exit_code == 2
    assert "There is no task 'B1.chrun' in the plan; there are B1.churn" in result.output


def test_plan_prints_the_chance_of_each_order_and_what_it_assumes() -> None:
    result = run("plan", "--seconds", "0")
    assert result.exit_code == 0
    assert result.output.count("Chance on time") == 5
    assert "Chances come from 2,000 simulated runs of this plan (95 % intervals)." in result.output
    assert "Left out: machines that break down" in result.output
    document = json.loads(run("plan", "--seconds", "1", "--json").output)
    assert [0 <= outlook["chance"] <= 1 for outlook in document["outlooks"]] == [True] * 5
    assert document["simulated_runs"] == 2000
    assert document["chances_assume"][0].startswith("Each step takes its shortest to longest minutes")


SCENARIOS = """\
scenarios:
  - name: Without the party
    changes: [{ change: drop order, order: SAT-PARTY }]
  - name: Cafe at noon
    changes: [{ change: change order, order: SAT-CAFE, due: 2026-11-28T12:00 }]
"""


def scenarios(folder: Path, text: str = SCENARIOS) -> str:
    file = folder / "tried.yaml"
    file.write_text(text, encoding="utf-8")
    return str(file)


def test_what_if_prints_scenarios_side_by_side(tmp_path: Path) -> None:
    result = run("plan", "--seconds", "0", "--what-if", scenarios(tmp_path))
    assert result.exit_code == 0
    assert "Without the party: without SAT-PARTY" in result.output
    assert "Cafe at noon: SAT-CAFE: due Sat 28 Nov 12:00" in result.output
    row = next(line for line in result.output.splitlines() if line.strip().startswith("SAT-PARTY"))
    assert "–" in row
    assert "Nothing has been adopted." in result.output


def test_what_if_as_json_gives_outlooks_terms_breaks_and_moves(tmp_path: Path) -> None:
    result = run("plan", "--seconds", "0", "--json", "--what-if", scenarios(tmp_path))
    told = json.loads(result.output)
    assert (result.exit_code, told["table"]["names"]) == (0, ["present plan", "Without the party", "Cafe at noon"])
    party = told["scenarios"][0]
    assert {"SAT-PARTY.S.hand-over", "SAT-PARTY.W.hand-over"} <= {m["task"] for m in party["moves"]}
    assert all(m["reason"] for m in party["moves"])


def test_what_if_with_faults_names_file_and_line(tmp_path: Path) -> None:
    file = scenarios(tmp_path, SCENARIOS.replace("SAT-PARTY", "SAT-PRATY"))
    result = run("plan", "--seconds", "0", "--what-if", file)
    assert result.exit_code == 2
    assert "tried.yaml:3:15: SAT-PRATY: there is no order of that name — did you mean SAT-PARTY?" in result.output
