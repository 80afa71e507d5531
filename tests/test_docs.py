"""What the documents name is there: files, modules, targets of make, commands with their options, names in the code."""

import re
from fnmatch import fnmatch
from functools import cache
from pathlib import Path

import click
import pytest

from orchestrator.cli.main import main

ROOT = Path(__file__).parents[1]
DOCS = [
    ROOT / "README.md",
    ROOT / "DEVELOPERS.md",
    *sorted((ROOT / "docs").rglob("*.md")),
    ROOT / "deploy" / "README.md",
]
ROOMS = ("orchestrator", "display", "config", "deploy", "docs", "tests")
FILE = re.compile(r"[\w./*<>-]+\.(?:py|html|js|css|yaml|json|md|txt|toml|in|lock)|[\w.<>-]+(?:/[\w.<>*-]+)*/")
NAME = re.compile(r"[A-Za-z_]\w*(?:\.[A-Za-z_]\w*)*(?:\(\))?")


def path_of(doc: Path) -> str:
    """By its path: there is more than one README."""
    return str(doc.relative_to(ROOT))


@cache
def _paths() -> frozenset[str]:
    """Files and folders of the tree, from its root."""
    found = [path for room in ROOMS for path in (ROOT / room).rglob("*") if "__pycache__" not in path.parts]
    found += [path for path in ROOT.iterdir() if path.is_file()]
    return frozenset(str(path.relative_to(ROOT)) for path in [*found, *(ROOT / room for room in ROOMS)])


def _quoted(doc: Path) -> list[str]:
    """What stands between backticks, and the lines of blocks."""
    text = doc.read_text(encoding="utf-8")
    blocks = re.findall(r"^```\w*\n(.*?)^```", text, re.M | re.S)
    rest = re.sub(r"^```.*?^```", "", text, flags=re.M | re.S)
    return [*re.findall(r"`([^`]+)`", rest), *(line for block in blocks for line in block.splitlines())]


def _is_there(name: str) -> bool:
    """By its whole path or the end of it; ``<language>`` and ``*`` stand for anything."""
    wanted = re.sub(r"<[^>]+>", "*", name).strip("/")
    return any(fnmatch(path, wanted) or fnmatch(path, f"*/{wanted}") for path in _paths())


@pytest.mark.parametrize("doc", DOCS, ids=path_of)
def test_files_that_a_document_names_are_there(doc: Path) -> None:
    named = [one for one in _quoted(doc) if FILE.fullmatch(one) and not one.startswith(("/", "~"))]
    links = re.findall(r"\]\((?!https?:)([^)#]+)", doc.read_text(encoding="utf-8"))
    assert [one for one in named if not _is_there(one)] == []
    assert [one for one in links if not (doc.parent / one).exists()] == []


@pytest.mark.parametrize("doc", DOCS, ids=path_of)
def test_modules_and_targets_that_a_document_runs_are_there(doc: Path) -> None:
    text = doc.read_text(encoding="utf-8")
    modules = {one.rstrip(".") for one in re.findall(r"python -m ((?:tests|orchestrator|display)[\w.]*)", text)}
    paths = [f"{one.replace('.', '/')}" for one in modules]
    assert [one for one in paths if not {f"{one}.py", f"{one}/__main__.py"} & _paths()] == []
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    targets = {one for line in _quoted(doc) for one in re.findall(r"^make ([a-z]+)", line)}
    assert [one for one in targets if not re.search(rf"^{one}:", makefile, re.M)] == []


@pytest.mark.parametrize("doc", DOCS, ids=path_of)
def test_commands_that_a_document_gives_have_these_options(doc: Path) -> None:
    unknown = []
    for line in _quoted(doc):
        if asked := re.match(r"(?:\S*/)?coldwright ([a-z-]+)(.*)", line) or re.match(r"([a-z-]+)( --.*)", line):
            command = main.commands.get(asked[1])
            if command is not None:
                unknown += [f"{asked[1]} {one}" for one in _foreign(command, asked[2])]
            elif line.startswith("coldwright "):
                unknown += [line]
    assert unknown == []


def _foreign(command: click.Command, rest: str) -> list[str]:
    """Options that neither it nor one of its own commands has."""
    parts = [command, *(command.commands.values() if isinstance(command, click.Group) else ())]
    known = {
        "--help",
        *(option for part in parts for one in part.params for option in (*one.opts, *one.secondary_opts)),
    }
    return [one for one in re.findall(r"(?<![\w-])--[a-z][\w-]*", rest.partition("|")[0]) if one not in known]


def test_names_that_developers_are_led_to_are_in_the_code() -> None:
    code = (
        path for room in ROOMS for kind in ("*.py", "*.html", "*.js", "*.css") for path in (ROOT / room).rglob(kind)
    )
    words = set(re.findall(r"\w+", "\n".join(path.read_text(encoding="utf-8") for path in code)))
    words |= set(re.findall(r"\w+", "\n".join(_paths()) + (ROOT / "pyproject.toml").read_text(encoding="utf-8")))
    named = [one for one in _quoted(ROOT / "DEVELOPERS.md") if NAME.fullmatch(one)]
    assert [one for one in named if not {*one.rstrip("()").split(".")} <= words] == []


def test_every_room_is_on_a_floor() -> None:
    floors = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## Rooms and floors")[1].split("## ")[0]
    rooms = {path.name for path in (ROOT / "orchestrator").iterdir() if (path / "__init__.py").is_file()}
    assert {room for room in rooms | {"display", "config", "tests"} if not re.search(rf"\b{room}\b", floors)} == set()
    named = set(re.findall(r"[a-z]+", "\n".join(re.findall(r"^\d  ([\w >|]+?)  ", floors, re.M))))
    assert named - rooms == {"display"}
