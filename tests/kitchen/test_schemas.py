"""The published schemas: up to date, valid, and agreeing with the reader."""

import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from orchestrator.kitchen.documents import read_document
from orchestrator.kitchen.schemas import PUBLISHED, schema, schema_texts, write_schemas
from tests.kitchen.small import FILES, faults, write_small

EXAMPLE = Path(__file__).parents[2] / "config"
EXAMPLE_FILES = sorted(path.relative_to(EXAMPLE).as_posix() for path in EXAMPLE.rglob("*.yaml"))


def kind_of(file: str) -> str:
    return "recipe" if file.startswith("recipes/") else file.partition(".")[0]


def errors(kind: str, data: Any) -> list[str]:
    return [error.message for error in Draft202012Validator(schema(kind)).iter_errors(data)]


def test_published_schemas_are_up_to_date() -> None:
    published = {path.name: path.read_text(encoding="utf-8") for path in (EXAMPLE / "schemas").glob("*.json")}
    assert published == schema_texts(), "write_schemas(config) brings them up to date"


@pytest.mark.parametrize("kind", PUBLISHED)
def test_schema_is_valid_json_schema(kind: str) -> None:
    Draft202012Validator.check_schema(schema(kind))
    assert errors(kind, {"no such key": 1}) != []


@pytest.mark.parametrize("file", EXAMPLE_FILES)
def test_example_file_validates(file: str) -> None:
    assert errors(kind_of(file), read_document(EXAMPLE, file).data) == []


@pytest.mark.parametrize("file", EXAMPLE_FILES)
def test_example_file_names_its_schema(file: str) -> None:
    first = (EXAMPLE / file).read_text(encoding="utf-8").splitlines()[0]
    named = first.removeprefix("# yaml-language-server: $schema=")
    assert (EXAMPLE / file).parent.joinpath(named).resolve() == EXAMPLE / f"schemas/{kind_of(file)}.schema.json"


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("recipes/damson-puree.yaml", "usual: 40 min", "usual: 40"),
        ("recipes/damson-puree.yaml", "amount: 4 kg", "amount: 4 st"),
        ("recipes/damson-puree.yaml", "process: simmer", "process: simer"),
        ("recipes/damson-puree.yaml", "yields: 3 L\n", ""),
        ("recipes/damson-sorbet.yaml", "at_most: 4 °C", "at_most: 4"),
        ("orders.yaml", "2026-11-27T12:00", "Friday"),
        ("crew.yaml", "skills: [make]", "skils: [make]"),
        ("kitchen.yaml", "horizon_days: 3", "horizon_days: 15"),
    ],
)
def test_what_the_schema_refuses_the_reader_refuses_too(tmp_path: Path, file: str, old: str, new: str) -> None:
    write_small(tmp_path)
    assert errors(kind_of(file), read_document(tmp_path, file).data) == []
    (tmp_path / file).write_text(FILES[file].replace(old, new), encoding="utf-8")
    assert errors(kind_of(file), read_document(tmp_path, file).data) != []
    assert faults(tmp_path) != []


def test_write_schemas_writes_one_file_a_kind(tmp_path: Path) -> None:
    written = write_schemas(tmp_path)
    assert sorted(path.name for path in written) == sorted(f"{kind}.schema.json" for kind in PUBLISHED)
    assert {path.parent for path in written} == {tmp_path / "schemas"}


def test_make_schemas_writes_where_they_are_published(tmp_path: Path) -> None:
    recipe = re.search(r'python -c "(.+write_schemas.+)"', (EXAMPLE.parent / "Makefile").read_text(encoding="utf-8"))
    assert recipe is not None
    environment = {**os.environ, "PYTHONPATH": str(EXAMPLE.parent)}
    subprocess.run([sys.executable, "-c", recipe[1]], cwd=tmp_path, env=environment, check=True)
    assert {path.relative_to(tmp_path) for path in tmp_path.rglob("*.json")} == {
        Path("config/schemas") / name for name in schema_texts()
    }
