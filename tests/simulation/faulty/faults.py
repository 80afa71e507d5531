"""What goes wrong in a kitchen's days, drawn from the seed: when, what, and for how long."""

import random
from dataclasses import dataclass
from typing import Final, Literal

Kind = Literal[
    "power cut",
    "cut before sync",
    "cut after sync",
    "slow disk",
    "disk full",
    "disk locked",
    "disk read-only",
    "no Wi-Fi",
    "broker cut off",
    "broker down",
    "clock step",
    "planner fails",
    "nobody works",
    "machine stops",
]
_HOW_OFTEN: Final[dict[Kind, float]] = {
    "power cut": 2.0,
    "cut before sync": 1.0,
    "cut after sync": 1.0,
    "slow disk": 1.0,
    "disk full": 0.7,
    "disk locked": 0.5,
    "disk read-only": 0.3,
    "no Wi-Fi": 1.0,
    "broker cut off": 1.0,
    "broker down": 0.7,
    "clock step": 1.0,
    "planner fails": 0.7,
    "nobody works": 1.0,
    "machine stops": 1.0,
}
"""On average in a day; ours: far more than any kitchen sees."""
_MINUTES: Final[dict[Kind, tuple[float, float]]] = {
    "slow disk": (1, 20),
    "disk full": (0.2, 30),
    "disk locked": (0.1, 10),
    "disk read-only": (0.2, 20),
    "no Wi-Fi": (0.5, 60),
    "broker cut off": (0.5, 30),
    "broker down": (0.5, 15),
    "clock step": (5, 180),
    "planner fails": (1, 15),
    "nobody works": (20, 150),
    "power cut": (0.02, 20),
    "cut before sync": (0.02, 5),
    "cut after sync": (0.02, 5),
    "machine stops": (10, 240),
}
_STEPS_S: Final = (-3600.0, -600.0, -30.0, -2.0, 2.0, 30.0, 600.0, 3600.0)
"""A clock is set by so much, and back again after a while."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that goes wrong."""

    at_s: float
    kind: Kind
    lasts_s: float
    size_s: float = 0.0
    """Of a clock's step."""


def draw(seed: int, span_s: float, often: float = 1.0) -> list[Fault]:
    """The faults of one kitchen, in order of time; some see few, some many; all ``often`` times as many an hour."""
    chance = random.Random(f"faults {seed}")
    intensity = chance.choice([0.5, 1.0, 2.0])
    found = []
    for kind, a_day in _HOW_OFTEN.items():
        expected = a_day * often * intensity * span_s / 86400.0
        for _ in range(int(expected) + (chance.random() < expected % 1)):
            low, high = _MINUTES[kind]
            lasts_s = 60.0 * low * (high / low) ** chance.random()
            size_s = chance.choice(_STEPS_S) if kind == "clock step" else 0.0
            found.append(Fault(chance.uniform(0.0, span_s), kind, lasts_s, size_s))
    return sorted(found, key=lambda fault: fault.at_s)
