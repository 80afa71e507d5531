"""The chain of the log: each record's hash covers the record and the hash before it, so no record changes unseen."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import sha256
from typing import Final, NamedTuple

START: Final = ""
"""Stands before the first record."""


class Stored(NamedTuple):
    """One record as it is stored."""

    seq: int
    recorded_at_us: int
    command_id: str
    kind: str
    body: str


class Link(NamedTuple):
    """One record with its hash."""

    stored: Stored
    chain: str


@dataclass(frozen=True, slots=True)
class Head:
    """How far a log goes: written down elsewhere, it shows later whether records were cut off the end."""

    seq: int = 0
    chain: str = START

    def __str__(self) -> str:
        """``1234:ab12…``, as `Head.of` reads it."""
        return f"{self.seq}:{self.chain}"

    @classmethod
    def of(cls, written: str) -> "Head":
        """The inverse of ``str``. Raises: ValueError when it is none."""
        seq, _, chain = written.strip().partition(":")
        if not seq.isdecimal() or len(chain) != 64 or set(chain) - set("0123456789abcdef"):
            raise ValueError(f"{written!r} is no head of a log: write its number, a colon and 64 hexadecimal digits")
        return cls(int(seq), chain)


@dataclass(frozen=True, slots=True)
class Break:
    """The first place at which the chain does not hold."""

    seq: int
    what: str
    """``missing``, ``changed``, ``cut_off`` or ``other_log``."""


def link(before: str, stored: Stored) -> str:
    """The hash of a record: SHA-256, as 64 hexadecimal digits, over a JSON array of the hash before it and its fields.

    Source: FIPS 180-4 (SHA-256); a JSON array (RFC 8259) because it parts the fields in one way only.
    """
    told = json.dumps([before, *stored], ensure_ascii=True, separators=(",", ":"))
    return sha256(told.encode("ascii")).hexdigest()


def verify(links: Iterable[Link], written: Head | None = None) -> tuple[Head, Break | None]:
    """Follow a chain from its first record.

    Args:
        links: In the order of seq.
        written: A head that was noted earlier; it must be in the chain.

    Returns:
        The last head up to which the chain holds, and where it breaks; None if it does not.
    """
    head = Head()
    for stored, chain in links:
        if stored.seq != head.seq + 1:
            return head, Break(head.seq + 1, "missing")
        if chain != link(head.chain, stored):
            return head, Break(stored.seq, "changed")
        head = Head(stored.seq, chain)
        if written is not None and head.seq == written.seq and head.chain != written.chain:
            return head, Break(stored.seq, "other_log")
    if written is not None and written.seq > head.seq:
        return head, Break(head.seq + 1, "cut_off")
    return head, None
