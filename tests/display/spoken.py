"""Walks the sources for the sentences that people read: literals with a space in them, by file and pattern."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2] / "orchestrator"
WHERE = (
    "core/decide/*.py", "core/changes*.py", "core/deviations/*.py", "core/alarms/*.py", "core/check/*.py",
    "core/move*.py", "core/adoption.py", "core/order_table.py", "core/handover.py", "core/holding.py", "core/gates.py",
    "core/by_hand.py", "core/plausible.py", "core/models/change.py", "core/recipe_scaling.py", "core/weighing.py",
    "core/follow_on.py", "core/supply_cover.py", "core/shelving.py", "core/recall.py", "core/day_marks.py",
    "core/date_marking.py", "core/demand.py", "core/probe_traces.py", "core/limit_told.py", "core/mix/*.py",
    "core/views/*.py", "planner/why*.py", "planner/holds*.py", "planner/unmet.py", "planner/words.py",
    "planner/conflicts.py", "planner/relaxations.py", "planner/remed*.py", "planner/explain.py", "planner/posing.py",
    "planner/what_if.py", "planner/upkeep_tasks.py", "planner/score*.py", "planner/trouble.py", "engine/*.py",
    "gateway/*.py", "kitchen/[!n]*.py",
)  # fmt: skip
"""Which modules speak to people; not the command line, and not `kitchen/new.py`, which writes files."""
RAISED = (
    "core/models/*.py",
    "core/quantities.py",
    "core/gs1.py",
    "core/measures.py",
    "core/date_marking.py",
    "kitchen/*.py",
)
"""Where models say of a file's values what is wrong: the faults show that, parted at its colon, with what to do."""


def patterns() -> dict[str, str]:
    """Patterns, each with one file that says it."""
    found: dict[str, str] = {}
    for glob in WHERE:
        for file in sorted(ROOT.glob(glob)):
            for pattern in _said(ast.parse(file.read_text(encoding="utf-8"))):
                found.setdefault(pattern, str(file.relative_to(ROOT)))
    for glob in RAISED:
        for file in sorted(ROOT.glob(glob)):
            for pattern in _raised(ast.parse(file.read_text(encoding="utf-8"))):
                found.setdefault(pattern, str(file.relative_to(ROOT)))
    return found


def _raised(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if not (isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call)):
            continue
        name = node.exc.func.id if isinstance(node.exc.func, ast.Name) else ""
        for said in node.exc.args if name == "ValueError" else ():
            if isinstance(said, ast.JoinedStr | ast.Constant):
                what, _, remedy = _pattern(said).partition(": ")
                yield from (part for part in map(_numbered, (what, remedy)) if _says_something(part))


def _says_something(pattern: str) -> bool:
    return bool(re.search(r"[A-Za-z]{2}", re.sub(r"{\d+}", "", pattern))) and " " in pattern.strip()


def _numbered(pattern: str) -> str:
    """Its values numbered from the left, whatever they were called."""
    places = iter(range(99))
    return re.sub(r"{\w*}", lambda _: f"{{{next(places)}}}", pattern)


def _said(tree: ast.Module) -> Iterator[str]:
    silent = set(_silent(tree))
    for node in ast.walk(tree):
        if id(node) in silent or not isinstance(node, ast.JoinedStr | ast.Constant):
            continue
        pattern = _pattern(node)
        if _says_something(pattern):
            yield pattern


def _pattern(node: ast.JoinedStr | ast.Constant) -> str:
    if isinstance(node, ast.Constant):
        return _numbered(node.value) if isinstance(node.value, str) else ""
    places = iter(range(len(node.values)))
    return "".join(str(part.value) if isinstance(part, ast.Constant) else f"{{{next(places)}}}" for part in node.values)


def _silent(tree: ast.Module) -> Iterator[int]:
    """What nobody reads: docstrings, pieces of f-strings, log lines, errors raised, choices and comparisons."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            yield id(node.value)
        elif isinstance(node, ast.JoinedStr):
            for part in node.values:
                if isinstance(part, ast.Constant):
                    yield id(part)
                elif isinstance(part, ast.FormattedValue) and part.format_spec is not None:
                    yield from map(id, ast.walk(part.format_spec))
        elif isinstance(node, ast.Raise | ast.Compare) or _log(node) or _choice(node):
            yield from map(id, ast.walk(node))


def _log(node: ast.AST) -> bool:
    called = node.func if isinstance(node, ast.Call) else None
    return (
        isinstance(called, ast.Attribute) and isinstance(called.value, ast.Name) and called.value.id in ("LOG", "log")
    )


def _choice(node: ast.AST) -> bool:
    return isinstance(node, ast.Subscript) and isinstance(node.value, ast.Name) and node.value.id == "Literal"
