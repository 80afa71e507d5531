"""What is shipped for running unattended: systemd's tools read the unit, and the container file's parts are there."""

import re
import shutil
import subprocess
import sys
from configparser import RawConfigParser
from pathlib import Path

import pytest
from click.testing import CliRunner

from orchestrator.cli.main import main

ROOT = Path(__file__).parents[1]
UNIT = ROOT / "deploy" / "coldwright.service"
CONTAINER = ROOT / "deploy" / "Containerfile"


@pytest.fixture(scope="module")
def unit() -> RawConfigParser:
    parser = RawConfigParser(strict=True)
    parser.optionxform = str  # type: ignore[assignment,method-assign]
    parser.read(UNIT)
    return parser


def test_unit_restarts_always_is_watched_and_gives_up_never(unit: RawConfigParser) -> None:
    """Source: systemd.service(5) and systemd.unit(5)."""
    service = dict(unit["Service"])
    assert (service["Type"], service["Restart"]) == ("notify", "always")
    assert int(service["WatchdogSec"]) > 0
    assert unit["Unit"]["StartLimitIntervalSec"] == "0"
    assert service["User"] != "root"
    hardened = ("NoNewPrivileges", "PrivateTmp", "ProtectHome", "ProtectKernelTunables", "RestrictSUIDSGID")
    assert [service[name] for name in hardened] == ["yes"] * len(hardened)
    assert service["ProtectSystem"] == "strict"
    assert service["CapabilityBoundingSet"] == ""


def test_unit_starts_what_the_command_line_knows(unit: RawConfigParser) -> None:
    program, command, *words = unit["Service"]["ExecStart"].split()
    assert (Path(program).name, command) == ("coldwright", "serve")
    known = CliRunner().invoke(main, ["serve", "--help"]).output
    assert [word for word in words if word.startswith("--") and word not in known] == []


def test_unit_passes_systemds_own_check(tmp_path: Path) -> None:
    """Source: systemd-analyze(1), "verify"."""
    analyze = shutil.which("systemd-analyze")
    assert analyze is not None, "systemd-analyze is missing. As root: apt-get install -y systemd"
    here = tmp_path / "coldwright.service"
    # Where it will be installed there is nothing yet; this Python is a program that is there.
    told = re.sub(r"^ExecStart=\S+", f"ExecStart={sys.executable}", UNIT.read_text(), flags=re.MULTILINE)
    here.write_text(
        re.sub(r"^(User|Group)=.*", r"\1=root", re.sub(r"^Documentation=.*\n", "", told, flags=re.M), flags=re.M)
    )
    checked = subprocess.run(
        [analyze, "verify", "--man=no", "--recursive-errors=no", str(here)], capture_output=True, text=True, check=False
    )
    ours = [line for line in checked.stderr.splitlines() if "coldwright" in line]
    assert (checked.returncode, ours) == (0, [])


def test_container_file_copies_what_is_there_checks_hashes_and_is_not_root() -> None:
    told = CONTAINER.read_text().replace("\\\n", " ")
    copied = [line.split()[1:-1] for line in told.splitlines() if line.startswith("COPY ") and "--from" not in line]
    assert [name for names in copied for name in names if not (ROOT / name).exists()] == []
    installs = [line for line in told.splitlines() if "pip install" in line]
    assert [("--require-hashes" in line, "--no-index" in line) for line in installs] == [(True, False), (False, True)]
    assert re.findall(r"^USER (\S+)", told, re.M) == ["coldwright"]
    command = re.search(r"^CMD (\[.*\])", told, re.M)
    assert command is not None
    known = CliRunner().invoke(main, ["serve", "--help"]).output
    assert [word for word in re.findall(r'"(--[a-z-]+)"', command.group(1)) if word not in known] == []
