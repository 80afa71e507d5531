"""How long a quick answer may be worked at: counted in work, so that it repeats, and by the clock where one waits."""

import contextlib
import math
import time
from collections.abc import Iterator
from dataclasses import dataclass


class OutOfPatience(Exception):
    """Whatever was being tried is not worth waiting for any longer: what there is already is the answer."""


@dataclass(slots=True)
class Patience:
    """What is left of it; without limits, endless."""

    looks: float = math.inf
    """Questions where a piece of work could go: a count, so that the same facts get the same answer."""
    ends: float = math.inf
    """On the clock of `time.perf_counter`: a busy machine asks fewer questions in the same time."""

    @property
    def over(self) -> bool:
        """Whether to come to an end with what there is."""
        return self.looks <= 0 or (self.ends < math.inf and time.perf_counter() > self.ends)

    @contextlib.contextmanager
    def part(self, share: float) -> Iterator[None]:
        """Within it, only a share of what is left may be used."""
        if self.looks == self.ends == math.inf:
            yield
            return
        kept, ends = (1 - share) * max(0.0, self.looks), self.ends
        self.looks -= kept
        self.ends = ends if ends == math.inf else ends - (1 - share) * max(0.0, ends - time.perf_counter())
        try:
            yield
        finally:
            self.looks += kept
            self.ends = ends
