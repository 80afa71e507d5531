"""House rules that no linter knows: how long files and functions may be, and that every module says what it is for."""

import ast
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
MOST_LINES = 400
MOST_LINES_OF_A_FUNCTION = 50
LIBRARIES_CALL = {
    "_on_socket_open",
    "_on_socket_register_write",
    "capture_signals",
    "get_cookie_secure",
    "handle_data",
    "handle_endtag",
    "handle_startendtag",
    "handle_starttag",
    "list_commands",
    "on_solution_callback",
}
"""Methods that a library calls by their names."""
KINDS = ("*.py", "*.html", "*.css", "*.js")


def files(*kinds: str) -> list[Path]:
    return sorted(
        path for room in ("orchestrator", "display", "tests") for kind in kinds for path in (ROOT / room).rglob(kind)
    )


def functions(path: Path) -> Iterator[tuple[str, int]]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node.name, (node.end_lineno or node.lineno) - node.lineno + 1


def test_no_file_is_longer_than_four_hundred_lines() -> None:
    lengths = {
        str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines()) for path in files(*KINDS)
    }
    assert {path: length for path, length in lengths.items() if length > MOST_LINES} == {}


def test_no_function_is_longer_than_fifty_lines() -> None:
    found = {f"{path.relative_to(ROOT)}:{name}": length for path in files("*.py") for name, length in functions(path)}
    assert {name: length for name, length in found.items() if length > MOST_LINES_OF_A_FUNCTION} == {}


@pytest.mark.parametrize("room", ["orchestrator", "display"])
def test_every_module_says_in_one_line_what_it_is_for(room: str) -> None:
    silent = [
        str(path.relative_to(ROOT))
        for path in (ROOT / room).rglob("*.py")
        if path.read_text(encoding="utf-8").strip()
        and not ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert silent == []


def _defined(tree: ast.Module) -> Iterator[str]:
    """Functions, classes and constants of a module; what a decorator registers is used by it."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            names = [ast.unparse(one) for one in node.decorator_list]
            if all(
                name in ("property", "staticmethod", "classmethod", "cache") or "dataclass" in name for name in names
            ):
                yield node.name
    for node in tree.body:
        targets = (
            node.targets if isinstance(node, ast.Assign) else [node.target] if isinstance(node, ast.AnnAssign) else []
        )
        yield from (target.id for target in targets if isinstance(target, ast.Name))


def test_nothing_is_defined_that_only_a_test_or_nobody_uses() -> None:
    program = [path for path in files(*KINDS) if path.relative_to(ROOT).parts[0] != "tests"]
    texts = {path: path.read_text(encoding="utf-8") for path in program}
    named = Counter(
        re.findall(r"\w+", "\n".join([*texts.values(), (ROOT / "pyproject.toml").read_text(encoding="utf-8")]))
    )
    defined = {
        f"{path.relative_to(ROOT)}: {name}"
        for path, text in texts.items()
        if path.suffix == ".py" and "migrations" not in path.parts
        for name in _defined(ast.parse(text))
        if name not in LIBRARIES_CALL
        and not name.startswith("__")
        # What is private is used in its own file, or another file's name of the same letters would hide that it is not.
        and (len(re.findall(rf"\b{name}\b", text)) if name.startswith("_") else named[name]) < 2
    }
    assert defined == set()
