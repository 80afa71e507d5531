"""A kitchen's own rescue cards defer to limits that there are."""

from orchestrator.kitchen.draft import Draft
from orchestrator.kitchen.faults import one_of


def check_rescue(draft: Draft) -> None:
    """Every limit that a card names is known; none is one that cannot be chosen."""
    known = draft.known_limits()
    for entry in draft.cards:
        for index, limit in enumerate(entry.value.limits if entry.value is not None else ()):
            if limit not in known:
                entry.add(("limits", index), f"there is no limit {limit!r}", one_of(known, limit))
