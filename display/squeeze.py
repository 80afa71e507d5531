"""Answers made small on their way (RFC 9110, 8.4.1.3): weak Wi-Fi carries a quarter of the bytes."""

import gzip
from typing import Final

from flask import Response, request

SQUEEZED: Final = ("text/", "application/json", "application/javascript", "image/svg+xml")
LEAST_BYTES: Final = 800
"""Less than this fits one packet anyway."""
LEVEL: Final = 5


def squeeze(response: Response) -> Response:
    """The same answer, gzipped, where the browser takes that and the answer is text; other answers as they are."""
    text = (response.mimetype or "").startswith(SQUEEZED)
    if not text or (response.status_code != 200 and response.status_code < 400):
        return response
    response.vary.add("Accept-Encoding")
    if not request.accept_encodings["gzip"] or "Content-Encoding" in response.headers:
        return response
    response.direct_passthrough = False  # files of the style and scripts, which are small
    whole = response.get_data()
    if len(whole) < LEAST_BYTES:
        return response
    response.set_data(gzip.compress(whole, LEVEL, mtime=0))
    response.headers["Content-Encoding"] = "gzip"
    tag, _ = response.get_etag()
    if tag:
        response.set_etag(tag, weak=True)  # the same words in other bytes
    return response
