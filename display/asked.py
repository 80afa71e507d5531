"""A question to the planner, asked in the background: what it said, or why it said nothing."""

import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Generic, TypeVar

from orchestrator.core.errors import Refusal
from orchestrator.core.models.questions import Answer, PlanProgress

LOG = logging.getLogger(__name__)
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

    def begin(self, kind: type[A], ask: Callable[[], Answer | Refusal]) -> None:
        """Ask in a thread of its own.

        Args:
            kind: Of the answer.
            ask: Puts the question together and waits for the planner.
        """
        threading.Thread(target=self._ask, args=(kind, ask), daemon=True).start()

    def _ask(self, kind: type[A], ask: Callable[[], Answer | Refusal]) -> None:
        try:
            told = ask()
            if isinstance(told, Refusal):
                self.trouble = told.status
            elif isinstance(told, kind):
                self.answer = told
        except TimeoutError:
            self.trouble = "no answer in time"
        except Exception:
            LOG.exception("the planner could not be asked")
            self.trouble = "it could not be asked"
        finally:
            self.done.set()
