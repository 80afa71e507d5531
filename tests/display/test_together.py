"""A number and its unit are on one line on every page; what is typed, sent back, run or drawn keeps its spaces.

Sources, from memory: the SI brochure (9th edition), 5.4.3, and ISO 80000-1:2009, 7.1.4: a space stands between number
and unit. That a line does not end there is common practice of typesetting.
"""

import re

import pytest

from display.together import kept_together, text_together
from tests.display.test_desk_pages import client_of, troubled
from tests.display.test_spanish_tour import SILENT, calm, pages, speaking

PARTED = re.compile(r"[0-9] (?:°C|°F|°Bx|kg|g|L|ml|lb|oz|qt|min|h|s|%)(?![\w°])|[0-9][ \u00a0]h [0-9]+[ \u00a0]min")


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        ("kept at 7 °C for 2 h 10 min", "kept at 7\u00a0°C for 2\u00a0h\u00a010\u00a0min"),
        ("40 L does not fit: 4 L, 12 trays", "40\u00a0L does not fit: 4\u00a0L, 12\u00a0trays"),
        ("2 d 4 h; 3 h 18; 6 fl oz", "2\u00a0d\u00a04\u00a0h; 3\u00a0h\u00a018; 6\u00a0fl\u00a0oz"),
        ("−18.5 °C/min, 10 %.", "−18.5\u00a0°C/min, 10\u00a0%."),
        (
            "day 2 of 7, 3 steps, C1 simmers, at 14:30 Lots, 4 Ls",
            "day 2 of 7, 3 steps, C1 simmers, at 14:30 Lots, 4 Ls",
        ),
    ],
)
def test_number_and_unit_stay_together_and_other_words_part(said: str, kept: str) -> None:
    assert text_together(said) == kept
    assert kept_together(f"<p>{said}</p>") == f"<p>{kept}</p>"


@pytest.mark.parametrize(
    "html",
    [
        '<path d="M10 5 L20 5 L 3 4"/>',
        '<input value="2 lb 4 oz"><option value="4 L">',
        "<textarea>quantity: 4 L</textarea>",
        '<script type="application/json">{"says": "4 L"}</script>',
        "<code>hold: 30 min</code>",
    ],
)
def test_what_is_drawn_sent_back_or_run_keeps_its_spaces(html: str) -> None:
    assert kept_together(html) == html


def test_after_what_stays_as_it_is_text_is_kept_together_again() -> None:
    assert kept_together("<code>4 L</code> 4 L <b>1 < 2</b> 3 L") == "<code>4 L</code> 4\u00a0L <b>1 < 2</b> 3\u00a0L"


@pytest.mark.parametrize("language", ["en", "es"])
def test_no_page_parts_a_number_from_its_unit(language: str) -> None:
    parted, looked_at = [], 0
    for gateway in (calm(), troubled()):
        client = client_of(speaking(gateway))
        client.set_cookie("person", "manager")
        client.set_cookie("language", language)
        for address, _ in pages(client):
            html = re.sub(rf"(?s)<({'|'.join(SILENT)}|code|pre)\b.*?</\1>|<[^>]*>", "\n", client.get(address).text)
            looked_at += html.count("\u00a0")
            parted += [(address, found[0]) for found in PARTED.finditer(html)]
    assert parted == []
    assert looked_at > 1000
