"""Pieces compressed one by one make one gzip member, whatever their order; read by Python's own gzip (zlib)."""

import gzip
import random

from hypothesis import given
from hypothesis import strategies as st

from display.pieces import Packed, Piece, Plain, message


@given(st.lists(st.text(max_size=400), max_size=8), st.randoms(use_true_random=False))
def test_packed_pieces_in_any_order_are_one_gzip_member(texts: list[str], chance: random.Random) -> None:
    pieces = [Piece(text) for text in texts]
    for _ in range(2):  # the same pieces in another stream, in another order
        chance.shuffle(pieces)
        written = Packed()
        sent = b"".join(written.write([piece]) for piece in pieces) + written.end()
        assert gzip.decompress(sent) == Plain().write(pieces)


def test_piece_is_compressed_once() -> None:
    piece = Piece("a" * 1000)
    assert piece.packed is piece.packed
    assert len(piece.packed) < 30


def test_message_is_an_event_with_its_data_on_one_line() -> None:
    """Source: HTML, server-sent events: a blank line ends an event, and JSON escapes line ends."""
    assert message("panel", {"html": "a\nb"}, number=7).text == 'id: 7\nevent: panel\ndata: {"html": "a\\nb"}\n\n'
