"""Pieces of event streams: each is written, and compressed, once for all streams that are sent it."""

import json
import zlib
from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import Final

LEVEL: Final = 6
_RAW: Final = -zlib.MAX_WBITS
_HEAD: Final = bytes((0x1F, 0x8B, 8, 0, 0, 0, 0, 0, 0, 255))
"""Of a gzip member: compressed by deflate, no name, no time, by an unknown system (RFC 1952, 2.3)."""
_LAST_BLOCK: Final = b"\x03\x00"
"""Deflate's shortest final block (RFC 1951, 3.2.6): fixed codes, at once their end."""


class Piece:
    """One or more messages of a stream."""

    def __init__(self, text: str, html: str = "") -> None:
        """Args:
        text: As it goes over the wire.
        html: The panel that it carries, by which it is known whether anything is new.
        """
        self.html = html
        self.data = text.encode()

    @property
    def text(self) -> str:
        """As it goes over the wire."""
        return self.data.decode()

    @cached_property
    def packed(self) -> bytes:
        """Blocks of deflate that look back at nothing before them, so that they fit behind any others.

        A full flush ends them at a whole byte and leaves the stream open.
        """
        packer = zlib.compressobj(LEVEL, zlib.DEFLATED, _RAW)
        return packer.compress(self.data) + packer.flush(zlib.Z_FULL_FLUSH)


def message(kind: str, data: Mapping[str, object], number: object = None, html: str = "") -> Piece:
    """One event. ``number`` becomes its id, by which a client that comes back says how far it had heard."""
    numbered = "" if number is None else f"id: {number}\n"
    return Piece(f"{numbered}event: {kind}\ndata: {json.dumps(data)}\n\n", html)


class Plain:
    """How a stream is written for a client that takes no gzip."""

    encoding: bytes = b""

    def write(self, pieces: Iterable[Piece]) -> bytes:
        """What is sent for some pieces."""
        return b"".join(piece.data for piece in pieces)

    def end(self) -> bytes:
        """What is sent last."""
        return b""


class Packed(Plain):
    """As one member of gzip (RFC 1952) that is put together from pieces compressed before.

    So fifty screens that show the same cost one compression; only length and checksum are each stream's own.
    """

    encoding = b"gzip"

    def __init__(self) -> None:
        self._checksum = 0
        self._length = 0
        self._begun = False

    def write(self, pieces: Iterable[Piece]) -> bytes:
        """What is sent for some pieces."""
        parts = [] if self._begun else [_HEAD]
        self._begun = True
        for piece in pieces:
            self._checksum = zlib.crc32(piece.data, self._checksum)
            self._length += len(piece.data)
            parts.append(piece.packed)
        return b"".join(parts)

    def end(self) -> bytes:
        """The last block, the checksum and the length (RFC 1952, 2.3.1)."""
        tail = self._checksum.to_bytes(4, "little") + (self._length & 0xFFFFFFFF).to_bytes(4, "little")
        return self.write(()) + _LAST_BLOCK + tail
