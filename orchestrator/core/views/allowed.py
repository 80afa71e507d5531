"""What may be done now, asked of those who decide: no second opinion on the screens."""

from orchestrator.core.alarms import Look
from orchestrator.core.commands import StartTask, Undo
from orchestrator.core.decide.case import Case
from orchestrator.core.decide.starting import start
from orchestrator.core.decide.undo import undo
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CommandId, TaskId
from orchestrator.core.state import Act

_ASKED = CommandId("asked-by-a-view")


def why_not_start(look: Look, task: TaskId, looked_at: tuple[str, ...] = ()) -> Refusal | None:
    """Why starting a task now, as planned and without a reason, would be refused; none when it would be accepted.

    Args:
        look: The state and its instant.
        task: A task of the plan.
        looked_at: Gates that one of the crew would say to have checked.
    """
    anybody = next(iter(look.kitchen.crew), None) if looked_at else None
    case = Case(look.state, look.now, look.facts, look.now, anybody)
    outcome = start(case, StartTask(command_id=_ASKED, task=task, checked=looked_at))
    return outcome if isinstance(outcome, Refusal) else None


def may_undo(look: Look, act: Act) -> bool:
    """Whether an act can still be taken back by one of the crew."""
    anybody = act.person or next(iter(look.kitchen.crew), None)
    case = Case(look.state, look.now, look.facts, look.now, anybody)
    command = Undo(command_id=_ASKED, act=act.seq, person=anybody)
    return not isinstance(undo(case, command), Refusal)
