"""Chances in words: the word first, then how many times in ten; always rounded down, never made to look better."""

from display.words import Words
from orchestrator.core.models.risk import CERTAIN

_VERY_LIKELY, _LIKELY, _EVEN, _UNLIKELY = 0.95, 0.7, 0.4, 0.1
UNLIKELY = _EVEN
"""Below this a promise is in trouble, whatever the plan says."""
_HAIR = 1e-9


def odds(words: Words, chance: float) -> str:
    """How likely, in words: 'likely, 9 in 10'.

    Args:
        words: Of the reader's language.
        chance: Between 0 and 1.
    """
    tenths = int(chance * 10 + _HAIR)
    for least, key in (
        (CERTAIN, "chance_certain"),
        (_VERY_LIKELY, "chance_very_likely"),
        (_LIKELY, "chance_likely"),
        (_EVEN, "chance_even"),
        (_UNLIKELY, "chance_unlikely"),
    ):
        if chance >= least - _HAIR:
            return words(key, count=tenths)
    return words("chance_hardly")
