"""A kitchen behind the door with core's own rules, kept in memory: for pages that read and change real state."""

import threading
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from orchestrator.core.commands import Command
from orchestrator.core.decide import decide
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Event, Recorded
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import CommandId, ProbeId
from orchestrator.core.models import ProbeFact
from orchestrator.core.models.questions import Answer, Question
from orchestrator.core.state import State
from orchestrator.gateway.door import Accepted, Outcome, PracticeControl, Snapshot
from orchestrator.ports.event_log import Reading
from orchestrator.ports.planning import OnBetter
from tests.fakes.quiet_service import QuietService


class FakePractice:
    """Keeps what was asked of it."""

    def __init__(self) -> None:
        self.rates: list[float] = []
        self.jumps = 0
        self.on = True
        self.planted: list[str] = []

    def set_rate(self, rate: float) -> None:
        """Kept."""
        self.rates.append(rate)

    def jump(self) -> None:
        """Counted."""
        self.jumps += 1

    def set_crew(self, on: bool) -> None:
        """Kept."""
        self.on = on

    def crew_on(self) -> bool:
        """As set."""
        return self.on

    def troubles(self) -> Sequence[tuple[str, str, bool]]:
        """Two of them."""
        titles = {"churn-stops": "The churn stops for two hours", "probe-silent": "A probe falls silent"}
        return [(key, title, key in self.planted) for key, title in titles.items()]

    def plant(self, trouble: str) -> None:
        """Kept."""
        self.planted.append(trouble)


class KitchenGateway(QuietService):
    """Implements `Gateway`: commands are decided by core and evolve the state at once; nothing is planned anew."""

    def __init__(
        self,
        state: State,
        now: datetime,
        *,
        facts: Mapping[ProbeId, ProbeFact] | None = None,
        practice: PracticeControl | None = None,
    ) -> None:
        super().__init__()
        self.state = state
        self.now = now
        self.facts = dict(facts or {})
        self.records: list[Recorded] = []
        self.rejected: dict[str, int] = {}
        self.rejected_last: dict[str, str] = {}
        self.answers: dict[str, Answer] = {}
        self.questions: list[Question] = []
        self._practice = practice
        self._version = 1
        self._lock = threading.Lock()

    def submit(self, command: Command, timeout_s: float = 10.0) -> Outcome:
        """Decided by core's rules."""
        with self._lock:
            decision = decide(self.state, command, self.now, self.facts)
            if isinstance(decision, Refusal):
                return decision
            for event in decision.events:
                self._take(event, command.command_id)
        self.changed()
        return Accepted(self.state.seq)

    def happen(self, *events: Event) -> None:
        """Put events on record that nobody decided."""
        for event in events:
            self._take(event, CommandId(f"given-{self.state.seq + 1}"))
        self.changed()

    def _take(self, event: Event, command_id: CommandId) -> None:
        recorded = Recorded(seq=self.state.seq + 1, at=self.now, command_id=command_id, event=event)
        self.state = evolve(self.state, recorded)
        self.records.append(recorded)

    def ask(self, question: Question, timeout_s: float = 60.0, on_better: OnBetter | None = None) -> Answer | Refusal:
        """What was written down for a question of its kind."""
        self.questions.append(question)
        return self.answers.get(question.kind) or Refusal(
            code=RefusalCode.UNAVAILABLE, thing="planner", status=f"no answer to {question.kind!r}", remedy="none"
        )

    def snapshot(self) -> Snapshot:
        """As it is."""
        return Snapshot(
            self._version,
            self.state,
            dict(self.facts),
            self.now,
            0.0,
            self._practice is not None,
            rejected=dict(self.rejected),
            rejected_last=dict(self.rejected_last),
            broker_url="mqtt://127.0.0.1:1883",
        )

    def readings(self, probe: ProbeId, since: datetime, until: datetime) -> Sequence[Reading]:
        """One every ten minutes up to the end asked for, falling from 5 to 3 °C, whatever the probe.

        Not up to the present: a page drawn from a moment ago would miss the last of them and tell of a gap.
        """
        found = []
        for number in range(13):
            at = until - timedelta(minutes=10 * (12 - number))
            found.append(Reading(probe, 5.0 - number / 6, at, at))
        return [r for r in found if since <= r.measured_at <= until]

    def history(self, after: int = 0, limit: int = 200) -> Sequence[Recorded]:
        """What was taken."""
        return [r for r in self.records if r.seq > after][:limit]

    def changed(self) -> None:
        """Tell whoever listens."""
        self._version += 1
        for callback in tuple(self._callbacks):
            callback()

    @property
    def practice(self) -> PracticeControl | None:
        """As given."""
        return self._practice
