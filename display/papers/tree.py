"""A page's HTML as a small tree, to be set in type."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Final

_VOID: Final = frozenset({"meta", "link", "input", "br", "hr", "img"})


@dataclass
class Node:
    """An element with its classes and what is in it."""

    tag: str
    attributes: dict[str, str] = field(default_factory=dict)
    children: "list[Node | str]" = field(default_factory=list)

    @property
    def classes(self) -> frozenset[str]:
        """Its classes."""
        return frozenset(self.attributes.get("class", "").split())

    def nodes(self) -> "Iterator[Node]":
        """Its children that are elements."""
        return (child for child in self.children if isinstance(child, Node))

    def every(self, tag: str) -> "Iterator[Node]":
        """All elements of that tag below it."""
        for child in self.nodes():
            if child.tag == tag:
                yield child
            yield from child.every(tag)

    def text(self) -> str:
        """All text below it, with single spaces; those that must not be broken stay what they are."""
        parts = (child if isinstance(child, str) else child.text() for child in self.children)
        return " ".join(re.findall(r"[^ \t\r\n]+", " ".join(parts)))


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.root = Node("root")
        self._open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        node = Node(tag, {key: value or "" for key, value in attrs})
        self._open[-1].children.append(node)
        if tag not in _VOID:
            self._open.append(node)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._open[-1].children.append(Node(tag, {key: value or "" for key, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        if tag in [node.tag for node in self._open[1:]]:
            while self._open.pop().tag != tag:
                pass

    def handle_data(self, data: str) -> None:
        self._open[-1].children.append(data)


def main_of(html: str) -> Node:
    """The ``<main>`` of a page.

    Raises:
        ValueError: It has none.
    """
    reader = _Reader()
    reader.feed(html)
    found = next(reader.root.every("main"), None)
    if found is None:
        raise ValueError("the page has no <main>")
    return found
