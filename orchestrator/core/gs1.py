"""GS1 element strings: application identifiers with their data, as a scanner reads them, and check digits.

Source: GS1 General Specifications, section 3 (application identifiers) and 7.9 (check digit).
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from orchestrator.core.quantities import Quantity, Unit

SEPARATOR: Final = "\x1d"
"""What a scanner sends for FNC1 between two elements; the symbol itself holds FNC1."""
FIXED: Final = frozenset({"01", "11", "15", "17", "31"})
"""First two digits of identifiers whose data has a fixed length: no separator follows them. Of those with predefined
length in the General Specifications, the ones used here."""
_LOT: Final = re.compile(r"[!\"%&'()*+,\-./0-9:;<=>?A-Z_a-z]{1,20}")
"""Character set 82, for identifier 10 (N2+X..20)."""


@dataclass(frozen=True, slots=True)
class Element:
    """One identifier and its data."""

    ai: str
    data: str


def check_digit(digits: str) -> int:
    """The check digit that belongs after these digits: weights 3 and 1 from the right, up to the next ten.

    Raises:
        ValueError: Something else than digits.
    """
    if not (digits.isascii() and digits.isdigit()):
        raise ValueError(f"{digits!r} is not made of digits")
    total = sum(int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(digits)))
    return -total % 10


def gtin14(text: str) -> str | None:
    """A GTIN of 8, 12, 13 or 14 digits, written with 14; none where length or check digit is wrong."""
    if len(text) not in (8, 12, 13, 14) or not (text.isascii() and text.isdigit()):
        return None
    return text.zfill(14) if check_digit(text[:-1]) == int(text[-1]) else None


def lot_fits(lot: str) -> bool:
    """Whether a lot code can stand in identifier 10: at most 20 characters of its set."""
    return _LOT.fullmatch(lot) is not None


def day(ai: str, of: date) -> Element:
    """A date, YYMMDD: 11 made, 15 best before, 17 use by."""
    return Element(ai, f"{of:%y%m%d}")


def minute(ai: str, of: datetime) -> Element:
    """A date with its time, YYMMDDHHMM on the clock of the place: 7003 expires. It ends with a separator."""
    return Element(ai, f"{of:%y%m%d%H%M}")


def net(amount: Quantity) -> Element | None:
    """Net weight in kilograms (310n) or net volume in litres (315n), with as many decimals as fit into six digits.

    Returns:
        None for pieces and trays, and for what is too much.
    """
    family = {Unit.KILOGRAM: "310", Unit.LITRE: "315"}.get(amount.unit)
    for decimals in (3, 2, 1, 0):
        number = round(amount.value * 10**decimals)
        if family is not None and 0 < number < 10**6:
            return Element(f"{family}{decimals}", f"{number:06d}")
    return None


def element_string(elements: Iterable[Element]) -> str:
    """All elements one after the other; `SEPARATOR` after each of variable length but the last."""
    told = list(elements)
    parts = []
    for place, one in enumerate(told):
        ends = one.ai[:2] in FIXED or place == len(told) - 1
        parts.append(one.ai + one.data + ("" if ends else SEPARATOR))
    return "".join(parts)


def readable(elements: Iterable[Element]) -> str:
    """For people: identifiers in brackets, which are no part of the symbol."""
    return "".join(f"({one.ai}){one.data}" for one in elements)
