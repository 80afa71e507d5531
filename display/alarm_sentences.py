"""What an alarm says in a few sentences: its head, its facts, what is touched, what still helps."""

from collections.abc import Callable
from datetime import datetime
from typing import Final

from display.alarm_codes import CODES
from display.formats import Formats
from display.typed_words import as_typed
from display.words import AsPrinted, Words
from orchestrator.core.models import WindowClass
from orchestrator.core.models.alarm import Alarm, AlarmFacts, AlarmKind

_MOST_NAMED: Final = 3
"""So many lots past their date are named in a sentence; the stock has all."""


def _of_stop(facts: AlarmFacts) -> str:
    """Of a stopped machine two instants are told, and words tell them apart."""
    return "_stopped" if facts.kind is AlarmKind.MACHINE_STOPPED else ""


def _how_many(facts: AlarmFacts) -> str:
    """One lot past its date is told by its name, several by their place; of orders that wait, one by its customer."""
    if facts.kind is AlarmKind.ORDERS_UNDECIDED:
        return "_many" * (len(facts.orders) > 1)
    return "" if len(facts.past) < 2 else "_many" if facts.equipment is not None else "_loose"


class AlarmSentences:
    """Those of `Sentences` that tell of alarms."""

    def __init__(self, words: Words, formats: Formats, now: datetime) -> None:
        self._w = words
        self._f = formats
        self._now = now

    def _when(self, instant: datetime | None) -> str:
        return self._f.when(instant, self._now) if instant else "–"

    def alarm_head(self, facts: AlarmFacts) -> str:
        """What is wrong, in a few words that are read from two metres."""
        told = "_cold" * facts.too_cold + "_missed" * (facts.missed and not facts.past)
        key = f"alarm_{facts.kind.value}{told}{_how_many(facts)}"
        celsius = self._f.temperature(facts.celsius)
        limit = self._when(facts.limit_at)
        return self._w(key, title=facts.title, limit=limit, celsius=celsius, count=len(facts.past or facts.orders))

    def alarm_facts(self, facts: AlarmFacts) -> str:
        """How long and until when."""
        return self._sentence([*self._since(facts), *self._expected(facts), *self._latest(facts), *self._reason(facts)])

    def alarm_brief(self, facts: AlarmFacts, room: int) -> tuple[str, bool]:
        """As many whole facts as there is room for, the most pressing first; none is ever cut.

        Args:
            facts: Of an alarm.
            room: Characters.

        Returns:
            The text, and whether that was all.
        """
        stopped = facts.kind is AlarmKind.MACHINE_STOPPED  # its latest is that of the plan as it is, its saving counts
        latest = self._latest(facts)
        parts = [
            self._sentence([*self._expected(facts), *([] if stopped else latest)]),
            self._saved(facts),
            self._helps(facts),
            self._sentence(self._since(facts)),
            self.alarm_touches(facts),
            self._sentence(self._reason(facts)),
            self._sentence(latest if stopped else []),
        ]
        said: list[str] = []
        for part in filter(None, parts):
            if sum(len(one) + 1 for one in said) + len(part) <= room:
                said.append(part)
        return " ".join(said), len(said) == len(list(filter(None, parts)))

    def _since(self, facts: AlarmFacts) -> list[str]:
        if facts.since is None or facts.since > self._now:
            return []
        length = self._f.between(facts.since, self._now)
        return [self._w("fact_since", time=self._when(facts.since), length=length)]

    def _expected(self, facts: AlarmFacts) -> list[str]:
        w, said = self._w, []
        if facts.limit_c is not None:
            said.append(w("fact_limit_c", celsius=self._f.limit(facts.limit_c)))
        if facts.expected_at:
            key = f"fact_assumed{_of_stop(facts)}" if facts.assumed else "fact_expected"
            said.append(w(key, time=self._when(facts.expected_at)))
        return said

    def _latest(self, facts: AlarmFacts) -> list[str]:
        if facts.limit_at is None:
            return []
        if facts.missed and facts.limit_at < self._now:
            return [self._w("fact_over", length=self._f.between(facts.limit_at, self._now))]
        return [self._w(f"fact_limit_at{_of_stop(facts)}", time=self._when(facts.limit_at))]

    def _reason(self, facts: AlarmFacts) -> list[str]:
        if facts.kind is AlarmKind.MACHINE_STOPPED and facts.reason:
            typed = as_typed(facts.reason)
            return [typed if isinstance(typed, AsPrinted) else self._w.tell(typed)]
        if facts.past:
            lots = [(self._f.amount(one.left), one.name, one.lot) for one in facts.past[:_MOST_NAMED]]
            return [self._w("past_brief", amount=amount, name=name, lot=lot) for amount, name, lot in lots]
        if facts.tasks:
            return [self._w("fact_tasks", count=facts.tasks)]
        if facts.reason in list(WindowClass):
            return [self._w("fact_window", cls=facts.reason)]
        if facts.reason in CODES:
            return [self._w(f"why_{facts.reason.replace(' ', '_')}")]
        return [self._w.tell(facts.reason)] if facts.reason else []

    def alarm_touches(self, facts: AlarmFacts) -> str:
        """Which lots and orders are touched."""
        w = self._w
        said: list[str] = []
        lots = facts.lots or ((facts.lot,) if facts.lot else ())
        if lots and not facts.past:
            said.append(w("fact_lots", lots=", ".join(lots)))
        if facts.orders:
            said.append(w("fact_orders", orders=", ".join(facts.orders)))
        return self._sentence(said)

    @staticmethod
    def _sentence(said: list[str]) -> str:
        text = ", ".join(said)
        return f"{text[:1].upper()}{text[1:]}." if text else ""

    def alarm_helps(self, facts: AlarmFacts) -> str:
        """What can still be done, and until when that saves it."""
        return f"{self._helps(facts)} {self._saved(facts)}".strip()

    def _helps(self, facts: AlarmFacts) -> str:
        return " ".join(self._w(f"help_{help_.value}") + "." for help_ in facts.helps)

    def _saved(self, facts: AlarmFacts) -> str:
        if facts.save_by is None:
            return ""
        return self._w(f"fact_save_by{_of_stop(facts)}", time=self._when(facts.save_by)) + "."

    def seen(self, alarm: Alarm, name_of: Callable[[str], str]) -> str:
        """'seen 09:34 by Early cook'."""
        if alarm.acknowledged_at is None:
            return ""
        by = alarm.acknowledged_by
        who = name_of(by) if by else self._w("seen_by_somebody")
        return self._w("seen_at", time=self._when(alarm.acknowledged_at), who=who)
