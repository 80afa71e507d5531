"""Machines and stores as heat balances: fires, ice water, cold rooms with doors, compressors and defrosts."""

import random
from dataclasses import dataclass
from typing import Final

from orchestrator.core.models import Equipment
from orchestrator.simulator.matter import DRY, Body

ROOM_C: Final = 20.0
_ICE_WATER_C: Final = 0.4
_FLAME_W_PER_KG: Final = 800.0
_MORE_THAN_ENOUGH_S: Final = 10_000_000.0


@dataclass(frozen=True, slots=True)
class Build:
    """How a kind of place is built; all figures are our own, chosen to behave like a small kitchen's."""

    sort: str
    """``fire``, ``water``, ``cold``, ``oven`` or ``bench``."""
    food_w_per_k_kg: float
    """Heat that passes between food and place, W per K and kg of food."""
    set_c: float = ROOM_C
    power_w: float = 0.0
    air_kj_per_k: float = 30.0
    """Air, walls and shelves together."""
    leak_w_per_k: float = 1.5
    door_w_per_k: float = 28.0
    """What an open door lets in."""
    defrost_every_s: float = _MORE_THAN_ENOUGH_S
    defrost_s: float = 0.0
    openings_per_hour: float = 0.0
    """While people work."""


BUILDS: Final = {
    "hob": Build("fire", food_w_per_k_kg=1.2, power_w=4200.0),
    "ice bath": Build("water", food_w_per_k_kg=6.5, set_c=_ICE_WATER_C),
    "fridge": Build("cold", 0.35, 2.6, 500.0, 60.0, openings_per_hour=4.0, defrost_every_s=21_600.0, defrost_s=600.0),
    "freezer": Build("cold", 0.5, -21.5, 700.0, 80.0, openings_per_hour=2.0, defrost_every_s=43_200.0, defrost_s=720.0),
    "blast freezer": Build("cold", 0.95, -35.0, 2500.0, 60.0, openings_per_hour=1.0),
    "churn": Build("cold", 7.0, -14.0, 3000.0, 40.0, door_w_per_k=0.0),
    "oven": Build("oven", 3.0, 180.0, 9000.0, 25.0, leak_w_per_k=6.0),
    "dehydrator": Build("oven", 2.0, 57.0, 900.0, 8.0, leak_w_per_k=5.0),
}
BENCH: Final = Build("bench", food_w_per_k_kg=0.8)


@dataclass(slots=True)
class Place:
    """A machine or store as it is now."""

    build: Build
    air_c: float
    set_c: float
    running: bool = False
    door_open_s: float = 0.0
    """How long the door still stays open."""
    since_defrost_s: float = 0.0

    @classmethod
    def of(cls, equipment: Equipment) -> "Place":
        """A place at rest: stores at their own temperature, the rest at the room's."""
        build = BUILDS.get(equipment.kind, BENCH)
        set_c = build.set_c
        if equipment.holds is not None and build.sort == "cold":
            set_c = min(set_c, equipment.holds.high - 1.5)
        cold = build.sort in ("cold", "water")
        return cls(build, set_c if cold else ROOM_C, set_c)

    def step(
        self, seconds: float, bodies: list[Body], drives: list[float | None], busy: bool, rng: random.Random
    ) -> None:
        """Let so many seconds pass.

        Args:
            seconds: Length of the step; small against every time constant (30 s and less).
            bodies: The food in it.
            drives: What each is brought to, °C, by whoever minds it; None leaves it to the place.
            busy: Whether people work in the kitchen, who open doors.
            rng: The source of chance.
        """
        match self.build.sort:
            case "fire":
                self._fire(seconds, bodies, drives)
            case "water" | "bench":
                for body in bodies:
                    self._exchange(seconds, body, self.air_c)
            case "oven":
                self._oven(seconds, bodies, drives)
            case _:
                self._cold(seconds, bodies, drives, busy, rng)

    def _exchange(self, seconds: float, body: Body, around_c: float) -> float:
        """Heat into the body, kJ."""
        kj = self.build.food_w_per_k_kg * body.mass_kg * (around_c - body.celsius) * seconds / 1000.0
        body.heat(kj)
        return kj

    def _fire(self, seconds: float, bodies: list[Body], drives: list[float | None]) -> None:
        share = self.build.power_w / max(len(bodies), 1)
        for body, drive in zip(bodies, drives, strict=True):
            self._exchange(seconds, body, ROOM_C)
            if drive is not None:  # the cook turns the flame down over the last eight degrees, and for small pots
                flame_w = min(share, _FLAME_W_PER_KG * body.mass_kg)
                body.heat(flame_w * min(max((drive - body.celsius) / 8.0, 0.0), 1.0) * seconds / 1000.0)

    def _oven(self, seconds: float, bodies: list[Body], drives: list[float | None]) -> None:
        wanted = max((d for d in drives if d is not None), default=None)
        kj = self.build.leak_w_per_k * (ROOM_C - self.air_c) * seconds / 1000.0
        if wanted is not None:
            power = self.build.power_w * min(max((wanted - self.air_c) / 5.0, 0.0), 1.0)
            kj += power * seconds / 1000.0
        for body in bodies:
            kj -= self._exchange(seconds, body, self.air_c)
        self.air_c += kj / self.build.air_kj_per_k

    def _cold(
        self, seconds: float, bodies: list[Body], drives: list[float | None], busy: bool, rng: random.Random
    ) -> None:
        if self.door_open_s <= 0 and busy and rng.random() < self.build.openings_per_hour * seconds / 3600.0:
            self.door_open_s = rng.uniform(20.0, 75.0)
        leak = self.build.leak_w_per_k + (self.build.door_w_per_k if self.door_open_s > 0 else 0.0)
        kj = leak * (ROOM_C - self.air_c) * seconds / 1000.0
        self.since_defrost_s += seconds
        defrosting = self.since_defrost_s > self.build.defrost_every_s
        if defrosting:
            kj += 0.15 * seconds  # a heater of 150 W frees the coil
            self.running = False
            if self.since_defrost_s > self.build.defrost_every_s + self.build.defrost_s:
                self.since_defrost_s = 0.0
        elif self.air_c > self.set_c + 0.8:
            self.running = True
        elif self.air_c < self.set_c - 0.8:
            self.running = False
        if self.running:
            kj -= self.build.power_w * seconds / 1000.0
        for body, drive in zip(bodies, drives, strict=True):
            if drive is None or body.celsius > drive:  # a churn stops drawing heat at its drawing temperature
                kj -= self._exchange(seconds, body, self.air_c)
        self.air_c += kj / self.build.air_kj_per_k
        self.door_open_s = max(self.door_open_s - seconds, 0.0)


def driven_to(material_is_dry: bool, process: str) -> float | None:
    """What a cook brings food to where the recipe gives no target, °C (common practice)."""
    usual = {"blanch": 100.0, "simmer": 96.0, "reduce": 101.0, "cook": 82.0, "roast": 160.0, "bake": 180.0}
    usual["dehydrate"] = 57.0
    if process == "churn":
        return -5.5
    return usual.get(process, 60.0 if material_is_dry else None)


__all__ = ["BENCH", "BUILDS", "DRY", "ROOM_C", "Build", "Place", "driven_to"]
