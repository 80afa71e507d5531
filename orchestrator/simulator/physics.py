"""The kitchen's temperatures in simulated time: integrated in small steps, saved and taken up again."""

import random
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any, Final

from orchestrator.core.ids import EquipmentId, ProbeId
from orchestrator.core.models import Kitchen, Probe
from orchestrator.simulator.matter import MATERIALS, Body
from orchestrator.simulator.places import BENCH, ROOM_C, Place
from orchestrator.simulator.scene import Occupant, Scene

_STEP_S: Final = 20.0
_FORGET: Final = timedelta(hours=12)
_FRESH_C: Final = 14.0
"""Ingredients as they come to the bench, from the cold store and the shelf."""
_LONGEST: Final = timedelta(hours=24)
"""A gap longer than this (the program was off) is not integrated: everything is as it was."""


class Physics:
    """Temperatures of every place and every lot.

    Args:
        kitchen: Whose equipment and probes there are.
        at: The instant at which it begins.
        seed: Of noise, doors and defrosts.
    """

    def __init__(self, kitchen: Kitchen, at: datetime, seed: int = 0) -> None:
        self.at = at
        self.seed = seed
        self._rng = random.Random(f"physics {seed}")
        self._equipment = {e.id: e for e in kitchen.equipment}
        self.places = {e.id: Place.of(e) for e in kitchen.equipment}
        self.bodies: dict[str, Body] = {}
        self._where: dict[str, EquipmentId] = {}
        self._seen: dict[str, datetime] = {}
        for number, place in enumerate(self.places.values()):
            place.since_defrost_s = 3600.0 * number  # not all at once

    def advance(self, to: datetime, scene: Scene) -> None:
        """Let time pass until ``to`` with this food in these places."""
        if to - self.at > _LONGEST:
            self.at = to
        inside = self._settle(scene, to)
        while self.at < to:
            seconds = min(_STEP_S, (to - self.at).total_seconds())
            self._step(seconds, inside, scene.busy)
            self.at += timedelta(seconds=seconds)

    def leave_open(self, place: EquipmentId, minutes: float) -> None:
        """Somebody left a door open."""
        self.places[place].door_open_s = minutes * 60.0

    def shut(self, place: EquipmentId) -> None:
        """Somebody shut it."""
        self.places[place].door_open_s = 0.0

    def core_c(self, key: str) -> float | None:
        """True temperature of a lot, °C; None if it is not there."""
        body = self.bodies.get(key)
        return None if body is None else body.celsius

    def reads(self, probe: Probe) -> float:
        """What the probe shows now, °C: true value, noise, one decimal."""
        place = self.places[probe.equipment]
        true_c = place.air_c
        if probe.reads == "core":
            inside = [
                self.bodies[k] for k, where in self._where.items() if where == probe.equipment and k in self.bodies
            ]
            if inside:
                true_c = inside[-1].celsius
            elif place.build.sort == "fire":
                true_c = ROOM_C
        return round(true_c + self._rng.gauss(0.0, 0.08), 1)

    def _settle(self, scene: Scene, now: datetime) -> dict[EquipmentId, list[Occupant]]:
        """Put food where the scene says; food not seen for long is gone."""
        inside: dict[EquipmentId, list[Occupant]] = {}
        self._where = {}
        for occupant in scene.occupants:
            body = self.bodies.get(occupant.key)
            if body is None or abs(body.mass_kg - occupant.mass_kg) > 0.5 * occupant.mass_kg:
                celsius = self._begins_at(occupant) if body is None else body.celsius
                self.bodies[occupant.key] = Body.at(MATERIALS[occupant.material], occupant.mass_kg, celsius)
            self._seen[occupant.key] = now
            self._where[occupant.key] = occupant.place
            inside.setdefault(occupant.place, []).append(occupant)
        for key in [k for k, seen in self._seen.items() if now - seen > _FORGET]:
            self._seen.pop(key)
            self.bodies.pop(key, None)
        return inside

    def _begins_at(self, occupant: Occupant) -> float:
        place = self.places[occupant.place]
        kept = place.build.sort == "cold" and self._equipment[occupant.place].store
        return place.air_c if kept else _FRESH_C

    def _step(self, seconds: float, inside: dict[EquipmentId, list[Occupant]], busy: bool) -> None:
        for key, place in self.places.items():
            occupants = inside.get(key, [])
            bodies = [self.bodies[o.key] for o in occupants]
            place.step(seconds, bodies, [o.drive_c for o in occupants], busy, self._rng)
        for lot, body in self.bodies.items():
            if lot not in self._where:  # on the bench, between two places
                body.heat(BENCH.food_w_per_k_kg * body.mass_kg * (ROOM_C - body.celsius) * seconds / 1000.0)

    def saved(self) -> dict[str, Any]:
        """Everything needed to go on later, as plain JSON."""
        return {
            "at": self.at.isoformat(),
            "seed": self.seed,
            "places": {
                key: [p.air_c, p.set_c, p.running, p.door_open_s, p.since_defrost_s] for key, p in self.places.items()
            },
            "bodies": {key: [b.material.name, b.mass_kg, b.enthalpy_kj_per_kg] for key, b in self.bodies.items()},
            "seen": {key: at.isoformat() for key, at in self._seen.items()},
        }

    def restore(self, saved: dict[str, Any]) -> None:
        """Take up what `saved` gave; places that no longer exist are left out."""
        self.at = datetime.fromisoformat(saved["at"])
        self._rng = random.Random(f"physics {self.seed} {saved['at']}")
        for key, values in saved["places"].items():
            if place := self.places.get(EquipmentId(key)):
                place.air_c, place.set_c, place.running, place.door_open_s, place.since_defrost_s = values
        self.bodies = {key: Body(MATERIALS[name], mass, h) for key, (name, mass, h) in saved["bodies"].items()}
        self._seen = {key: datetime.fromisoformat(at) for key, at in saved["seen"].items()}


class Thermometers:
    """All probes of a kitchen, each on its own interval, some of them silent."""

    def __init__(self, kitchen: Kitchen, physics: Physics) -> None:
        self._probes = kitchen.probes
        self._physics = physics
        self._next: dict[ProbeId, datetime] = {}
        self.silent_until: dict[ProbeId, datetime] = {}
        self.seq: dict[ProbeId, int] = {}

    def next_due(self) -> datetime:
        """When the next probe measures."""
        return min((self._next.get(p.id, self._physics.at) for p in self._probes), default=self._physics.at)

    def measure(self, now: datetime, scene: Callable[[], Scene]) -> list[tuple[ProbeId, float, datetime, int]]:
        """Readings due by now as (probe, °C, measured at, seq); brings the physics up to each instant."""
        readings = []
        oldest = now - timedelta(minutes=90)
        while (due := self.next_due()) <= now and self._probes:
            self._physics.advance(due, scene())
            for probe in self._probes:
                if self._next.get(probe.id, due) <= due:
                    readings += self._one(probe, due)
                    self._next[probe.id] = max(due + timedelta(minutes=probe.interval), oldest)
        self._physics.advance(now, scene())
        return readings

    def _one(self, probe: Probe, at: datetime) -> list[tuple[ProbeId, float, datetime, int]]:
        silent = self.silent_until.get(probe.id)
        celsius = self._physics.reads(probe)
        if silent is not None and at < silent:
            return []
        self.seq[probe.id] = self.seq.get(probe.id, 0) + 1
        return [(probe.id, celsius, at, self.seq[probe.id])]
