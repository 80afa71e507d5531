"""Changes by hand on their way from a form to a preview and on: all of them stand in the page's address."""

import base64
import binascii
import json
import zlib
from collections.abc import Sequence
from typing import Any, Final
from urllib.parse import urlencode

from pydantic import TypeAdapter, ValidationError

from orchestrator.core.kitchen_commands import Basis
from orchestrator.core.models.change import Change

_CHANGES: Final[TypeAdapter[tuple[Change, ...]]] = TypeAdapter(tuple[Change, ...])
_LARGEST: Final = 256 * 1024
"""Bytes of JSON that an address may unfold to."""
MOST: Final = 300
"""Changes at once, as `ChangeKitchen` takes them."""


def packed(changes: Sequence[Change]) -> str:
    """Changes as a short text for an address: nothing is kept here, so that nothing is lost by a restart."""
    body = json.dumps([change.model_dump(mode="json", exclude_defaults=False) for change in changes])
    return base64.urlsafe_b64encode(zlib.compress(body.encode(), 9)).decode().rstrip("=")


def unpacked(text: str) -> tuple[Change, ...]:
    """The changes again; none where the text is damaged or says too much."""
    try:
        unfolding = zlib.decompressobj()
        body = unfolding.decompress(base64.urlsafe_b64decode(text + "=" * (-len(text) % 4)), _LARGEST)
        changes = _CHANGES.validate_json(body)
    except (binascii.Error, zlib.error, ValidationError, ValueError):
        return ()
    return changes if len(changes) <= MOST else ()


def address(changes: Sequence[Change], back: str = "/orders") -> dict[str, Any]:
    """The query of the page that shows what these changes would come to."""
    return {"c": packed(changes), "back": back}


TABLE: Final = "so_far"
"""Field of a form that was opened from the planning table: the changes collected there."""


def onward(changes: Sequence[Change], back: str, so_far: str | None) -> str:
    """Where a form leads with the changes that it made: to their preview, or back to the planning table with them.

    Args:
        changes: What the form made.
        back: Where the preview leads back to.
        so_far: What the table has collected, packed; none: the form was not opened from there.
    """
    if so_far is None:
        return f"/changes?{urlencode(address(changes, back))}"
    return f"/planning?{urlencode({'c': packed((*unpacked(so_far), *changes))})}#so-far"


def basis_text(basis: Basis) -> str:
    """For a hidden field."""
    return f"{basis.revision}.{basis.changes}"


def basis_of(text: str) -> Basis | None:
    """What a hidden field says; none where it says nothing that could be."""
    revision, _, changes = text.partition(".")
    return Basis(revision=int(revision), changes=int(changes)) if revision.isdigit() and changes.isdigit() else None
