"""What files, rules and planner say in English, said as the reader reads: language, clock, degrees and amounts.

Core knows no language. Its sentences stand in the log and in the API in English, as they were said, and are recognised
here by the pattern that made them, also years later. A test walks the sources for every pattern. What is not recognised
stays as it is: a sentence in English is better than none.
"""

import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Final

from display.formats import MINUS, THIN, Formats
from display.typed_words import as_typed, unveiled, veiled
from display.words import AsPrinted, one_stop
from display.words.sentences import OF_FILES, SENTENCES, TERMS

_PLACE: Final = re.compile(r"{(\d+)}")
_SAID_PLACE: Final = re.compile(r"{(\d+)(!?)}")
_CODE_IN: Final = re.compile(r"(`[^`]*`|\"[^\"]*\")")
"""What is to be typed as it stands."""
_THOUSANDS: Final = re.compile(r"(?<![\w.,])[1-9]\d{0,2}(?:,\d{3})+(?![\w,])")
"""Never ``0,926``: that is told already."""
_LETTER: Final = re.compile(r"[^\W\d_]")
_JOINS: Final = ("; ", " and ", " or the ", " or ", ", ")
_CODE: Final = re.compile(r"[A-Z][A-Z0-9-]*[0-9]|[A-Z]+(?:-[A-Z0-9]+)+")
_AMOUNT_OF: Final = re.compile(r"(\d+(?:\.\d+)?) (?:(kg|g|L|ml|trays?) )?([^\W\d].*)")
_THEN: Final = "; then '"
_OF: Final = " of"
"""Between unit and food, where the language has a word for it: ``4 L de``."""
_TO_PAR: Final = ", to par"
"""How `core.demand` names who an order for a counter is for."""
_DEPTH: Final = 5
"""Sentences stand in sentences; deeper than this none of ours does."""
_CELSIUS: Final = re.compile(r"(?<![\w.,])([-\u2212+±]?)(\d+(?:\.\d+)?)[ \u00a0]°C\b(?! \()")
_AMOUNT: Final = re.compile(r"(?<![\w.,])(\d+(?:\.\d+)?)[ \u00a0](kg|g|L|ml)\b")
_DECIMAL: Final = re.compile(r"(?<![\w.,])(?<!\d-)(\d+)\.(\d+)(?=[ \u00a0]?(?:%|°|[a-zA-Z]|$))")
_BELOW_ZERO: Final = re.compile(r"(?<!\w)-(?=\d+(?:[.,]\d+)?[ \u00a0]°)")
_APART: Final = ("asks for ", "off by more than ", "comprobación pide ", "se desvía más de ")
"""After these, degrees are a difference: made larger in Fahrenheit, never shifted."""
_DAYS: Final = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
_MONTHS: Final = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
_DAY: Final = re.compile(rf"\b({'|'.join(_DAYS)})(?: (\d\d?) ({'|'.join(_MONTHS)}))?(?= \d\d:\d\d| \d|$|\b)")
_CLOCK: Final = re.compile(r"(?<![\d:])([01]\d|2[0-3]):([0-5]\d)(?![\d:]|[ \u00a0](?:am|pm|a\.|p\.))")

Recognised = tuple[str, tuple[str, ...]]


class Patterns:
    """The patterns of one language, found by what they begin with."""

    def __init__(self, sentences: Mapping[str, str]) -> None:
        self._whole = {english: said for english, said in sentences.items() if not _PLACE.search(english)}
        made = sorted((e for e in sentences if _PLACE.search(e)), key=_literal, reverse=True)
        self._open: list[tuple[str, re.Pattern[str], str]] = [
            (english[: english.index("{")], _regex(english), sentences[english]) for english in made
        ]

    def recognise(self, text: str) -> Recognised | None:
        """The sentence in this language and the values that go into it, by number; none where no pattern made it."""
        if text in self._whole:
            return self._whole[text], ()
        for head, pattern, said in self._open:
            found = pattern.fullmatch(text) if text.startswith(head) else None
            if found is not None:
                return said, found.groups()
        return None


def _literal(pattern: str) -> int:
    return len(_PLACE.sub("", pattern))


def _regex(pattern: str) -> re.Pattern[str]:
    literals = _PLACE.split(pattern)[::2]  # numbers count up from the left
    made = re.escape(literals[0])
    for i, after in enumerate(literals[1:]):
        # A value right behind another is a piece of a sentence that may be missing: it begins with its own joint.
        piece = i > 0 and not literals[i]
        followed = i + 2 < len(literals) and not after
        made += ("((?:[ ,;:(].*?)?)" if piece else "(.+?)" if followed else "(.*?)") + re.escape(after)
    return re.compile(made, re.DOTALL)


@lru_cache(maxsize=4)
def _patterns(language: str) -> Patterns:
    return Patterns(SENTENCES[language])


@lru_cache(maxsize=8192)
def _recognised(language: str, text: str) -> Recognised | None:
    return _patterns(language).recognise(text)


class Teller:
    """For one kind of reader in one kitchen."""

    def __init__(self, language: str, formats: Formats, unit: str, texts: Mapping[str, str], *, twelve: bool) -> None:
        """Args:
        language: ISO 639-1.
        formats: Of the reader.
        unit: ``C`` or ``F``, of the kitchen.
        texts: The kitchen's own texts by what its files say.
        twelve: Whether the reader's clock has twelve hours.
        """
        self._language, self._f, self._unit, self._texts, self._twelve = language, formats, unit, texts, twelve
        self._known: dict[str, str] = {}
        spoken = language in SENTENCES
        self._terms = TERMS.get(language, {})
        self._say: Callable[[str, int], str] = self._translated if spoken else self._rewritten
        self._plain = not spoken and unit == "C" and not twelve and not formats.us

    def __call__(self, text: str) -> str:
        """The text as this reader reads it, never to be told again; what nobody knows, or a person typed, as it is."""
        if self._plain or not text:
            return text
        if text not in self._known:
            self._known[text] = AsPrinted(unveiled(one_stop("; ".join(self._say(one, 0) for one in veiled(text)))))
        return self._known[text]

    def typed(self, text: str) -> str:
        """Why somebody did something, in their own words."""
        told = as_typed(text)
        return told if isinstance(told, AsPrinted) else self(told)

    def name(self, text: str) -> str:
        """Somebody's name: only a translation of exactly this, as of the example kitchen's customers, changes it.

        One name is core's own: of the order that brings a counter to par.
        """
        counter = text.removesuffix(_TO_PAR)
        if counter == text or text in self._texts or self._language not in SENTENCES:
            return self._texts.get(text, text)
        return SENTENCES[self._language][f"{{0}}{_TO_PAR}"].replace("{0}", self.name(counter))

    def _rewritten(self, text: str, _: int = 0) -> str:
        return self._figures(text)

    def _translated(self, text: str, depth: int = 0) -> str:
        own = self._own(text) or self._for_somebody(text) or self._of_a_lot(text) or self._clauses(text, depth)
        if own is not None:
            return self._figures(own)
        if depth > _DEPTH or not _LETTER.search(text):
            return self._figures(text)
        found = _recognised(self._language, text)
        if found is not None:
            return self._filled(*found, depth)
        code, _, rest = text.partition(" ")
        if rest and _CODE.fullmatch(code):  # as on the board: a lot or an order, then what is done
            return f"{code} {self._translated(rest, depth + 1)}"
        amount = _AMOUNT_OF.fullmatch(text)  # as an order lists its lines
        if amount is not None:
            unit = f" {self._terms.get(amount[2], amount[2])}{self._terms.get(_OF, '')}" if amount[2] else ""
            return f"{self._figures(amount[1] + unit)} {self._translated(amount[3], depth + 1)}"
        return self._joined(text, depth) or self._figures(text)

    def _filled(self, said: str, values: tuple[str, ...], depth: int) -> str:
        """A sentence with its values, each told too but for what stands so in a file."""
        of_files = said in OF_FILES[self._language]

        def value(place: re.Match[str]) -> str:
            given = values[int(place[1])]
            as_it_is = place[2] or (of_files and given[:1] in ("'", '"'))
            return given if as_it_is else self._translated(given, depth + 1)

        return self._figures(_SAID_PLACE.sub(value, said))

    def _clauses(self, text: str, depth: int) -> str | None:
        """Why an order is late, as the planner says it: each clause is a sentence of its own."""
        first, then, rest = text.partition(_THEN)
        if not then or depth > _DEPTH:
            return None
        return f"{self._translated(first, depth + 1)}; {self._translated(then[2:] + rest, depth + 1)}"

    def _for_somebody(self, text: str) -> str | None:
        """A step for an order: the customer's name stays, unless a translation is of exactly this."""
        step, joint, customer = text.partition(" for ")
        own = self._own(step) if joint else None
        return None if own is None else f"{own}{self._terms[joint]}{self.name(customer)}"

    def _of_a_lot(self, text: str) -> str | None:
        """A step behind the code of its lot or order, as sheets list what something is for."""
        code, joint, step = text.partition(": ")
        own = (self._own(step) or self._for_somebody(step)) if joint and _CODE.fullmatch(code) else None
        return None if own is None else f"{code}: {own}"

    def _own(self, text: str) -> str | None:
        """The kitchen's own translation, or a term of the trade; with a capital where the original has one."""
        for known in (self._texts, self._terms):
            if text in known:
                return known[text]
        lower = text[:1].lower() + text[1:]
        upper = text[:1].upper() + text[1:]
        for known in (self._texts, self._terms):
            for form, change in ((lower, str.upper), (upper, str.lower)):
                if form != text and form in known:
                    said = known[form]
                    return change(said[:1]) + said[1:]
        return None

    def _joined(self, text: str, depth: int) -> str:
        """A list of what is known one by one; empty where nothing of it is."""
        for join in _JOINS:
            parts = text.split(join)
            if len(parts) < 2:
                continue
            told = [self._translated(part, depth + 1) for part in parts]
            if told != parts:
                return self._terms.get(join, join).join(told)
        return ""

    def _figures(self, text: str) -> str:
        """Instants, degrees and amounts as this reader writes them; what is quoted to be typed stays."""
        if not any(char.isdigit() for char in text):
            return text
        if "`" in text or '"' in text:
            parts = _CODE_IN.split(text)
            return "".join(part if i % 2 else self._figured(part) for i, part in enumerate(parts))
        return self._figured(text)

    def _figured(self, text: str) -> str:
        text = _CELSIUS.sub(self._degrees, text) if self._unit == "F" else text
        text = _AMOUNT.sub(self._amount, text) if self._f.us else text
        if self._f.written(".") != ".":
            text = _DAY.sub(self._day, text)
            text = _THOUSANDS.sub(lambda found: self._f.thousands(int(found[0].replace(",", ""))), text)
            text = _DECIMAL.sub(lambda found: self._f.written(found[0]), text)
            text = _BELOW_ZERO.sub(MINUS, text)
        return _CLOCK.sub(self._clock, text) if self._twelve else text

    def _degrees(self, found: re.Match[str]) -> str:
        sign, figure = found[1], found[2]
        celsius = float(figure) * (-1.0 if sign in ("-", MINUS) else 1.0)
        apart = found.string[: found.start()].endswith(_APART)
        if sign in ("+", "±") or apart:  # a difference, not a temperature
            sign = MINUS if sign == "-" else sign
            celsius = abs(celsius)
            return f"{sign}{self._f.difference(celsius)}"
        return self._f.limit(celsius)

    def _amount(self, found: re.Match[str]) -> str:
        return self._f.in_us(float(found[1]), found[2])

    def _day(self, found: re.Match[str]) -> str:
        weekday = self._f.weekdays[_DAYS.index(found[1])]
        return f"{weekday} {found[2]} {self._f.months[_MONTHS.index(found[3])]}" if found[2] else weekday

    def _clock(self, found: re.Match[str]) -> str:
        hour = int(found[1])
        return f"{hour % 12 or 12}:{found[2]}{THIN}{self._f.half(hour)}"
