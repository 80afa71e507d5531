"""How instants, lengths of time, temperatures and amounts are written. Local time exists only here."""

from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from display.words import Words
from orchestrator.core.quantities import Quantity, Unit

MINUS: Final = "\u2212"
THIN: Final = "\u00a0"
"""Kept between number and unit, so that they stay on one line."""


def _number(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)


def _trim(value: float, digits: int) -> str:
    text = _number(value, digits)
    return text.rstrip("0").rstrip(".") if "." in text else text


class Formats:
    """For one kitchen (zone, temperature unit) and one kind of reader."""

    def __init__(self, zone: str, unit: str, words: Words, *, twelve_hours: bool = False) -> None:
        self._zone = ZoneInfo(zone)
        self._unit = unit
        self._w = words
        self._twelve = twelve_hours

    def local(self, instant: datetime) -> datetime:
        """On the kitchen's clock."""
        return instant.astimezone(self._zone)

    def clock(self, instant: datetime) -> str:
        """``09:42``, or ``9:42 am``."""
        there = self.local(instant)
        if not self._twelve:
            return there.strftime("%H:%M")
        return f"{there.hour % 12 or 12}:{there.minute:02d}{THIN}{'am' if there.hour < 12 else 'pm'}"

    def day(self, instant: datetime) -> str:
        """``Sat 28 Nov``."""
        there = self.local(instant)
        return f"{self._weekday(there)} {there.day} {self._w('months').split()[there.month - 1]}"

    def when(self, instant: datetime, now: datetime) -> str:
        """The time alone on the same day, ``Fri 17:30`` within six days, else with the date."""
        there, here = self.local(instant), self.local(now)
        days = (there.date() - here.date()).days
        if days == 0:
            return self.clock(instant)
        if -6 <= days <= 6:
            return f"{self._weekday(there)} {self.clock(instant)}"
        return f"{self.day(instant)} {self.clock(instant)}"

    def when_short(self, instant: datetime, now: datetime) -> str:
        """The same, but only ``24 Dec`` a week or more away."""
        there, here = self.local(instant), self.local(now)
        if abs((there.date() - here.date()).days) <= 6:
            return self.when(instant, now)
        return f"{there.day} {self._w('months').split()[there.month - 1]}"

    def instant(self, instant: datetime) -> str:
        """RFC 3339 in UTC, for scripts and ``datetime`` attributes."""
        return instant.isoformat(timespec="milliseconds").replace("+00:00", "Z")

    def _weekday(self, there: datetime) -> str:
        return self._w("weekdays").split()[there.weekday()]

    def length(self, minutes: float) -> str:
        """``25 min``, ``3 h 18``, ``2 d 4 h``; always at least zero, rounded down to whole minutes."""
        whole = int(abs(minutes))
        hour, day = self._w("hour_letter"), self._w("day_letter")
        if whole < 60:
            return f"{whole}{THIN}{self._w('min')}"
        if whole < 48 * 60:
            rest = f"{THIN}{whole % 60:02d}" if whole % 60 else ""
            return f"{whole // 60}{THIN}{hour}{rest}"
        rest = f"{THIN}{whole % 1440 // 60}{THIN}{hour}" if whole % 1440 // 60 else ""
        return f"{whole // 1440}{THIN}{day}{rest}"

    def between(self, start: datetime, end: datetime) -> str:
        """The length from one instant to another, whichever comes first."""
        return self.length((end - start).total_seconds() / 60)

    @property
    def unit(self) -> str:
        """``°C`` or ``°F``, the same for the whole kitchen."""
        return f"°{self._unit}"

    def degrees(self, celsius: float, digits: int = 1) -> str:
        """The number alone, in the kitchen's unit, with a true minus: ``−18.2``."""
        return _number(celsius if self._unit == "C" else celsius * 1.8 + 32.0, digits)

    def temperature(self, celsius: float | None, digits: int = 1) -> str:
        """``−18.2 °C``; words when there is no reading."""
        if celsius is None:
            return self._w("no_reading")
        return f"{self.degrees(celsius, digits)}{THIN}{self.unit}"

    def limit(self, celsius: float) -> str:
        """A limit or target as written in a recipe: ``82 °C``, ``−5.5 °C``."""
        value = celsius if self._unit == "C" else celsius * 1.8 + 32.0
        return f"{_trim(value, 1)}{THIN}{self.unit}"

    def rate(self, celsius_per_min: float) -> str:
        """Size of a slope, without its sign: ``1.6°``."""
        return f"{_number(abs(celsius_per_min) * (1.0 if self._unit == 'C' else 1.8), 1)}°"

    def difference(self, celsius: float) -> str:
        """How far two temperatures are apart, ``−1.2 °C``: in Fahrenheit only made larger, never shifted."""
        return f"{_number(celsius * (1.0 if self._unit == 'C' else 1.8), 1)}{THIN}{self.unit}"

    def celsius(self, entered: float) -> float:
        """What was typed in the kitchen's unit, in degrees Celsius."""
        return entered if self._unit == "C" else (entered - 32.0) / 1.8

    def amount(self, quantity: Quantity) -> str:
        """``9 g``, ``1.25 kg``, ``250 ml``, ``5.2 L``, ``36``, ``6 trays``."""
        value = quantity.value
        if quantity.unit is Unit.KILOGRAM:
            return (
                f"{_trim(value * 1000, 1 if value < 0.1 else 0)}{THIN}g" if value < 1 else f"{_trim(value, 2)}{THIN}kg"
            )
        if quantity.unit is Unit.LITRE:
            return f"{_trim(value * 1000, 0)}{THIN}ml" if 0 < value < 1 else f"{_trim(value, 1)}{THIN}L"
        if quantity.unit is Unit.TRAY:
            return f"{_trim(value, 1)}{THIN}{self._w('tray' if value == 1 else 'trays')}"
        return _trim(value, 1)

    def amount_of(self, value: float, unit: Unit) -> str:
        """The same, of a number and its unit; what is less than nothing has a minus before it."""
        return ("\u2212" if value < -1e-9 else "") + self.amount(Quantity(value=abs(value), unit=unit))

    def span(self, quantity: Quantity, filled: float) -> tuple[str, str]:
        """Fill and capacity, the unit written once: ``16``, ``24 L``."""
        unit = {Unit.TRAY: self._w("trays"), Unit.EACH: ""}.get(quantity.unit, quantity.unit.value)
        return _trim(filled, 1), f"{_trim(quantity.value, 1)}{THIN}{unit}".strip()

    def litres(self, value: float) -> str:
        """``3 L``."""
        return f"{_trim(value, 1)}{THIN}L"
