"""Curves of healthy and of faulty probes, made from a seed; they share no formula with the judgement.

The shapes are common practice, without a source. Everything is drawn: when doors
are opened, for how long, how noisy and how coarse a probe is, how evenly it reports.
"""

import math
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from orchestrator.thermal.health import Expected, Finding, OneProbe, ProbeClock, Sign, Together
from orchestrator.thermal.health.places import cooling_food, idle_food, store_air, warming_food

BOILS_C = 99.9


@dataclass(frozen=True)
class Sent:
    """One reading as a probe sends it."""

    second: float
    celsius: float
    expected: Expected


def shown(dice: random.Random, celsius: float, noise: float, step: float) -> float:
    """What a probe of that noise and resolution shows."""
    return round(round((celsius + dice.gauss(0.0, noise)) / step) * step, 6)


def ticks(dice: random.Random, hours: float, every_s: float = 60.0) -> Iterator[float]:
    """Instants of readings: uneven, with some lost, and once in a while a silence."""
    second = 0.0
    while second < hours * 3600.0:
        if dice.random() > 0.03:
            yield second + dice.uniform(-5.0, 5.0)
        second += every_s if dice.random() > 0.001 else dice.uniform(300.0, 3000.0)


def store(seed: int, hours: float = 24.0, low: float | None = 0.0, high: float = 5.0) -> list[Sent]:
    """Air of a store: a compressor that goes on and off, doors, defrosts of a freezer."""
    dice = random.Random(seed)
    middle = (low + high) / 2.0 if low is not None else high - dice.uniform(2.0, 5.0)
    swing, period = dice.uniform(0.4, 1.2), dice.uniform(900.0, 2400.0)
    noise, step = dice.uniform(0.02, 0.25), dice.choice([0.1, 0.1, 0.5, 1.0])
    doors = [(dice.uniform(0, hours * 3600), dice.uniform(20, 180), dice.uniform(3, 14)) for _ in range(int(hours * 3))]
    defrosts = [6 * 3600.0 * n + 1800.0 for n in range(int(hours // 6))] if low is None else []
    expected, found = store_air(low, high), []
    for second in ticks(dice, hours):
        celsius = middle + swing * math.sin(2 * math.pi * second / period)
        for at, length, rise in doors:
            if at <= second < at + length:
                celsius += rise * (1 - math.exp(-(second - at) / 40.0))
            elif second >= at + length:
                celsius += rise * (1 - math.exp(-length / 40.0)) * math.exp(-(second - at - length) / 300.0)
        for at in defrosts:
            if at <= second < at + 1500.0:
                celsius += 12.0 * (second - at) / 1500.0
            elif second >= at + 1500.0:
                celsius += 12.0 * math.exp(-(second - at - 1500.0) / 600.0)
        found.append(Sent(second, shown(dice, celsius, noise, step), expected))
    return found


def freezer(seed: int, hours: float = 24.0) -> list[Sent]:
    """Air of a holding freezer."""
    return store(seed, hours, None, -18.0)


def from_pan_to_bath(seed: int) -> list[Sent]:
    """A probe that waits, heats with a custard, is stirred, boils or stands, and is carried into an ice bath."""
    dice = random.Random(seed)
    noise, step, every = dice.uniform(0.05, 0.4), dice.choice([0.1, 0.1, 0.5, 1.0]), dice.choice([5.0, 30.0, 60.0])
    room, target = dice.uniform(15.0, 28.0), dice.choice([82.0, 95.0])
    heat, cool = dice.uniform(0.02, 0.06), dice.uniform(0.03, 0.08)
    heated, chilled = 1800.0, 1800.0 + dice.uniform(2400.0, 3600.0)
    food, last, found = room, 0.0, []
    for second in ticks(dice, 2.5, every):
        minutes, last = max(second - last, 0.0) / 60.0, second
        if second < heated:
            expected = idle_food()
        elif second < chilled:
            food += (min(target + 6.0, BOILS_C) + 0.5 - food) * (1 - math.exp(-heat * minutes * 1.5))
            food = min(food, BOILS_C) - (dice.uniform(0.5, 2.0) if dice.random() < 0.02 else 0.0)
            expected = warming_food(food, target, BOILS_C)
        else:
            food = 0.5 + (food - 0.5) * math.exp(-cool * minutes)
            expected = cooling_food(food, 4.0, BOILS_C)
        found.append(Sent(second, shown(dice, food, noise, step), expected))
    # The probe itself, between two pans: out into the air, then into the cold.
    return [replace(s, celsius=room + 8.0) if abs(s.second - chilled) < every / 2 else s for s in found]


def freezing(seed: int) -> list[Sent]:
    """Food that freezes: falls, stands on its plateau for hours, falls on."""
    dice = random.Random(seed)
    noise, step, plateau = dice.uniform(0.03, 0.2), dice.choice([0.1, 0.5, 1.0]), dice.uniform(-3.0, -1.5)
    food, left, last, found = dice.uniform(3.0, 6.0), dice.uniform(100.0, 250.0), 0.0, []
    for second in ticks(dice, 8.0):
        minutes, last = max(second - last, 0.0) / 60.0, second
        if food > plateau:
            food = max(plateau, food - 0.12 * minutes)
        elif left > 0:
            left -= minutes
            food -= 0.004 * minutes
        else:
            food = -28.0 + (food + 28.0) * math.exp(-0.01 * minutes)
        found.append(Sent(second, shown(dice, food, noise, step), cooling_food(food, -18.0, BOILS_C)))
    return found


Curve = Callable[[int], list[Sent]]
HEALTHY: dict[str, Curve] = {
    "fridge": store,
    "freezer": freezer,
    "pan to bath": from_pan_to_bath,
    "freezing": freezing,
}


def heating(seed: int, hours: float = 1.5) -> list[Sent]:
    """A slow pan, far from its target all the while."""
    dice = random.Random(seed)
    noise = dice.uniform(0.05, 0.3)
    curve = ((s, 20.0 + 60.0 * s / (hours * 3600.0)) for s in ticks(dice, hours))
    return [Sent(s, shown(dice, c, noise, 0.1), warming_food(c, 95.0, BOILS_C)) for s, c in curve]


def at_step(sent: list[Sent]) -> list[Sent]:
    """The same with what is expected worked out from what is shown, as it is in a kitchen."""
    return [replace(s, expected=warming_food(s.celsius, 95.0, BOILS_C)) for s in sent]


def judged(sent: list[Sent], battery: Callable[[float], float | None] = lambda _: None) -> tuple[set[Sign], int]:
    """Every sign that was ever found on one probe by itself, and how often a finding came."""
    probe, clock = OneProbe(), ProbeClock()
    ever: set[Sign] = set()
    came, before = 0, set[Sign]()
    for one in sent:
        probe.fold(one.second, one.celsius, one.expected, battery_percent=battery(one.second))
        clock.fold(one.second, one.second + 0.4)
        now = {finding.sign for finding in (*probe.findings(), *clock.findings())}
        came += len(now - before)
        ever, before = ever | now, now
    return ever, came


def beside(curves: dict[str, tuple[str, list[Sent]]]) -> dict[str, tuple[Finding, ...]]:
    """What several probes say of each other in the end; by name: the air they share, and the curve."""
    together = Together()
    for name, (air, _) in curves.items():
        together.place(name, air)
    merged = sorted(((s.second, name, s) for name, (_, sent) in curves.items() for s in sent), key=lambda row: row[:2])
    for _, name, one in merged:
        together.fold(name, one.second, one.celsius, one.expected)
    return {name: together.findings(name) for name in curves}
