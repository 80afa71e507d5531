"""One YAML file as plain data, with the line and column of everything in it."""

import itertools
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from orchestrator.kitchen.faults import Fault

MOST_BYTES: Final = 1_000_000
MOST_BRACKETS: Final = 64
"""Open at once on one line; the parser looks so far ahead in each that more of them take it seconds."""

MOST_NODES: Final = 50_000
"""Aliases may repeat a part; a file that unfolds beyond this is refused instead of filling the memory."""

Path_ = tuple[str | int, ...]
"""The way to a value: keys and indices from the top of the file."""

_DEEP: Final = ("the file is nested too deeply", "write it flatter")
_EMPTY: Final = ("the file is empty", "write its content, or take the file away")
_TAG = "tag:yaml.org,2002:"
_TRUE = ("true", "True", "TRUE")


@dataclass(slots=True)
class Document:
    """A file's data and where each part of it stands."""

    file: str
    data: Any = None
    places: dict[Path_, tuple[int, int]] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    readable: bool = False

    def fault(self, path: Path_, what: str, remedy: str) -> Fault:
        """A fault at a value, or at the nearest part round it that stands in the file."""
        for length in range(len(path), -1, -1):
            if path[:length] in self.places:
                line, column = self.places[path[:length]]
                return Fault(self.file, line, column, what, remedy)
        return Fault(self.file, 0, 0, what, remedy)

    def add(self, path: Path_, what: str, remedy: str) -> None:
        """Note a fault."""
        self.faults.append(self.fault(path, what, remedy))


def read_document(folder: Path, file: str) -> Document:
    """Read one YAML file; what is wrong with it is noted in the document, never raised."""
    document = Document(file)
    text = _read_text(document, folder / file)
    if text is not None:
        _read_data(document, text)
    return document


def document_of(file: str, text: str) -> Document:
    """A text that somebody typed, read like the file of that name; what is wrong with it is noted in the document."""
    document = Document(file)
    if len(text.encode()) > MOST_BYTES:
        document.add((), f"the text has more than {MOST_BYTES:,} bytes", "a recipe is small: is this the right one?")
    elif _is_told(document, text):
        _read_data(document, text)
    return document


def _read_data(document: Document, text: str) -> None:
    node = _compose(document, text)
    if node is None:
        return
    builder = _Builder(document)
    try:
        document.data = builder.build(node, ())
    except RecursionError:
        document.add((), *_DEEP)
        return
    document.readable = not builder.overflowed
    if document.data is None and document.readable:
        document.readable = False
        document.add((), *_EMPTY)


def _read_text(document: Document, path: Path) -> str | None:
    raw = _read_bytes(document, path)
    if raw is None:
        return None
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        column = error.start - raw.rfind(b"\n", 0, error.start)
        what, remedy = "the file is not UTF-8", "save it with the encoding UTF-8"
        document.faults.append(Fault(document.file, line, column, what, remedy))
        return None
    return text if _is_told(document, text) else None


def _is_told(document: Document, text: str) -> bool:
    """Whether there is something to parse that cannot take the parser for ever."""
    if not text.strip():
        document.add((), *_EMPTY)
        return False
    for number, row in enumerate(text.splitlines(), start=1):
        if row.count("[") + row.count("{") > MOST_BRACKETS and _brackets_open(row) > MOST_BRACKETS:
            document.faults.append(Fault(document.file, number, 1, *_DEEP))
            return False
    return True


def _brackets_open(line: str) -> int:
    """The most brackets that are open at once on a line."""
    depths = itertools.accumulate((char in "[{") - (char in "]}") for char in line)
    return max(depths, default=0)


def _read_bytes(document: Document, path: Path) -> bytes | None:
    try:
        if path.is_dir():
            document.add((), "is a folder", "put a YAML file here instead")
        elif path.exists() and not path.is_file():
            document.add((), "is not a file", "put a YAML file here instead")
        elif (size := path.stat().st_size) > MOST_BYTES:
            what = f"the file has {size:,} bytes, more than {MOST_BYTES:,}"
            document.add((), what, "a kitchen's file is small: is this the right one?")
        else:
            return path.read_bytes()
    except FileNotFoundError:
        document.add((), "the file is missing", "add it; see the example kitchen")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        document.add((), f"cannot be read: {reason}", "check the file and its permissions")
    return None


def _compose(document: Document, text: str) -> Node | None:
    reader = YAML(typ="safe", pure=True)
    reader.allow_duplicate_keys = True  # we tell them ourselves, all of them
    try:
        nodes = list(reader.compose_all(text))
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (0, 0)
        problem = " ".join(str(part) for part in (error.context, error.problem) if part)
        what = f"not valid YAML: {problem}".rstrip()
        document.faults.append(Fault(document.file, line, column, what, _yaml_remedy(what)))
        return None
    except RecursionError:
        document.faults.append(Fault(document.file, 0, 0, *_DEEP))
        return None
    # The parser lets slip other errors on mangled input (assertions, lookups): to the reader they
    # are all the same, a file that is not YAML.
    except (
        YAMLError,
        ValueError,
        TypeError,
        LookupError,
        AttributeError,
        AssertionError,
        NotImplementedError,
    ) as error:
        what = f"not valid YAML: {str(error).splitlines()[0] if str(error) else type(error).__name__}"
        document.faults.append(Fault(document.file, 0, 0, what, _yaml_remedy(what)))
        return None
    if len(nodes) > 1:
        line = nodes[1].start_mark.line + 1
        document.faults.append(
            Fault(document.file, line, 1, "a second document begins here", "keep one document a file")
        )
    if not nodes:
        document.add((), *_EMPTY)
        return None
    first: Node = nodes[0]
    return first


def _yaml_remedy(what: str) -> str:
    if "\\t" in what or "'\t'" in what:
        return "indent with spaces, never with tabs"
    if "mapping values are not allowed" in what:
        return "put text with a colon into quotes, and check the indentation"
    return "check the indentation, the colons and the quotes here"


class _Builder:
    """Turns nodes into plain data and notes where each part stands."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.count = 0
        self.overflowed = False
        self.open: list[Node] = []

    def build(self, node: Node, path: Path_) -> Any:
        self.count += 1
        self.document.places.setdefault(path, (node.start_mark.line + 1, node.start_mark.column + 1))
        if self.count > MOST_NODES:
            if not self.overflowed:
                self.document.add(path, f"the file unfolds to more than {MOST_NODES:,} parts", "use fewer aliases")
            self.overflowed = True
            return None
        if any(node is parent for parent in self.open):
            self.document.add(path, "an alias contains itself", "write the part out")
            return None
        if isinstance(node, ScalarNode):
            return self._scalar(node)
        self.open.append(node)
        try:
            if isinstance(node, SequenceNode):
                return [self.build(child, (*path, index)) for index, child in enumerate(node.value)]
            return self._mapping(node, path) if isinstance(node, MappingNode) else None
        finally:
            self.open.pop()

    def _mapping(self, node: MappingNode, path: Path_) -> dict[str, Any]:
        result: dict[str, Any] = {}
        first_line: dict[str, int] = {}
        for key_node, value_node in node.value:
            line, column = key_node.start_mark.line + 1, key_node.start_mark.column + 1
            if not isinstance(key_node, ScalarNode):
                what, remedy = "a key is not a word", "write `key: value`"
                self.document.faults.append(Fault(self.document.file, line, column, what, remedy))
                continue
            key = str(key_node.value)
            if key in result:
                what = f"{key!r} is written twice, first on line {first_line[key]}"
                self.document.faults.append(Fault(self.document.file, line, column, what, "keep one of the two"))
                continue
            first_line[key] = line
            self.document.places[(*path, key)] = (line, column)
            result[key] = self.build(value_node, (*path, key))
        return result

    @staticmethod
    def _scalar(node: ScalarNode) -> Any:
        """Numbers, yes and no, and nothing are understood; dates and all else stay text."""
        text, kind = str(node.value), str(node.tag).removeprefix(_TAG)
        if kind == "null":
            return None
        if kind == "bool":
            return text in _TRUE
        try:
            if kind == "int":
                return int(text.replace("_", ""), 0)
            if kind == "float":
                return float(text.replace("_", "").replace(".inf", "inf").replace(".nan", "nan"))
        except (ValueError, OverflowError):
            return text
        return text
