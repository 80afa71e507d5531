"""Whether a test would notice: `python -m tests.mutation orchestrator/core/check --tests tests/core/test_check*.py`.

Statements drawn by chance are changed, one at a time and in memory alone, by the operators of mutmut, and the tests are
run until one fails. What survives is printed: a test is missing, the code is not needed, or nobody could tell the two
apart; which of these it is, somebody must find out. mutmut itself copies the whole tree and leaves properties and
constants alone; hence only its operators. It is not among what `make test` installs: `.venv/bin/pip install mutmut`.
"""

import argparse
import ast
import difflib
import importlib
import multiprocessing
import os
import random
import sys
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from importlib.machinery import SourceFileLoader
from pathlib import Path
from types import CodeType
from typing import NamedTuple

import libcst as cst
import pytest
from libcst.metadata import MetadataWrapper, PositionProvider
from mutmut.mutation.mutators import mutation_operators

QUIET = ("-q", "-p", "no:cacheprovider", "-p", "no:xdist", "-m", "not slow and not browser")
WARM = ("-W", "ignore::pytest.PytestAssertRewriteWarning")  # of libraries that were there before pytest
SLOW_TO_IMPORT = ("hypothesis", "numpy", "scipy.optimize", "scipy.stats", "pydantic", "ortools.sat.python.cp_model")
LATE = -9
OUTCOMES = {0: "survived", 1: "killed", 2: "killed", LATE: "late"}
"""By pytest's exit code; 2 is a file of tests that cannot even be imported."""


class Mutant(NamedTuple):
    """A file with one thing changed."""

    path: Path
    lines: range
    """Of the statement, or of its head where it has a body; the first is 1."""
    operator: str
    code: str

    def __str__(self) -> str:
        """Where, and what was changed to what."""
        before = self.path.read_text(encoding="utf-8").splitlines()
        changed = list(difflib.unified_diff(before, self.code.splitlines(), lineterm="", n=0))[3:]
        return "\n".join([f"{self.path}:{self.lines.start} {self.operator}", *changed])


class Finder(cst.CSTVisitor):
    """Finds the nodes of a file that an operator changes: node, change, operator, by statement."""

    METADATA_DEPENDENCIES = (PositionProvider,)

    def __init__(self) -> None:
        self.found: dict[range, list[tuple[cst.CSTNode, cst.CSTNode, str]]] = defaultdict(list)
        self._within: list[range] = []

    def on_visit(self, node: cst.CSTNode) -> bool:
        # Types are mypy's; a decorator or an import that is gone is noticed by whatever imports the file.
        if isinstance(node, cst.Annotation | cst.Decorator | cst.Import | cst.ImportFrom):
            return False
        if isinstance(node, cst.BaseStatement):
            self._within.append(self._lines(node))
        for kind, operator in mutation_operators if self._within else ():
            if isinstance(node, kind):
                name = operator.__name__.removeprefix("operator_")
                self.found[self._within[-1]] += [(node, changed, name) for changed in operator(node)]
        return True

    def on_leave(self, original_node: cst.CSTNode) -> None:
        if isinstance(original_node, cst.BaseStatement):
            self._within.pop()

    def _lines(self, node: cst.BaseStatement) -> range:
        place, body = self.get_metadata(PositionProvider, node), getattr(node, "body", None)
        if not isinstance(body, cst.IndentedBlock):
            return range(place.start.line, place.end.line + 1)
        inner = self.get_metadata(PositionProvider, body.body[0])
        return range(place.start.line, max(inner.start.line, place.start.line + 1))


def drawn(paths: list[Path], size: int, seed: int) -> Iterator[Mutant]:
    """Statements by chance, of each an operator and one of its changes: long calls weigh no more than others."""
    chance = random.Random(seed)
    statements = []
    for path in paths:
        wrapper = MetadataWrapper(cst.parse_module(path.read_text(encoding="utf-8")), unsafe_skip_copy=True)
        finder = Finder()
        wrapper.visit(finder)
        statements += [(path, wrapper.module, lines, found) for lines, found in finder.found.items() if found]
    for path, module, lines, found in chance.sample(statements, min(size, len(statements))):
        operator = chance.choice(sorted({name for _, _, name in found}))
        node, changed, _ = chance.choice([one for one in found if one[2] == operator])
        code = cst.ensure_type(module.deep_replace(node, changed), cst.Module).code
        try:
            says_the_same = ast.dump(ast.parse(code)) == ast.dump(ast.parse(module.code))
        except SyntaxError:
            continue
        if not says_the_same:
            yield Mutant(path, lines, operator, code)


def in_child(work: Callable[[], int], seconds: float) -> int:
    """The exit code of work in a process that has the libraries but nothing of the program yet; `LATE` if it was."""

    def silently() -> None:
        with open(os.devnull, "w") as nowhere:
            os.dup2(nowhere.fileno(), 1)
            os.dup2(nowhere.fileno(), 2)
        try:
            code = work()
        except BaseException:
            code = 70
        os._exit(code)

    child = multiprocessing.get_context("fork").Process(target=silently)
    child.start()
    child.join(seconds)
    child.kill()
    child.join()
    return child.exitcode or 0


def outcome(mutant: Mutant, tests: list[str], seconds: float) -> str:
    """Whether one of the tests fails, all pass, or it takes longer than so many seconds, as a loop without end does."""
    whole = SourceFileLoader.get_code

    def get_code(self: SourceFileLoader, fullname: str) -> CodeType | None:
        if Path(self.path) == mutant.path.absolute():
            return compile(mutant.code, self.path, "exec", dont_inherit=True)
        return whole(self, fullname)

    def run() -> int:
        SourceFileLoader.get_code = get_code  # type: ignore[method-assign,assignment]
        return pytest.main([*QUIET, *WARM, "-x", "-p", "no:cov", *tests])

    return OUTCOMES.get(in_child(run, seconds), "no answer")


def asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("paths", nargs="+", type=Path, help="files or folders of the program")
    parser.add_argument("--tests", nargs="+", required=True, help="files or tests, as pytest takes them")
    parser.add_argument("--sample", type=int, default=100, help="how many statements are changed")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=300.0, help="for each; what takes longer has found no end")
    return parser.parse_args()


def main() -> None:
    """Draw, change, run; print what survived, and how many of each outcome there were."""
    said = asked()
    os.environ["OPENBLAS_NUM_THREADS"] = "1"  # threads do not survive a fork
    for name in SLOW_TO_IMPORT:
        importlib.import_module(name)
    paths = sorted({file for path in said.paths for file in (path.rglob("*.py") if path.is_dir() else [path])})
    found = list(drawn(paths, said.sample, said.seed))
    if (
        found
        and outcome(found[0]._replace(code=found[0].path.read_text(encoding="utf-8")), said.tests, 3600.0) != "survived"
    ):
        sys.exit("The tests fail, or there are none, without any change: put that right first.")
    count: Counter[str] = Counter()
    try:
        for mutant in found:
            end = outcome(mutant, said.tests, said.seconds)
            count[end] += 1
            if end != "killed":
                print(f"{end}: {mutant}\n", flush=True)
    except KeyboardInterrupt:
        print(f"stopped; {len(found) - count.total()} of {len(found)} were not tried")
    print(", ".join(f"{number} {end}" for end, number in count.most_common()))


if __name__ == "__main__":
    main()
