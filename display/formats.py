"""How instants, lengths of time, temperatures and amounts are written. Local time exists only here."""

from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from display.words import Words
from orchestrator.core.measures import converted, in_us
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.typed_amounts import US_UNIT, typed_unit

MINUS: Final = "\u2212"
THIN: Final = "\u00a0"
"""Kept between number and unit, so that they stay on one line."""
_MEASURED: Final = {"weight_kg": Unit.KILOGRAM, "volume_l": Unit.LITRE}
_NAMED_BY_WEEKDAY: Final = range(-1, 6)
"""Days from today on which a weekday alone says which day is meant."""


class Formats:
    """For one kitchen (zone, temperature unit) and one kind of reader."""

    def __init__(self, zone: str, unit: str, words: Words, *, twelve_hours: bool = False, us: bool = False) -> None:
        self._zone = ZoneInfo(zone)
        self._unit = unit
        self._w = words
        self._twelve = twelve_hours
        self.us = us
        """Whether weights and volumes are written in US measures."""

    def number(self, value: float, digits: int) -> str:
        """With a true minus and the decimal mark of the language: ``−5,50``."""
        text = f"{value:.{digits}f}"
        if float(text) == 0:
            text = text.lstrip("-")
        return self.written(text)

    def written(self, text: str) -> str:
        """A number as Python writes it, with a true minus and the decimal mark of the language."""
        return text.replace("-", MINUS).replace(".", self._w("decimal"))

    def thousands(self, count: int) -> str:
        """A large whole number in groups: ``2,000``, ``12,000``; with a decimal comma ``2000``, ``12\u00a0000``.

        Source: Ortografía de la lengua española (RAE, 2010), VIII: by threes with a space, none in four figures.
        """
        if self.written(".") == ".":
            return f"{count:,}"
        return f"{count:,}".replace(",", THIN) if count > 9999 else str(count)

    def trim(self, value: float, digits: int) -> str:
        """The same without zeros at its end: ``5,5``."""
        text = self.number(value, digits)
        mark = self._w("decimal")
        return text.rstrip("0").rstrip(mark) if mark in text else text

    def figures(self, value: float) -> str:
        """Three figures that count, never in powers: ``0.333``, ``12.5``, ``3200``."""
        text = f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"
        return self.written(text.rstrip("0").rstrip(".") if "." in text else text)

    def metric(self) -> "Formats":
        """The same with metric amounts, for a page on which they were asked for."""
        return Formats(self._zone.key, self._unit, self._w, twelve_hours=self._twelve) if self.us else self

    def local(self, instant: datetime) -> datetime:
        """On the kitchen's clock."""
        return instant.astimezone(self._zone)

    def clock(self, instant: datetime) -> str:
        """``09:42``, or ``9:42 am``."""
        there = self.local(instant)
        if not self._twelve:
            return there.strftime("%H:%M")
        return f"{there.hour % 12 or 12}:{there.minute:02d}{THIN}{self.half(there.hour)}"

    def hour(self, hour: int) -> str:
        """A full hour of the day: ``06:00``, or ``6:00 am``."""
        return f"{hour % 12 or 12}:00{THIN}{self.half(hour)}" if self._twelve else f"{hour:02d}:00"

    def half(self, hour: int) -> str:
        """``am`` before noon, ``pm`` from then on."""
        return self._w("am" if hour < 12 else "pm")

    @property
    def weekdays(self) -> list[str]:
        """From Monday on."""
        return self._w("weekdays").split()

    @property
    def months(self) -> list[str]:
        """From January on."""
        return self._w("months").split()

    def day(self, instant: datetime) -> str:
        """``Sat 28 Nov``."""
        there = self.local(instant)
        return f"{self._weekday(there)} {there.day} {self.months[there.month - 1]}"

    def when(self, instant: datetime, now: datetime) -> str:
        """The time alone on the same day, ``Fri 17:30`` from yesterday to five days ahead, else with the date.

        So each weekday alone names one day: a use-by that reads ``Wed`` is never next week's, nor last week's.
        """
        days = self._days_ahead(instant, now)
        if days == 0:
            return self.clock(instant)
        if days in _NAMED_BY_WEEKDAY:
            return f"{self._weekday(self.local(instant))} {self.clock(instant)}"
        return f"{self.day(instant)} {self.clock(instant)}"

    def when_short(self, instant: datetime, now: datetime) -> str:
        """The same, but only ``24 Dec`` where the date is named."""
        if self._days_ahead(instant, now) in _NAMED_BY_WEEKDAY:
            return self.when(instant, now)
        there = self.local(instant)
        return f"{there.day} {self.months[there.month - 1]}"

    def _days_ahead(self, instant: datetime, now: datetime) -> int:
        return (self.local(instant).date() - self.local(now).date()).days

    def instant(self, instant: datetime) -> str:
        """RFC 3339 in UTC, for scripts and ``datetime`` attributes."""
        return instant.isoformat(timespec="milliseconds").replace("+00:00", "Z")

    def _weekday(self, there: datetime) -> str:
        return self.weekdays[there.weekday()]

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

    def brief_length(self, seconds: float) -> str:
        """A length without its sign; in seconds where it is under two minutes: ``40 s``."""
        whole = round(abs(seconds))
        return f"{whole}{THIN}s" if whole < 120 else self.length(whole / 60)

    def between(self, start: datetime, end: datetime) -> str:
        """The length from one instant to another, whichever comes first."""
        return self.length((end - start).total_seconds() / 60)

    @property
    def unit(self) -> str:
        """``°C`` or ``°F``, the same for the whole kitchen."""
        return f"°{self._unit}"

    def degrees(self, celsius: float, digits: int = 1) -> str:
        """The number alone, in the kitchen's unit, with a true minus: ``−18.2``."""
        return self.number(celsius if self._unit == "C" else celsius * 1.8 + 32.0, digits)

    def temperature(self, celsius: float | None, digits: int = 1) -> str:
        """``−18.2 °C``; words when there is no reading."""
        if celsius is None:
            return self._w("no_reading")
        return f"{self.degrees(celsius, digits)}{THIN}{self.unit}"

    def limit(self, celsius: float) -> str:
        """A limit or target as written in a recipe: ``82 °C``, ``−5.5 °C``."""
        value = celsius if self._unit == "C" else celsius * 1.8 + 32.0
        return f"{self.trim(value, 1)}{THIN}{self.unit}"

    def rate(self, celsius_per_min: float) -> str:
        """Size of a slope, without its sign: ``1.6°``."""
        return f"{self.number(abs(celsius_per_min) * (1.0 if self._unit == 'C' else 1.8), 1)}°"

    def difference(self, celsius: float) -> str:
        """How far two temperatures are apart, ``−1.2 °C``: in Fahrenheit only made larger, never shifted."""
        return f"{self.number(celsius * (1.0 if self._unit == 'C' else 1.8), 1)}{THIN}{self.unit}"

    def celsius(self, entered: float) -> float:
        """What was typed in the kitchen's unit, in degrees Celsius."""
        return entered if self._unit == "C" else (entered - 32.0) / 1.8

    def amount(self, quantity: Quantity) -> str:
        """``9 g``, ``1.25 kg``, ``250 ml``, ``5.2 L``, ``36``, ``6 trays``."""
        value = quantity.value
        if self.us and quantity.unit in (Unit.KILOGRAM, Unit.LITRE):
            return self.in_us(value, quantity.unit)
        if quantity.unit is Unit.KILOGRAM:
            if value >= 1:
                return f"{self.trim(value, 2)}{THIN}kg"
            return f"{self.trim(value * 1000, 1 if value < 0.1 else 0)}{THIN}g"
        if quantity.unit is Unit.LITRE:
            return f"{self.trim(value * 1000, 0)}{THIN}ml" if 0 < value < 1 else f"{self.trim(value, 1)}{THIN}L"
        if quantity.unit is Unit.TRAY:
            return f"{self.trim(value, 1)}{THIN}{self._w('tray' if value == 1 else 'trays')}"
        return self.trim(value, 1)

    def alone(self, quantity: Quantity) -> str:
        """The same where nothing behind it says of what: ``36 pieces``."""
        told = self.amount(quantity)
        if quantity.unit is not Unit.EACH:
            return told
        return f"{told}{THIN}{self._w('mix_unit_each' if quantity.value == 1 else 'unit_each')}"

    def alone_of(self, value: float, unit: Unit) -> str:
        """The same, of a number and its unit."""
        return ("\u2212" if value < -1e-9 else "") + self.alone(Quantity(value=abs(value), unit=unit))

    def in_us(self, value: float, unit: str) -> str:
        """A metric weight or volume in US measures, weight to weight and volume to volume: ``1.21 lb``."""
        return self._us(*in_us(value, unit))

    def _us(self, value: float, unit: str) -> str:
        """Cups by word, as one or as many; other units by their signs."""
        told = self.figures(value)
        if unit == "cup":
            unit = self._w("us_cup" if told == "1" else "us_cups")
        return f"{told}{THIN}{unit.replace(' ', THIN)}"

    def amount_of(self, value: float, unit: Unit) -> str:
        """The same, of a number and its unit; what is less than nothing has a minus before it."""
        return ("\u2212" if value < -1e-9 else "") + self.amount(Quantity(value=abs(value), unit=unit))

    def span(self, quantity: Quantity, filled: float) -> tuple[str, str]:
        """Fill and capacity, the unit written once: ``16``, ``24 L``."""
        unit = {Unit.TRAY: self._w("trays"), Unit.EACH: ""}.get(quantity.unit, quantity.unit.value)
        if self.us and quantity.unit in (Unit.KILOGRAM, Unit.LITRE) and quantity.value > 0:
            whole, into = in_us(quantity.value, quantity.unit)
            return self.trim(filled * whole / quantity.value, 1), self._us(round(whole, 1), into)
        return self.trim(filled, 1), f"{self.trim(quantity.value, 1)}{THIN}{unit}".strip()

    def typed_unit(self, unit: Unit) -> str:
        """What a bare number in a field means: ``kg``, or ``lb`` where amounts are US; pieces and trays by word."""
        if unit in US_UNIT:
            return typed_unit(unit, us=self.us)
        return self._w(f"unit_{unit.name.lower()}")

    @property
    def amount_keys(self) -> str:
        """Which keys a telephone shows for an amount: its number pad has no letters for ``2 lb 4 oz``."""
        return "text" if self.us else "decimal"

    def measure_unit(self, measure: str) -> str:
        """Of what a cook measures at a step's end: ``°C``, ``lb``, ``qt``; of a count or °Brix none is asked for."""
        unit = _MEASURED.get(measure)
        return self.unit if unit is None else self.typed_unit(unit)

    def measured(self, measure: str, value: float) -> str:
        """The number of a measured value in that unit."""
        unit = _MEASURED.get(measure)
        if measure == "temperature_c":
            return self.degrees(value)
        return self.written(f"{value:g}" if unit is None else self.typed(value, unit))

    def typed(self, value: float, unit: Unit, *, us: bool | None = None) -> str:
        """A number to stand in such a field: ``2.4``, or ``5.291`` for 2.4 kg in pounds."""
        if (self.us if us is None else us) and unit in US_UNIT:
            return f"{converted(value, unit.value, US_UNIT[unit]):.4g}"
        return f"{value:g}"

    def typed_example(self, unit: Unit, *, us: bool) -> str:
        """What may be written there: ``2.4``, or ``2.4, 2 lb 4 oz``."""
        if unit not in US_UNIT:
            return "12"
        return {"kg": "2.4, 2 lb 4 oz", "L": "2.4, 3 cups"}[unit.value] if us else "2.4"

    def litres(self, value: float) -> str:
        """``3 L``, or ``3.17 qt``."""
        return self.in_us(value, Unit.LITRE) if self.us else f"{self.trim(value, 1)}{THIN}L"
