"""A kitchen behind the door without engine or planner: canned views that answer to acts, for display's tests."""

import threading
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from orchestrator.core.commands import AcknowledgeAlarm, Command, FinishTask, FinishTray, StartTask, Undo
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Recorded
from orchestrator.core.ids import ProbeId, StationId, TaskId
from orchestrator.core.models.questions import Answer, Question
from orchestrator.core.state import State
from orchestrator.core.views.board_models import BoardView
from orchestrator.core.views.models import LastActView, LotView, OrderView, ProbeView, StationView, TaskView
from orchestrator.gateway.door import Accepted, Outcome, PracticeControl, Snapshot
from orchestrator.ports.event_log import Reading
from orchestrator.ports.planning import OnBetter
from tests.fakes import canned
from tests.fakes.kitchens import small_kitchen
from tests.fakes.plans import small_plan
from tests.fakes.quiet_service import QuietService

LARGE = 2


class FakeGateway(QuietService):
    """Implements `Gateway`, and `Views` too: hand it to `create_app` as both.

    `view` is what the station shows; replace it with `show`. Starting, finishing, trays, undo and marking as
    seen change it as the engine would; a start with an unmet gate is refused. Everything submitted is kept
    in `submitted`; `answer` decides an outcome beforehand.
    """

    def __init__(self, view: StationView | None = None, *, rate: float = 0.0, practice: bool = True) -> None:
        super().__init__()
        kitchen = small_kitchen()
        self.view = view or canned.busy_station()
        self.submitted: list[Command] = []
        self.answer: Outcome | Exception | None = None
        self.answers: dict[str, Answer] = {}
        self.questions: list[Question] = []
        self.curve: Sequence[Reading] = canned.heating_curve()
        self._before: StationView | None = None
        self._lock = threading.Lock()
        state = State(seq=41, kitchen=kitchen, plan=small_plan(kitchen), revision=3)
        self._snapshot = Snapshot(1, state, {}, canned.NOW, rate, practice)

    # -- Gateway

    def submit(self, command: Command, timeout_s: float = 10.0) -> Outcome:
        """Carry it out on the canned view."""
        with self._lock:
            self.submitted.append(command)
            if isinstance(self.answer, Exception):
                raise self.answer
            outcome = self.answer or self._carry_out(command)
        self.changed()
        return outcome

    def ask(self, question: Question, timeout_s: float = 60.0, on_better: OnBetter | None = None) -> Answer | Refusal:
        """What was written down for a question of its kind."""
        self.questions.append(question)
        return self.answers.get(question.kind) or Refusal(
            code=RefusalCode.UNAVAILABLE, thing="planner", status=f"no answer to {question.kind!r}", remedy="none"
        )

    def snapshot(self) -> Snapshot:
        """The canned one."""
        return self._snapshot

    def readings(self, probe: ProbeId, since: datetime, until: datetime) -> Sequence[Reading]:
        """The canned curve, whatever the probe."""
        return [r for r in self.curve if since <= r.measured_at <= until]

    def history(self, after: int = 0, limit: int = 200) -> Sequence[Recorded]:
        """Nothing is on record."""
        return ()

    @property
    def practice(self) -> PracticeControl | None:
        """None."""
        return None

    # -- what a test does

    def show(self, view: StationView) -> None:
        """Another state of the station."""
        self.view = view
        self.changed()

    def set_snapshot(self, **changes: Any) -> None:
        """Another clock, rate, link or state."""
        self._snapshot = replace(self._snapshot, **changes)
        self.changed()

    def changed(self) -> None:
        """Tell whoever listens."""
        self._snapshot = replace(self._snapshot, version=self._snapshot.version + 1)
        for callback in tuple(self._callbacks):
            callback()

    # -- Views

    def station(self, snapshot: Snapshot, station: StationId) -> StationView:
        """The canned view, whatever the station."""
        return self.view

    def task(self, snapshot: Snapshot, task: TaskId) -> TaskView:
        """One of its tasks."""
        return self._tasks()[task]

    def board(self, snapshot: Snapshot) -> BoardView:
        """Not canned."""
        raise NotImplementedError

    def probes(self, snapshot: Snapshot) -> Sequence[ProbeView]:
        """Not canned."""
        raise NotImplementedError

    def lots(self, snapshot: Snapshot) -> Sequence[LotView]:
        """Not canned."""
        raise NotImplementedError

    def orders(self, snapshot: Snapshot) -> Sequence[OrderView]:
        """Not canned."""
        raise NotImplementedError

    # -- acts

    def _tasks(self) -> Mapping[TaskId, TaskView]:
        return {t.task: t for t in (*self.view.on_its_own, *self.view.next_here, *self.view.in_hand)}

    def _carry_out(self, command: Command) -> Outcome:
        match command:
            case StartTask():
                return self._start(command)
            case FinishTask():
                return self._finish(command)
            case FinishTray():
                task = self._tasks()[command.task]
                made = task.model_copy(update={"pieces_made": task.pieces_made + command.pieces})
                return self._act("tray", made, tuple(made if t.task == task.task else t for t in self.view.in_hand))
            case Undo() if self._before is not None and self.view.last_act and self.view.last_act.act == command.act:
                self.view, self._before = self._before, None
            case Undo():
                return Refusal(
                    code=RefusalCode.WRONG_STATE, thing="act", status="taken back already", remedy="Nothing is to do."
                )
            case AcknowledgeAlarm():
                seen = {"status": "acknowledged", "acknowledged_at": canned.NOW, "acknowledged_by": command.person}
                alarms = tuple(a.model_copy(update=seen) if a.id == command.alarm else a for a in self.view.alarms)
                self.view = self.view.model_copy(
                    update={"alarms": tuple(type(a).model_validate(dict(a)) for a in alarms)}
                )
            case _:
                pass
        return Accepted(self._snapshot.version)

    def _start(self, command: StartTask) -> Outcome:
        task = self._tasks().get(command.task)
        if task is None:
            return Refusal(
                code=RefusalCode.UNKNOWN, thing=command.task, status="not in the plan", remedy="Pick one of the screen."
            )
        shut = next((gate for gate in task.gates if not gate.met), None)
        if shut is not None and not command.override_reason:
            remedy = "Chill on until it is at most 4 °C, or a named person gives a reason"
            return Refusal(
                code=RefusalCode.GATE_SHUT,
                thing=task.title,
                status=f"{shut.says}: now {shut.celsius} °C",
                remedy=remedy,
            )
        begun = task.model_copy(update={"status": "in hand", "started_at": canned.NOW})
        others = tuple(t for t in self.view.in_hand if t.task != task.task)
        following = tuple(t for t in self.view.next_here if t.task != task.task)
        return self._act("started", begun, (begun, *others), next_here=following, idle=None)

    def _finish(self, command: FinishTask) -> Outcome:
        task = self._tasks()[command.task]
        if task.measure is not None and task.measure not in command.measured:
            remedy = "Enter it with the step's form"
            return Refusal(
                code=RefusalCode.BAD_VALUE, thing=task.title, status="its measured value is missing", remedy=remedy
            )
        return self._act("finished", task, tuple(t for t in self.view.in_hand if t.task != task.task))

    def _act(self, what: str, task: TaskView, in_hand: tuple[TaskView, ...], **changes: Any) -> Outcome:
        self._before = self.view
        seq = self._snapshot.version + 100
        last = LastActView.model_validate(
            {"act": seq, "what": what, "title": task.title, "person": "Early cook", "at": canned.NOW, "undoable": True}
        )
        self.view = self.view.model_copy(update={"in_hand": in_hand, "last_act": last, **changes})
        return Accepted(seq)
