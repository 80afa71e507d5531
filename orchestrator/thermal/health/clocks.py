"""A probe's clock: ahead, behind, or stepping back, told by when its readings arrive."""

from collections import deque
from typing import Final

from orchestrator.thermal.health.signs import Finding, Latch, Sign

KEPT: Final = 10
AHEAD_ON_S: Final = 30.0
AHEAD_OFF_S: Final = 10.0
"""Nothing arrives before it was measured; half a minute is allowed for clocks set by hand. Figures of ours."""
FAR_AHEAD_S: Final = 120.0
"""From here on one reading is enough, for it is judged by when it came: it meets nothing before that is known."""
BEHIND_ON_S: Final = 120.0
BEHIND_OFF_S: Final = 60.0
EVEN_S: Final = 60.0
"""A clock that is behind is always so by the same; a backlog is not."""
BACK_S: Final = 30.0


_NO_TIME: Final = ((Sign.CLOCK_WRONG, "no time sent"),)


class ProbeClock:
    """Follows one probe's times."""

    def __init__(self) -> None:
        self._lags: deque[float] = deque(maxlen=KEPT)
        self._newest_s: float | None = None
        self._seq: int | None = None
        self._stamped = False
        self._back_from: tuple[float, float] | None = None
        """When a step back was first seen: measured then, and received."""
        self._back_by_s = 0.0
        self._ahead, self._behind, self._back = Latch(3, 10), Latch(3, 10), Latch(3, 20)

    def fold(self, measured_s: float, received_s: float, *, seq: int | None = None, usual_lag_s: float = 0.0) -> None:
        """Take one reading's times, also those of one that came out of turn.

        Args:
            measured_s: by the probe's clock, on our scale.
            received_s: by ours.
            seq: the probe's own count, if it has one.
            usual_lag_s: how much later than measured the other probes' readings arrive now: what the way costs all.
        """
        if measured_s != received_s:
            self._stamped = True
        elif not self._stamped and self._newest_s is not None and measured_s < self._newest_s - BACK_S:
            self._newest_s = None  # we stamp them: it was our clock that was set back, the probe has none
        self._stepping(measured_s, received_s, seq)
        lag = received_s - measured_s
        self._lags.append(lag)
        ahead = True if lag < -AHEAD_ON_S else False if lag > -AHEAD_OFF_S else None
        if lag < -FAR_AHEAD_S:
            self._ahead.on_at_once(received_s)
        else:
            self._ahead.fold(min(measured_s, received_s), ahead)
        self._behind.fold(measured_s, self._is_behind(usual_lag_s))
        self._newest_s = measured_s if self._newest_s is None else max(self._newest_s, measured_s)
        self._seq = seq if seq is not None else self._seq

    @property
    def lag_s(self) -> float | None:
        """How late its readings arrive: the least of the last ten."""
        return min(self._lags) if self._lags else None

    def _is_behind(self, usual_lag_s: float) -> bool | None:
        if len(self._lags) < KEPT:
            return None
        lags = self._lags
        own = min(lags) - usual_lag_s
        if own < BEHIND_OFF_S:
            return False
        # A backlog that is caught up arrives faster than it was measured, so its lag shrinks from one to the next.
        return True if own > BEHIND_ON_S and max(lags) - min(lags) <= EVEN_S else None

    def _stepping(self, measured_s: float, received_s: float, seq: int | None) -> None:
        """Earlier than one before it, although counted, or going on at the pace of the wall, after it."""
        if self._newest_s is None or measured_s >= self._newest_s - BACK_S:
            self._back_from = None
            self._back.fold(measured_s, False)
            return
        by_count = seq is not None and self._seq is not None and seq > self._seq
        if self._back_from is None:
            self._back_from, self._back_by_s = (measured_s, received_s), self._newest_s - measured_s
        began, arrived = self._back_from
        paced = measured_s > began and received_s - arrived >= 0.5 * (measured_s - began)
        self._back.fold(measured_s, True if by_count or paced else None)

    def findings(self) -> tuple[Finding, ...]:
        """At most one: what the clock does, in minutes."""
        if not (self._back.on or self._ahead.on or self._behind.on):
            return ()
        lag_min = (self.lag_s or 0.0) / 60.0
        if self._back.on:
            back_min = self._back_by_s / 60.0
            return (Finding(Sign.CLOCK_WRONG, self._back.since_s, back_min, BACK_S / 60.0, "minutes", "stepping back"),)
        if self._ahead.on:
            return (Finding(Sign.CLOCK_WRONG, self._ahead.since_s, -lag_min, AHEAD_ON_S / 60.0, "minutes", "ahead"),)
        return (Finding(Sign.CLOCK_WRONG, self._behind.since_s, lag_min, BEHIND_ON_S / 60.0, "minutes", "behind"),)

    def cannot_say(self) -> tuple[tuple[Sign, str], ...]:
        """A probe without a clock is stamped on receipt: nothing can be told of it."""
        return () if self._stamped else _NO_TIME
