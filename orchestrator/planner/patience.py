"""How long a quick answer may be worked at: counted in work, so that it repeats, and by the clock where one waits."""

import contextlib
import math
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass

OVERDRAWN_LOOKS, OVERDRAWN_S = 150, 0.02
"""Beyond the end, for orders that were left out only because it was over."""


def _never() -> bool:
    return False


class OutOfPatience(Exception):
    """Whatever was being tried is not worth waiting for any longer: what there is already is the answer."""


@dataclass(slots=True)
class Patience:
    """What is left of it; without limits, endless."""

    looks: float = math.inf
    """Questions where a piece of work could go: a count, so that the same facts get the same answer."""
    ends: float = math.inf
    """On the clock of `time.process_time`: a slow machine asks fewer questions in the same time."""
    ended: Callable[[], bool] = _never
    """Whether somebody ends it before, or an instant has come that all must be over by, however busy the machine."""

    @property
    def endless(self) -> bool:
        """Whether nobody waits."""
        return self.looks == self.ends == math.inf

    @property
    def over(self) -> bool:
        """Whether to come to an end with what there is."""
        return self.looks <= 0 or (self.ends < math.inf and time.process_time() > self.ends) or self.ended()

    @property
    def overdrawn(self) -> bool:
        """Whether it has been over for so long that what was left out in haste stays out."""
        late = self.ends < math.inf and time.process_time() > self.ends + OVERDRAWN_S
        return self.looks <= -OVERDRAWN_LOOKS or late or self.ended()

    def lasts(self, looks: float, seconds: float) -> bool:
        """Whether there is enough of it for so many looks, and for so long."""
        enough = self.looks >= looks and (self.ends == math.inf or time.process_time() + seconds <= self.ends)
        return enough and not self.ended()

    @contextlib.contextmanager
    def part(self, share: float) -> Iterator[None]:
        """Within it, only a share of what is left may be used."""
        if self.endless:
            yield
            return
        kept, ends = (1 - share) * max(0.0, self.looks), self.ends
        self.looks -= kept
        self.ends = ends if ends == math.inf else ends - (1 - share) * max(0.0, ends - time.process_time())
        try:
            yield
        finally:
            self.looks += kept
            self.ends = ends
