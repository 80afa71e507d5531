"""What is on record of probes: checks, offsets, where they were put, and washes."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Final

from orchestrator.core.ids import ProbeId, TaskId
from orchestrator.core.models import Kitchen
from orchestrator.core.probe_events import (
    ProbeAssigned,
    ProbeChecked,
    ProbeEvent,
    ProbeOffsetApplied,
    ProbeWashAsked,
    ProbeWashed,
)

MOST_KEPT: Final = 200
"""Checks of one probe that are at hand; the log has all of them."""


@dataclass(frozen=True, slots=True)
class ProbeBook:
    """By probe, the newest last."""

    checks: Mapping[ProbeId, tuple[ProbeChecked, ...]] = field(default_factory=dict)
    offsets: Mapping[ProbeId, tuple[ProbeOffsetApplied, ...]] = field(default_factory=dict)
    places: Mapping[ProbeId, tuple[ProbeAssigned, ...]] = field(default_factory=dict)
    washes: Mapping[ProbeId, ProbeWashed] = field(default_factory=dict)
    """The last one."""
    asked: Mapping[ProbeId, ProbeWashAsked] = field(default_factory=dict)
    """Washes that nobody has answered for."""

    def offset_at(self, probe: ProbeId, instant: datetime) -> float:
        """What is added to a reading measured then, °C; 0 without an offset."""
        offsets = self.offsets.get(probe, ())
        return next((o.offset_c for o in reversed(offsets) if o.at <= instant), 0.0) if offsets else 0.0

    def last_check(self, probe: ProbeId) -> ProbeChecked | None:
        """The newest check, passed or not."""
        checks = self.checks.get(probe, ())
        return checks[-1] if checks else None

    def last_good(self, probe: ProbeId) -> ProbeChecked | None:
        """The newest check that was passed."""
        return next((c for c in reversed(self.checks.get(probe, ())) if c.passed), None)

    def failed(self, probe: ProbeId) -> ProbeChecked | None:
        """The newest check, if it was failed and no offset was confirmed since: the probe may not be believed."""
        checks = self.checks.get(probe, ())
        if not checks or checks[-1].passed:
            return None
        last = checks[-1]
        applied = self.offsets.get(probe, ())
        return None if applied and applied[-1].at >= last.at else last

    def standing(self, probe: ProbeId) -> tuple[int, int]:
        """How many checks and offsets there are: another pair means that something was done."""
        return len(self.checks.get(probe, ())), len(self.offsets.get(probe, ()))

    def task_of(self, probe: ProbeId) -> TaskId | None:
        """The task whose food it was put into; none: whatever is in hand where it sits."""
        places = self.places.get(probe, ())
        return places[-1].task if places else None


def with_event(book: ProbeBook, event: ProbeEvent) -> ProbeBook:
    """The book after one more event."""
    probe = event.probe
    match event:
        case ProbeChecked():
            kept = (*book.checks.get(probe, ()), event)[-MOST_KEPT:]
            return replace(book, checks={**book.checks, probe: kept})
        case ProbeOffsetApplied():
            return replace(book, offsets={**book.offsets, probe: (*book.offsets.get(probe, ()), event)})
        case ProbeAssigned():
            return replace(book, places={**book.places, probe: (*book.places.get(probe, ()), event)})
        case ProbeWashAsked():
            return replace(book, asked={**book.asked, probe: event})
        case ProbeWashed():
            asked = {p: a for p, a in book.asked.items() if p != probe}
            return replace(book, washes={**book.washes, probe: event}, asked=asked)


def placed(kitchen: Kitchen, event: ProbeAssigned) -> Kitchen:
    """The kitchen with a probe where it was put."""
    moved = {"equipment": event.equipment, "reads": event.reads}
    probes = tuple(p.model_copy(update=moved) if p.id == event.probe else p for p in kitchen.probes)
    return kitchen.model_copy(update={"probes": probes})
