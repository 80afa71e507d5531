"""The letters of PDFs: every one that words, names and signs of European languages need is written as it is."""

import io
import unicodedata

import pytest
from fontTools.ttLib import TTFont
from pymupdf_fonts import myfont
from reportlab.pdfgen.canvas import Canvas

from display.papers.fonts import BODY, BOLD, X_HEIGHT, printable, register
from display.words import english, spanish
from tests.display.papers.pdf import words

# Letters beyond those of English, by language: Unicode CLDR, exemplar characters and auxiliary ones; from memory.
LETTERS = {
    "Spanish": "áéíóúüñÁÉÍÓÚÜÑ¿¡ªº«»",
    "Catalan": "àçèéíïòóúüŀĿ·",
    "French": "àâæçèéêëîïôœùûüÿŒŸ",
    "German": "äöüßÄÖÜẞ„“",
    "Italian": "àèéìòóù",
    "Portuguese": "ãáâàçéêíõóôú",
    "Dutch": "ëïóéÿĳĲ",
    "Danish and Norwegian": "æøåÆØÅ",
    "Swedish and Finnish": "äöåÄÖÅšž",
    "Icelandic": "áðéíóúýþæöÐÞ",
    "Irish": "áéíóú",
    "Welsh": "âêîôûŵŷẁẃẅŴŶ",
    "Polish": "ąćęłńóśźżĄĆĘŁŃÓŚŹŻ",
    "Czech and Slovak": "áäčďéěíĺľňóôŕřšťúůýžČĎĚĽŇŘŠŤŮŽ",
    "Hungarian": "áéíóöőúüűŐŰ",
    "Romanian": "ăâîșțşţȘȚ",
    "Croatian and Slovene": "čćđšžČĆĐŠŽ",
    "Baltic": "āčēģīķļņšūžąęėįųĄĖĮŲĀĒĢĪĶĻŅŪ",
    "Turkish": "çğıİöşüĞŞ",
    "Maltese": "ċġħżĊĠĦŻ",
    "Greek": "αβγδεζηθικλμνξοπρστυφχψωάέήίόύώϊϋΐΰς",
    "Cyrillic": "абвгдежзийклмнопрстуфхцчшщъыьэюяёєіїґђћџљњ",
    "Signs": "°−×÷±≤≥≈½¼¾⅓⅔·–—‘’“”…€£™®©µ²³‰",
}


@pytest.mark.parametrize("language", LETTERS)
def test_letters_of_a_language_are_written_as_they_are(language: str) -> None:
    letters = LETTERS[language]
    assert printable(letters) == letters
    other = "".join(letter.upper() for letter in letters if len(letter.upper()) == 1)
    assert printable(other) == other


def test_every_letter_of_the_latin_blocks_is_written_as_it_is() -> None:
    """Basic Latin, Latin-1 and Latin Extended-A whole: The Unicode Standard, code charts."""
    letters = [chr(c) for c in (*range(0x20, 0x7F), *range(0xA0, 0x180)) if unicodedata.category(chr(c)) != "Cc"]
    assert [letter for letter in letters if printable(letter) != letter] == []


def test_every_word_on_the_screens_can_be_printed_without_a_question_mark_of_ours() -> None:
    for part in (*english.TABLES, *spanish.TABLES):
        for key, says in part.WORDS.items():
            assert printable(says).count("?") == says.count("?"), key


def test_pdf_holds_the_letters_and_not_others_in_their_place() -> None:
    paper = io.BytesIO()
    page = Canvas(paper)
    register()
    names = "Dvořák Kowalczyk-Żółć Őrsi Søren Gudrún Þór Ștefan Łukasz Müller Peña"
    for line, font in enumerate((BODY, BOLD)):
        page.setFont(font, 12)
        page.drawString(40, 700 - 30 * line, printable(names))
    page.save()
    assert words(paper.getvalue()) == f"{names} {names}"


@pytest.mark.parametrize("name", ["figo", "figbo"])
def test_height_of_a_small_x_is_that_of_the_fonts_own_table(name: str) -> None:
    font = TTFont(io.BytesIO(myfont(name)))
    # The lesser of both weights, so that the least size of print on a label holds for either.
    assert font["OS/2"].sxHeight / font["head"].unitsPerEm >= X_HEIGHT
    assert font["OS/2"].fsType == 0  # may be embedded without any limit
    assert "SIL Open Font License" in font["name"].getDebugName(13)
