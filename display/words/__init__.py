"""All words that screens show, by key: a folder for each language. Sentences are put together in `sentences`."""

from collections.abc import Callable, Mapping
from typing import Final

from markupsafe import Markup

from display.words.english import ENGLISH
from display.words.spanish import SPANISH

TABLES: Final[Mapping[str, Mapping[str, str]]] = {"en": ENGLISH, "es": SPANISH}

CLIENT_KEYS: Final = [
    "opens_in",
    "opens_between",
    "open_now",
    "shuts_in",
    "at_risk",
    "missed_by",
    "linked",
    "offline",
    "offline_head",
    "offline_says",
    "sending",
    "details",
    "not_sent",
    "not_sent_remedy",
    "late_answer",
    "late_remedy",
    "close",
    "weighed",
    "and_more",
    "until_planned_end",
    "over_planned_end",
    "until_planned_start",
    "over_planned_start",
    "until_tray",
    "over_tray",
    "min",
    "seconds",
    "ago",
    "hour_letter",
    "day_letter",
    "under_a_minute",
    "within_a_minute",
    "am",
    "pm",
    "tap_kept",
    "tap_kept_says",
    "tap_waits",
    "tap_waits_short",
    "tap_drop",
    "tap_read",
    "tap_unanswered",
    "taps_wait",
    "taps_kept",
    "taps_sent",
    "taps_refused",
    "taps_refused_says",
    "not_kept",
    "changed_here",
    "step_back",
    "step_on",
    "lock_opens",
    "sound_on",
    "sound_off",
    "sound_blocked",
    "sound_none",
    "wake_on",
    "wake_none",
    "wake_refused",
    "reload_kept",
    "reload_not_kept",
    "full_fill",
    "full_leave",
    "finish_step",
    "code_link",
    "code_link_remedy",
]
"""Words that scripts need, for what they redraw each second."""


_TABLES: Final = {language: {**TABLES["en"], **table} for language, table in TABLES.items()}


def one_stop(text: str) -> str:
    """A sentence that ends in a time of the afternoon has one stop at its end, not two: ``a las 3:00 p. m.``."""
    return text.replace("\u00a0m..", "\u00a0m.")


class AsPrinted(str):
    """A citation, what is to be typed or was, what is told already: it stays as it is, figures too."""

    __slots__ = ()


class Words:
    """The words of one language; what it lacks is said in English."""

    def __init__(self, language: str = "en", tell: Callable[[str], str] | None = None) -> None:
        """Args:
        language: ISO 639-1.
        tell: Says what files and rules wrote in English, as values of sentences, in that language.
        """
        self.language = language if language in TABLES else "en"
        self._tell = tell
        self._table = _TABLES[self.language]

    def __call__(self, key: str, /, **values: object) -> str:
        """The words for a key, with values put in.

        Raises:
            KeyError: no such words, or a value is missing.
        """
        return one_stop(self._table[key].format(**{name: self._told(value) for name, value in values.items()}))

    def _told(self, value: object) -> object:
        """A text told, also one of an enumeration; citations, markup and numbers as they are."""
        if self._tell is None or not isinstance(value, str) or isinstance(value, AsPrinted | Markup):
            return value
        return self._tell(str(value))

    def tell(self, text: str) -> str:
        """What files, rules or planner say in English, in this language; unchanged where nobody can say it."""
        return text if self._tell is None else self._tell(text)

    def has(self, key: str) -> bool:
        """Whether there are words for it."""
        return key in self._table

    def for_client(self) -> dict[str, str]:
        """Patterns that scripts fill in."""
        return {key: self._table[key] for key in CLIENT_KEYS}
