"""A gateway that carries commands out in the simplest way, or refuses what it was told to refuse."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from orchestrator.core.commands import AcknowledgeAlarm, Command, FinishTask, FinishTray, StartTask
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Recorded
from orchestrator.core.ids import ProbeId, TaskId
from orchestrator.core.models import ProbeFact, TaskKind
from orchestrator.core.models.questions import Answer, Question
from orchestrator.core.recipe_commands import ComeIn, GoHome
from orchestrator.core.recipe_events import PersonCame, PersonWent
from orchestrator.core.state import State, TaskRecord, TaskStatus
from orchestrator.gateway.door import Accepted, Outcome, PracticeControl, Snapshot
from orchestrator.ports.event_log import Reading
from orchestrator.ports.planning import OnBetter


def refusal(code: RefusalCode, thing: str, remedy: str = "") -> Refusal:
    """A refusal of that kind."""
    return Refusal(code=code, thing=thing, status="refused by the test", remedy=remedy)


class FakeDoor:
    """Implements `door.Gateway`; starts and finishes tasks, and the stays that join them, without any rule."""

    def __init__(self, state: State, now: datetime) -> None:
        self.state = state
        self.now = now
        self.facts: Mapping[ProbeId, ProbeFact] = {}
        self.commands: list[Command] = []
        """But for those by which people say that they come and go."""
        self.said: list[ComeIn | GoHome] = []
        self.refuse: list[tuple[Callable[[Command], bool], Refusal]] = []
        """Refuse what fits, once each."""
        self.practice: PracticeControl | None = None
        self.answers: dict[str, Answer] = {}
        self.questions: list[Question] = []

    def of(self, kind: type[Any]) -> list[Any]:
        """All commands of that kind, in order."""
        return [command for command in self.commands if isinstance(command, kind)]

    def submit(self, command: Command, timeout_s: float = 10.0) -> Outcome:
        """Carry it out, unless it is to be refused."""
        if isinstance(command, ComeIn | GoHome):
            self.said.append(command)
            kind = PersonCame if isinstance(command, ComeIn) else PersonWent
            assert command.person is not None
            told = kind(person=command.person, at=self.now)
            self.state = replace(self.state, attendance=self.state.attendance.with_event(told))
            return Accepted(self.state.seq)
        self.commands.append(command)
        for entry in self.refuse:
            if entry[0](command):
                self.refuse.remove(entry)
                return entry[1]
        self._carry_out(command)
        self.state = replace(self.state, seq=self.state.seq + 1)
        return Accepted(self.state.seq)

    def _carry_out(self, command: Command) -> None:
        match command:
            case StartTask():
                self.set(command.task, status=TaskStatus.IN_HAND, started_at=self.now, started_by=command.person)
                self._joined_stays(command.task, finish=True)
            case FinishTask():
                self.set(command.task, status=TaskStatus.DONE, finished_at=self.now, measured=command.measured)
                self._joined_stays(command.task, finish=False)
            case FinishTray():
                self.set(command.task, pieces=self.state.record(command.task).pieces + command.pieces)
            case AcknowledgeAlarm():
                self.state = replace(
                    self.state, alarms={k: a for k, a in self.state.alarms.items() if k != command.alarm}
                )
            case _:
                pass

    def _joined_stays(self, task: TaskId, *, finish: bool) -> None:
        assert self.state.plan is not None
        tasks = {t.id: t for t in self.state.plan.tasks}
        if finish:
            stays = [tasks[link.after] for link in tasks[task].links if tasks[link.after].kind is TaskKind.STAY]
        else:
            stays = [t for t in tasks.values() if t.kind is TaskKind.STAY and any(k.after == task for k in t.links)]
        for stay in stays:
            status = TaskStatus.DONE if finish else TaskStatus.IN_HAND
            self.set(stay.id, status=status, **{"finished_at" if finish else "started_at": self.now})

    def set(self, task: TaskId, **changes: Any) -> None:
        """Change the record of a task."""
        record = replace(self.state.tasks.get(task, TaskRecord()), **changes)
        self.state = replace(self.state, tasks={**self.state.tasks, task: record})

    def ask(self, question: Question, timeout_s: float = 60.0, on_better: OnBetter | None = None) -> Answer | Refusal:
        """What was written down for a question of its kind."""
        self.questions.append(question)
        return self.answers.get(question.kind) or Refusal(
            code=RefusalCode.UNAVAILABLE, thing="planner", status=f"no answer to {question.kind!r}", remedy="none"
        )

    def snapshot(self) -> Snapshot:
        """What there is now."""
        return Snapshot(self.state.seq, self.state, self.facts, self.now, 1.0, practice=True)

    def readings(self, probe: ProbeId, since: datetime, until: datetime) -> Sequence[Reading]:
        """None are kept."""
        return ()

    def history(self, after: int = 0, limit: int = 200) -> Sequence[Recorded]:
        """None is kept."""
        return ()

    def on_change(self, callback: Callable[[], None]) -> Callable[[], None]:
        """Nobody is called."""
        return lambda: None
