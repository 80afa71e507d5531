"""Whether a temperature is back inside its band for good: deadband and off-delay, a fold over readings.

A curve that lies at its limit goes in and out with every breath of noise. Here it counts as out from its first reading
outside until it has been clearly inside (by the deadband) for the whole off-delay, so that one spell is one alarm. Both
only make a spell longer, never shorter: no miss is hidden by them.

Source: deadband and on/off-delay as the first means against chattering alarms are those of ANSI/ISA-18.2, from memory;
the figures that a kitchen begins with are ours.
"""

from dataclasses import dataclass


@dataclass(slots=True)
class Settling:
    """Follows one band. Instants are minutes on any common scale, temperatures °C."""

    high: float
    low: float | None = None
    deadband_c: float = 0.0
    off_delay_min: float = 0.0
    out_since: float | None = None
    """Since when it has been outside, or not clearly back inside; none while it is settled."""
    _in_since: float | None = None

    def fold(self, minute: float, celsius: float) -> None:
        """Take one reading; ``minute`` must increase."""
        outside = celsius > self.high or (self.low is not None and celsius < self.low)
        if self.out_since is None:
            self.out_since = minute if outside else None
        elif not self._clearly_inside(celsius):
            self._in_since = None
        else:
            self._in_since = minute if self._in_since is None else self._in_since
            if minute - self._in_since >= self.off_delay_min:
                self.out_since = self._in_since = None

    def set_back(self, minute: float) -> None:
        """Go on at an earlier instant, because whoever tells the time was set back: what is out stays out, and counts
        as clearly inside only for as long as is seen from here."""
        self.out_since = None if self.out_since is None else min(self.out_since, minute)
        self._in_since = None

    def _clearly_inside(self, celsius: float) -> bool:
        """A band narrower than two deadbands leaves its middle to return to."""
        dead = self.deadband_c
        if self.low is not None:
            dead = min(dead, (self.high - self.low) / 2)
            return self.low + dead <= celsius <= self.high - dead
        return celsius <= self.high - dead
