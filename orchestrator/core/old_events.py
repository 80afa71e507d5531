"""Old forms of events: what was written once is read for ever, a step at a time up to the form of today.

New fields with defaults need nothing here: a row without them reads the same. Whoever changes what is there (a name, a
meaning, a type, a limit) raises the kind's number in `VERSIONS`, writes the step from the form before in `STEPS`, and
keeps a row of the old form in ``tests/core/golden/old_events.json``. A test compares the schemas and says so.
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from orchestrator.core.events import EVENTS, Event

Body = dict[str, Any]
Step = Callable[[Body], Body]

VERSIONS: Final[Mapping[str, int]] = {}
"""The form of each kind that is not its first any more; all others are in form 1, and so far all are."""
STEPS: Final[Mapping[tuple[str, int], Step]] = {}
"""From a kind and its form to the next form; a step may change anything but the meaning."""
_FORM: Final = "form"
"""Stands in a row from the second form on. It is part of the body, so the chain of the log covers it."""


class UnknownForm(ValueError):
    """The event was written by a later version of the program."""


@dataclass(frozen=True, slots=True)
class Forms:
    """How events are written down today, and how all that was ever written is read."""

    versions: Mapping[str, int]
    steps: Mapping[tuple[str, int], Step]

    def now(self, kind: str) -> int:
        """In which form a kind is written today."""
        return self.versions.get(kind, 1)

    def written(self, event: Event) -> str:
        """An event as JSON, as it goes into the log."""
        body = event.model_dump_json()
        form = self.now(event.kind)
        return body if form == 1 else f'{{"{_FORM}":{form},{body[1:]}'

    def read(self, kind: str, body: str) -> Event:
        """The event of a row.

        Args:
            kind: Of the row.
            body: JSON, in any form that there ever was.

        Raises:
            UnknownForm: its form is newer than this program.
            ValidationError: it is damaged.
        """
        if kind not in self.versions and f'"{_FORM}"' not in body[:20]:
            return EVENTS.validate_json(body)  # by far the most: nothing is looked at twice
        try:
            told: Body = json.loads(body)
            form = int(told.pop(_FORM, 1))
        except (ValueError, TypeError, AttributeError):
            return EVENTS.validate_json(body)  # damaged: says what is wrong with it
        if form > self.now(kind):
            raise UnknownForm(f"{kind} is written in form {form}, and this version knows {self.now(kind)}")
        return EVENTS.validate_json(json.dumps(self.brought_up(kind, form, told)))

    def brought_up(self, kind: str, form: int, body: Body) -> Body:
        """The same in the form of today."""
        for before in range(form, self.now(kind)):
            body = self.steps[kind, before](body)
        return body


FORMS: Final = Forms(VERSIONS, STEPS)
"""Of the program as it is."""
