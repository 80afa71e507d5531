"""What was typed and tapped, read field by field; a fault says which field, and what to write instead."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import TypedDict
from uuid import uuid4
from zoneinfo import ZoneInfo

from display.panels import Showing
from display.words import AsPrinted
from orchestrator.core.ids import CommandId, CrewId
from orchestrator.core.mix.book import book_of
from orchestrator.core.models import Kitchen
from orchestrator.core.quantities import Unit
from orchestrator.core.typed_amounts import NoAmount, typed_amount

LONGEST_TEXT = 500


def density_of(kitchen: Kitchen, food: str) -> float | None:
    """g/mL of an ingredient, by the kitchen's table; none where nobody says."""
    row = book_of(kitchen).ingredient(food)
    return row.density_g_per_ml if row is not None else None


class FormFault(Exception):
    """A form that cannot be understood."""

    def __init__(self, says: str, remedy: str) -> None:
        super().__init__(f"{says} {remedy}")
        self.says = says
        self.remedy = remedy


class Base(TypedDict):
    """What every command carries."""

    command_id: CommandId
    person: CrewId | None
    tapped_at: datetime | None
    from_paper: bool


class Tapped:
    """A form as sent."""

    def __init__(self, fields: Mapping[str, str], showing: Showing, person: CrewId | None) -> None:
        self._fields = fields
        self._showing = showing
        self._w = showing.words
        self._person = person

    def _name(self, field: str) -> str:
        return self._w(f"field_{field.partition(':')[0]}")

    def fault(self, kind: str, field: str, **values: object) -> FormFault:
        """What is wrong with a field, and what to write instead."""
        says = self._w(f"form_{kind}", field=self._name(field), text=AsPrinted(repr(self.text(field))))
        return FormFault(says, self._w(f"form_{kind}_remedy", **values))

    def base(self) -> Base:
        """Command id (made here only for a sender without one), person and time of the tap."""
        given = self.text("command_id")
        if len(given) > 100:
            raise self.fault("range", "command_id", least="1", most="100")
        return Base(
            command_id=CommandId(given or uuid4().hex),
            person=self._person,
            tapped_at=self.instant("tapped_at"),
            from_paper=self.yes("from_paper"),
        )

    def text(self, field: str) -> str:
        """What was typed, without the space round it. Raises: FormFault when longer than 500 characters."""
        return self.long_text(field, LONGEST_TEXT)

    def long_text(self, field: str, most: int) -> str:
        """The same with room for more. Raises: FormFault when longer than that."""
        typed = self._fields.get(field, "").strip()
        if len(typed) > most:
            says = self._w("form_range", field=self._name(field), text=AsPrinted(f"{typed[:20]!r} …"))
            raise FormFault(says, self._w("form_range_remedy", least=0, most=most))
        return typed

    def named(self, prefix: str) -> dict[str, str]:
        """All fields whose names begin so, by the rest of the name, as far as something was typed."""
        return {
            name.removeprefix(prefix)[:100]: typed
            for name in self._fields
            if name.startswith(prefix) and (typed := self.text(name))
        }

    def every(self, field: str) -> tuple[str, ...]:
        """All that was ticked under one name."""
        many = getattr(self._fields, "getlist", None)
        ticked = many(field) if many is not None else [self._fields.get(field, "")]
        return tuple(value[:LONGEST_TEXT] for value in ticked if value)

    def need(self, field: str) -> str:
        """The same, and it must be there. Raises: FormFault."""
        typed = self.text(field)
        if not typed:
            raise self.fault("missing", field)
        return typed

    def number(self, field: str, least: float, most: float, *, example: str, whole: bool = False) -> float:
        """A number with point or comma. Raises: FormFault."""
        typed = self.need(field).replace(",", ".").replace("\u2212", "-")
        try:
            value = float(typed)
        except ValueError:
            raise self.fault("number", field, example=example) from None
        if not least <= value <= most:  # also not a number, which compares false
            raise self.fault("range", field, least=f"{least:g}", most=f"{most:g}")
        if whole and value != int(value):
            raise self.fault("whole", field, example=example)
        return value

    @property
    def us(self) -> bool:
        """Whether the form said that its bare numbers are in US measures."""
        return self.text("typed_in") == "us"

    def amount(self, field: str, unit: Unit, *, least: float = 0.0, most: float = 100_000.0, food: str = "") -> float:
        """An amount in ``unit``: a bare number in the form's own measure, or with its units. Raises: FormFault.

        Args:
            field: Its name.
            unit: In which it is counted.
            least: The smallest that can be, in ``unit``.
            most: The largest.
            food: An ingredient, whose density lets a weight be told by volume.
        """
        density = density_of(self._showing.kitchen, food) if food else None
        example = self._showing.formats.typed_example(unit, us=self.us)
        try:
            value = typed_amount(self.need(field), unit, us=self.us, density_g_per_ml=density)
        except NoAmount as wrong:
            kind = {"density": "no_density", "unit": "wrong_unit"}.get(wrong.why, "number")
            raise self.fault(kind, field, example=example) from None
        if not least <= value <= most:
            f = self._showing.formats
            raise self.fault(
                "range", field, least=f.typed(least, unit, us=self.us), most=f.typed(most, unit, us=self.us)
            )
        return value

    def celsius(self, field: str) -> float:
        """A temperature typed in the kitchen's unit, in degrees Celsius. Raises: FormFault."""
        f = self._showing.formats
        least, most = float(f.degrees(-60, 0).replace("\u2212", "-")), float(f.degrees(300, 0))
        return f.celsius(self.number(field, least, most, example=f.degrees(4.0)))

    def choice(self, field: str, choices: Sequence[str]) -> str:
        """One of some. Raises: FormFault."""
        typed = self.need(field)
        if typed not in choices:
            raise self.fault("choice", field, choices=", ".join(choices))
        return typed

    def yes(self, field: str) -> bool:
        """Whether it was ticked."""
        return self.text(field) == "yes"

    def yes_or_no(self, field: str) -> bool:
        """One of both was tapped. Raises: FormFault."""
        return self.choice(field, ("yes", "no")) == "yes"

    def instant(self, field: str) -> datetime | None:
        """A date and time: RFC 3339, or without offset by the kitchen's clock. Raises: FormFault."""
        typed = self.text(field)
        if not typed:
            return None
        try:
            instant = datetime.fromisoformat(typed)
        except ValueError:
            raise self.fault("instant", field) from None
        if instant.tzinfo is None:
            instant = instant.replace(tzinfo=ZoneInfo(self._showing.kitchen.time_zone))
        return instant.astimezone(UTC)
