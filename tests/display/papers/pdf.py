"""PDFs as people and scanners see them: rendered, read, and with their codes read back."""

from dataclasses import dataclass

import pypdfium2
import zxingcpp
from PIL.Image import Image

MM = 72 / 25.4


@dataclass(frozen=True)
class Read:
    """A code that was read from a page."""

    text: str
    """What a scanner sends, without the symbology identifier; separators as such."""
    symbology: str
    left_mm: float
    top_mm: float


def pictures(pdf: bytes, dpi: int = 300) -> list[Image]:
    """Each page as a picture."""
    document = pypdfium2.PdfDocument(pdf)
    return [page.render(scale=dpi / 72).to_pil().convert("L") for page in document]


def words(pdf: bytes) -> str:
    """All text of all pages, with single spaces."""
    document = pypdfium2.PdfDocument(pdf)
    found = [page.get_textpage().get_text_range() for page in document]
    return " ".join(" ".join(found).replace("\xa0", " ").split())


def sizes_mm(pdf: bytes) -> list[tuple[float, float]]:
    """Width and height of each page."""
    document = pypdfium2.PdfDocument(pdf)
    return [(round(page.get_width() / MM, 1), round(page.get_height() / MM, 1)) for page in document]


def codes(pdf: bytes, dpi: int = 300) -> list[list[Read]]:
    """The codes of each page, from the top left on, read by another library than the one that wrote them."""
    found = []
    for picture in pictures(pdf, dpi):
        here = [
            Read(
                one.bytes.decode("ascii"),
                one.symbology_identifier,
                one.position.top_left.x / dpi * 25.4,
                one.position.top_left.y / dpi * 25.4,
            )
            for one in zxingcpp.read_barcodes(picture)
        ]
        found.append(sorted(here, key=lambda one: (round(one.top_mm), one.left_mm)))
    return found
