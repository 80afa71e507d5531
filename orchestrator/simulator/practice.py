"""The demo's driver: one thread that lets the simulated people, heat and thermometers go by the kitchen's clock."""

import logging
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, Final

from orchestrator.core.due import next_due
from orchestrator.core.ids import CrewId, ProbeId
from orchestrator.gateway.door import Gateway
from orchestrator.simulator.clock import SettableClock
from orchestrator.simulator.pace import next_moment, pace
from orchestrator.simulator.probes import Measured
from orchestrator.simulator.runner import Cast
from orchestrator.simulator.scene import Scene, scene_of
from orchestrator.simulator.troubles import TITLES, Planted

LOG = logging.getLogger(__name__)
_TURN_S: Final = 0.15
_SAVE_EVERY_S: Final = 1.0
_LONGEST_HOLD_S: Final = 25.0
"""The clock waits for the planner no longer than this."""
_AHEAD_S: Final = 1.0
"""Real seconds that the clock may run without its driver having had a turn."""
_AHEAD: Final = timedelta(minutes=4)
"""Kitchen time that it may; well within the silence that a probe is allowed."""
_LONGEST_DEAF_S: Final = 10.0
"""The clock waits for readings that were sent to be heard no longer than this: the broker may be gone for good."""


@dataclass(slots=True)
class Practice:
    """Implements `gateway.door.PracticeControl`, and drives everything simulated.

    Args:
        send: Takes what the thermometers measured, to be published.
        save: Keeps what must survive a kill; called about every second.
        speed: Kitchen seconds a real second while somebody is needed.
    """

    gateway: Gateway
    clock: SettableClock
    cast: Cast
    send: Callable[[Sequence[Measured]], None]
    save: Callable[[dict[str, Any]], None]
    speed: float = 60.0
    end: datetime | None = None
    """Here the week is over and the clock stops."""
    begun: Callable[[], bool] = lambda: True
    """Whether somebody looks already; until then the clock stands."""
    _paused: bool = False
    _jump: bool = False
    _held_since: float | None = None
    _deaf_since: float | None = None
    _sent: datetime | None = None
    _look_at: datetime | None = None
    _seen: int = -1
    _saved_at: float = 0.0
    _stopping: threading.Event = field(default_factory=threading.Event)
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _thread: threading.Thread | None = None

    def set_rate(self, rate: float) -> None:
        """Run that many times faster while somebody is needed; 0 pauses."""
        with self._lock:
            self._paused = rate <= 0
            if rate > 0:
                self.speed = rate
        if self._paused:
            self.clock.set_rate(0.0)

    def jump(self) -> None:
        """Go to the next event."""
        self._jump = True

    def set_crew(self, on: bool) -> None:
        """Whether the simulated crew works, or a person plays cook."""
        self.cast.crew.on = on
        self._look_at = None

    def crew_on(self) -> bool:
        """Whether it does."""
        return self.cast.crew.on

    def troubles(self) -> Sequence[tuple[str, str, bool]]:
        """Planted troubles as (key, title, planted already)."""
        return [(key, title, key in self.cast.troubles.planted) for key, title in TITLES.items()]

    def plant(self, trouble: str) -> None:
        """Let it happen now. Raises: KeyError."""
        if trouble not in TITLES:
            raise KeyError(trouble)
        with self._lock:
            self.cast.troubles.plant(trouble, self.clock.now())

    def start(self) -> None:
        """Begin."""
        self._thread = threading.Thread(target=self._run, name="practice", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End, and keep where everything is."""
        self._stopping.set()
        if self._thread is not None:
            self._thread.join(20.0)
        self.save(self.saved())

    def _run(self) -> None:
        self.clock.grant(self.clock.now())
        while not self._stopping.wait(_TURN_S):
            try:
                with self._lock:
                    self._turn()
            except TimeoutError:
                LOG.warning("the kitchen's service did not answer in time; it is asked again")
            except Exception:
                LOG.exception("the simulation stumbled; it goes on with its next turn")

    def _turn(self) -> None:
        picture = self.gateway.snapshot()
        self._set_pace(picture.planning)
        if self._jump:
            self._jump = False
            self._go_ahead()
        now = self.clock.now()
        if measured := self.cast.thermometers.measure(now, self._scene):
            self._sent = max(at for _, _, at, _ in measured)
            self.send(measured)
        self.cast.troubles.due(now)
        picture = self.gateway.snapshot()
        if self._look_at is None or now >= self._look_at or picture.state.seq != self._seen:
            self._look_at = self.cast.crew.look(now)
            self._seen = self.gateway.snapshot().state.seq
        self._grant()
        if time.monotonic() - self._saved_at > _SAVE_EVERY_S:
            self._saved_at = time.monotonic()
            self.save(self.saved())

    def _grant(self) -> None:
        """Let the clock go on for a little: it never runs on while this driver, the engine or the broker is held up,
        or probes would seem silent and people late that only had no turn."""
        if self._heard():
            self.clock.grant(self.clock.now() + min(timedelta(seconds=self.clock.rate * _AHEAD_S), _AHEAD))

    def _heard(self) -> bool:
        """Whether what the thermometers sent has reached the engine, but for the last minutes."""
        heard = [fact.measured_at for fact in self.gateway.snapshot().facts.values() if fact.measured_at is not None]
        if self._sent is None or not heard or self._sent - max(heard) < _AHEAD:
            self._deaf_since = None
            return True
        self._deaf_since = self._deaf_since or time.monotonic()
        return time.monotonic() - self._deaf_since > _LONGEST_DEAF_S

    def _scene(self) -> Scene:
        return scene_of(self.gateway.snapshot().state)

    def _set_pace(self, planning: bool) -> None:
        now = self.clock.now()
        wanted = 0.0 if self._paused or not self.begun() else pace(self.gateway.snapshot().state, now, self.speed)
        if planning:
            self._held_since = self._held_since or time.monotonic()
            if time.monotonic() - self._held_since < _LONGEST_HOLD_S:
                wanted = 0.0
        else:
            self._held_since = None
        if self.end is not None and now >= self.end:
            wanted = 0.0
        if abs(wanted - self.clock.rate) > 0.05 * max(wanted, self.clock.rate):
            self.clock.set_rate(wanted)

    def _go_ahead(self) -> None:
        """To the next planned start or end, due instant or trouble, whichever comes first; at least a minute."""
        now, state = self.clock.now(), self.gateway.snapshot().state
        moments = [next_moment(state, now), next_due(state, now), self.cast.troubles.next_at()]
        later = [moment for moment in moments if moment is not None and moment > now]
        if later:
            self.clock.jump(max(min(later), now + timedelta(minutes=1)))

    def saved(self) -> dict[str, Any]:
        """Everything that must survive a kill, as plain JSON."""
        troubles, thermometers = self.cast.troubles, self.cast.thermometers
        return {
            "now": self.clock.now().isoformat(),
            "crew_on": self.cast.crew.on,
            "speed": self.speed,
            "physics": self.cast.physics.saved(),
            "seq": dict(thermometers.seq),
            "silent": {probe: until.isoformat() for probe, until in thermometers.silent_until.items()},
            "away": {name: [a.isoformat(), b.isoformat()] for name, (a, b) in self.cast.crew.roster.away.items()},
            "scheduled": {key: at.isoformat() for key, at in troubles.scheduled.items()},
            "planted": {k: [p.thing, p.start.isoformat(), p.end.isoformat()] for k, p in troubles.planted.items()},
        }


def restore(cast: Cast, saved: dict[str, Any]) -> None:
    """Take up what was saved, but for the clock. Raises: KeyError, ValueError when it is not what `saved` gives."""
    when = datetime.fromisoformat
    cast.crew.on = bool(saved["crew_on"])
    cast.physics.restore(saved["physics"])
    cast.thermometers.seq = {ProbeId(probe): int(seq) for probe, seq in saved["seq"].items()}
    cast.thermometers.silent_until = {ProbeId(p): when(until) for p, until in saved["silent"].items()}
    cast.crew.roster.away = {CrewId(name): (when(a), when(b)) for name, (a, b) in saved["away"].items()}
    cast.troubles.scheduled = {key: when(at) for key, at in saved["scheduled"].items()}
    planted = saved["planted"].items()
    cast.troubles.planted = {key: Planted(key, thing, when(a), when(b)) for key, (thing, a, b) in planted}
