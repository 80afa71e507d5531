"""Every page that can be reached, read in Spanish: no text of it is one of the English tables, none is an English
sentence."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from html.parser import HTMLParser

import pytest
from flask.testing import FlaskClient

from display.words import TABLES
from orchestrator.core.models.tongue import Texts, Ways
from orchestrator.kitchen.shipped import shipped_texts
from tests.core.test_buying import example
from tests.display.test_desk_pages import client_of, troubled
from tests.fakes.kitchen_gateway import KitchenGateway

FIRST = (
    "/", "/stations", "/person", "/board", "/alarms", "/alarms/figures", "/probes", "/lots", "/papers", "/recipes",
    "/orders", "/machines", "/crew", "/demand", "/durations", "/desk", "/handover", "/mixes", "/deviations", "/calls",
    "/places", "/stock", "/receiving", "/traces", "/drafts", "/drafts/new", "/orders/new", "/orders/table", "/late",
)  # fmt: skip
MOST_ALIKE = 2
"""Of pages of one kind, such as a task's, so many are read."""
ASKS = re.compile(r"/(why|help|preview|move|change|machine)\b")
"""These pages ask the planner, which is not there: what it says is told in test_telling."""
SILENT = {"script", "style", "textarea"}
READ_ALOUD = ("aria-label", "title", "placeholder", "data-head")
ENGLISH = re.compile(
    r"\b(the|and|of|is|are|was|with|from|this|that|not|for|by|nobody|its|until|since|on|it|at|in|to|after|before|when|"
    r"has|have|be|will|may|must)\b"
)
SOURCES = re.compile(
    r"FDA|CFR|Codex|Directive|Regulation|Goff|ISA|Guelph|ISO|Practice of the trade|IAPWS|round figures|US Letter"
)
"""What is cited stays in the language in which it was printed."""
KEPT = {"English"}
"""The language's own name."""
UNTRANSLATED = {"Pour in the base", "Keep hands out of the barrel"}
"""Texts of a kitchen of the tests that nobody translated: they are shown as written."""


class Read(HTMLParser):
    """Texts and addresses of a page."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.links: set[str] = set()
        self.valueless = 0
        """Options that would send their text: in Spanish the form would send a translation."""
        self._silent = 0
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        self._silent += tag in SILENT
        self.texts += [value for name in READ_ALOUD if (value := told.get(name))]
        self.valueless += tag == "option" and "value" not in told
        address = told.get("href") or ""
        if tag == "a" and address.startswith("/"):
            self.links.add(address.partition("#")[0])

    def handle_endtag(self, tag: str) -> None:
        self._silent -= tag in SILENT

    def handle_data(self, data: str) -> None:
        if not self._silent and data.strip():
            self.texts.append(" ".join(data.split()))


def pages(client: FlaskClient) -> Iterator[tuple[str, Read]]:
    """Each page once, found from link to link."""
    waiting, known, alike = list(FIRST), set(FIRST), dict[str, int]()
    while waiting:
        address = waiting.pop(0)
        kind = re.sub(r"/[^/?]*[A-Z0-9.:-][^/]*", "/X", address.partition("?")[0])
        alike[kind] = alike.get(kind, 0) + 1
        if alike[kind] > MOST_ALIKE:
            continue
        answer = client.get(address, headers={"Accept": "text/html"})
        assert answer.status_code < 500, address
        if answer.status_code != 200 or answer.mimetype != "text/html":
            continue
        read = Read(answer.text)
        yield address, read
        new = sorted(link for link in read.links - known if not ASKS.search(link))
        known.update(new)
        waiting += new


@pytest.fixture(scope="module")
def read() -> dict[str, list[str]]:
    """Texts in Spanish, with the pages that say them."""
    found: dict[str, list[str]] = {}
    for gateway in (calm(), troubled()):
        client = client_of(speaking(gateway))
        client.set_cookie("person", "manager")
        for address, page in pages(client):
            for text in page.texts:
                found.setdefault(text, []).append(address)
            assert not page.valueless, address
    return found


def calm() -> KitchenGateway:
    state = example()
    assert state.kitchen is not None
    start = state.kitchen.planning_start
    return KitchenGateway(replace(state, adopted_at=start), start + timedelta(hours=2))


def speaking(gateway: KitchenGateway) -> KitchenGateway:
    """The same kitchen, with Spanish for whoever chose nothing, and so for its labels."""
    kitchen = gateway.state.kitchen
    assert kitchen is not None
    texts = (Texts(language="es", texts=shipped_texts()),)
    told = kitchen.model_copy(update={"ways": Ways(language="es"), "texts": texts})
    gateway.state = replace(gateway.state, kitchen=told)
    return gateway


def test_the_tour_reads_most_of_the_kitchen(read: dict[str, list[str]]) -> None:
    assert len({address for addresses in read.values() for address in addresses}) > 60


def test_no_text_is_one_of_the_english_tables(read: dict[str, list[str]]) -> None:
    english, spanish = TABLES["en"], set(TABLES["es"].values())
    alone = {text for key, text in english.items() if text != TABLES["es"][key]} - spanish - KEPT
    assert {text: where[0] for text, where in read.items() if text in alone} == {}


def test_no_measured_figure_has_a_decimal_point(read: dict[str, list[str]]) -> None:
    pointed = re.compile(r"\d\.\d+[ \u00a0](?:°|%|kg|g|L|ml|min|s|h)(?!\w)")
    assert {text: where[0] for text, where in read.items() if pointed.search(text) and not SOURCES.search(text)} == {}


def test_no_text_is_an_english_sentence(read: dict[str, list[str]]) -> None:
    said = {text: where[0] for text, where in read.items() if ENGLISH.search(text) and not SOURCES.search(text)}
    assert {text: where for text, where in said.items() if text not in UNTRANSLATED} == {}
