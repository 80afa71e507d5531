"""A question to the planner, asked in the background: what it said, or why it said nothing."""

import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final, Generic, TypeVar

from orchestrator.core.errors import Refusal
from orchestrator.core.models.questions import Answer, PlanProgress

LOG = logging.getLogger(__name__)
LATE: Final = "no answer in time"
"""Why there is none where the planner cannot keep up."""
A = TypeVar("A")


@dataclass(slots=True)
class Asked(Generic[A]):
    """One question; threads read it while another waits for the answer."""

    at: datetime
    """The kitchen's time when it was asked."""
    done: threading.Event = field(default_factory=threading.Event)
    answer: A | None = None
    trouble: str = ""
    """Why there is no answer; empty while it is awaited."""
    so_far: PlanProgress | None = None
    """What was told last while it is worked at; none before it has begun, or where nobody listens."""

    @property
    def failed(self) -> bool:
        """Whether it is known that there will be no answer."""
        return self.done.is_set() and bool(self.trouble)

    @property
    def late(self) -> bool:
        """Whether that is because the planner cannot keep up."""
        return self.failed and self.trouble == LATE

    def begin(self, kind: type[A], ask: Callable[[], Answer | Refusal]) -> None:
        """Ask in a thread of its own.

        Args:
            kind: Of the answer.
            ask: Puts the question together and waits for the planner.
        """
        threading.Thread(target=self._ask, args=(kind, ask), daemon=True).start()

    def give_up(self) -> None:
        """Not asked at all: the planner cannot keep up."""
        self.trouble = LATE
        self.done.set()

    def _ask(self, kind: type[A], ask: Callable[[], Answer | Refusal]) -> None:
        try:
            told = ask()
            if isinstance(told, Refusal):
                self.trouble = told.status
            elif isinstance(told, kind):
                self.answer = told
        except TimeoutError:
            self.trouble = LATE
        except Exception:
            LOG.exception("the planner could not be asked")
            self.trouble = "it could not be asked"
        finally:
            self.done.set()
