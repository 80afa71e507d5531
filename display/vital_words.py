"""How the service does, in words: for people in their language, for programs in English."""

from datetime import datetime
from typing import Any

from display.formats import Formats
from display.words import Words
from orchestrator.gateway.vitals import Check


def says(check: Check, words: Words, formats: Formats, now: datetime) -> str:
    """How one thing is, as this reader reads it."""

    def written(value: object) -> object:
        if isinstance(value, datetime):
            return formats.when(value, now)
        return formats.trim(value, 1) if isinstance(value, float) else value

    return words(f"vital_{check.reason}", **{name: written(value) for name, value in check.values.items()})


def plain(check: Check, *, reasons: bool) -> dict[str, Any]:
    """The same for programs: with ``says`` in English and instants as RFC 3339.

    Args:
        check: What was looked at.
        reasons: Whether to say how it is; reasons name folders and addresses, which are nobody else's business.
    """
    told: dict[str, Any] = {"name": check.name, "ok": check.ok, "needed": check.needed}
    if reasons:
        values = {
            name: value.isoformat(timespec="seconds") if isinstance(value, datetime) else value
            for name, value in check.values.items()
        }
        told |= {"reason": check.reason, "says": Words("en")(f"vital_{check.reason}", **values)}
    return told
