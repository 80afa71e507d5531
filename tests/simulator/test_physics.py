"""The simulated heat against closed forms and known behaviour."""

import random
from datetime import UTC, datetime, timedelta

import pytest

from orchestrator.core.ids import EquipmentId, ProbeId, StationId
from orchestrator.core.models import Equipment, Floor, Kitchen, Probe
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.simulator.matter import DRY, EVAPORATION_KJ_PER_KG, MIX, WATER, Body
from orchestrator.simulator.physics import Physics, Thermometers
from orchestrator.simulator.places import Build, Place
from orchestrator.simulator.scene import Occupant, Scene, scene_of
from tests.core.test_by_products import cooked

NOW = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


def machine(name: str, kind: str, floor: Floor, store: bool = False) -> Equipment:
    litres = Quantity(value=60, unit=Unit.LITRE)
    return Equipment(
        id=EquipmentId(name), name=name, kind=kind, station=StationId("s"), floor=floor, capacity=litres, store=store
    )


def kitchen() -> Kitchen:
    places = (
        machine("hob", "hob", Floor.WARM),
        machine("bath", "ice bath", Floor.COLD),
        machine("fridge", "fridge", Floor.COLD, store=True),
        machine("blast", "blast freezer", Floor.HARD),
        machine("freezer", "freezer", Floor.HARD, store=True),
    )
    probes = tuple(
        Probe(id=ProbeId(f"{e.id}-probe"), name=e.name, equipment=e.id, reads="air" if e.store else "core")
        for e in places
    )
    return Kitchen(
        name="k", time_zone="Europe/London", planning_start=NOW, stations=(), equipment=places, crew=(),
        probes=probes, recipes=(), orders=(),
    )  # fmt: skip


def in_place(place: str, drive_c: float | None = None, mass_kg: float = 5.0, busy: bool = False) -> Scene:
    return Scene((Occupant("C1", EquipmentId(place), "mix", mass_kg, drive_c),), busy)


def test_bench_newton_cooling_follows_the_closed_form() -> None:
    """Textbook exercise: 95 to 61 degrees C in 30 min at 20 degrees C gives k = 0.0201305 /min."""
    rate_per_min = 0.0201305
    body = Body.at(DRY, 2.0, 95.0)
    w_per_k_kg = rate_per_min / 60.0 * 1.8 * 1000.0  # k = UA / (m c), with c = 1.8 kJ/(kg K)
    place = Place(Build("bench", w_per_k_kg), 20.0, 20.0)
    for _ in range(360):
        place.step(5.0, [body], [None], False, random.Random(1))
    assert body.celsius == pytest.approx(61.0, abs=0.05)


def test_water_on_a_strong_fire_does_not_pass_100_c() -> None:
    """Water at one atmosphere boils at 100 degrees C (99.97 by IAPWS-IF97); the heat goes into steam."""
    body = Body.at(WATER, 4.0, 95.0)
    place = Place(Build("fire", 0.0, power_w=1500.0), 20.0, 20.0)
    hottest = 0.0
    for _ in range(180):
        place.step(10.0, [body], [140.0], False, random.Random(1))
        hottest = max(hottest, body.celsius)
    heated_kj = 1.5 * 1800.0
    to_boil_kj = 4.0 * 4.19 * 5.0
    assert hottest == pytest.approx(100.0, abs=1e-6)
    assert 4.0 - body.mass_kg == pytest.approx((heated_kj - to_boil_kj) / EVAPORATION_KJ_PER_KG, rel=1e-3)


def test_freezing_water_stays_on_its_plateau_until_its_heat_is_gone() -> None:
    """334 kJ/kg at 0 degrees C (from memory), taken at a steady 100 W from one kilogram: 3340 s."""
    body = Body.at(WATER, 1.0, 0.0)
    below = 0
    for second in range(1, 4000):
        body.heat(-0.1)
        if body.celsius < -0.03:
            below = second
            break
    assert below == pytest.approx(3340, rel=0.01)


def test_mix_freezing_loses_temperature_slower_at_minus_3_than_at_plus_3() -> None:
    warm, freezing = Body.at(MIX, 1.0, 4.0), Body.at(MIX, 1.0, -2.6)
    warm.heat(-3.4)
    freezing.heat(-3.4)
    assert 4.0 - warm.celsius == pytest.approx(1.0)
    assert -2.6 - freezing.celsius == pytest.approx(3.4 / 60.0)


def test_enthalpy_and_temperature_are_inverse() -> None:
    for material in (WATER, MIX, DRY):
        for tenth in range(-400, 990, 7):
            celsius = tenth / 10.0
            assert material.celsius(material.enthalpy(celsius)) == pytest.approx(celsius, abs=1e-6)


def test_base_on_the_hob_reaches_its_temperature_and_stays_below_its_ceiling() -> None:
    physics = Physics(kitchen(), NOW)
    hottest = 0.0
    for minute in range(1, 61):
        physics.advance(NOW + timedelta(minutes=minute), in_place("hob", drive_c=83.5))
        hottest = max(hottest, physics.core_c("C1") or 0.0)
    assert 82.0 < hottest <= 83.5


def test_base_goes_into_the_ice_bath_hot_and_falls_below_4_c() -> None:
    physics = Physics(kitchen(), NOW)
    physics.advance(NOW + timedelta(minutes=60), in_place("hob", drive_c=83.5))
    hot = physics.core_c("C1") or 0.0
    physics.advance(NOW + timedelta(minutes=62), in_place("bath"))
    soon = physics.core_c("C1") or 0.0
    physics.advance(NOW + timedelta(minutes=105), in_place("bath"))
    assert hot > 82.0
    assert 60.0 < soon < hot
    assert 0.0 < (physics.core_c("C1") or 0.0) < 4.0


def test_hardening_falls_below_minus_18_c_within_hours_not_minutes() -> None:
    physics = Physics(kitchen(), NOW)
    physics.bodies["C1"] = Body.at(MIX, 4.0, -5.5)
    cold = None
    for minute in range(1, 361):
        physics.advance(NOW + timedelta(minutes=minute), in_place("blast", mass_kg=4.0))
        if cold is None and (physics.core_c("C1") or 0.0) <= -18.0:
            cold = minute
    assert cold is not None
    assert 60 < cold < 240


def test_freezer_with_its_door_left_open_warms_past_minus_15_c_and_recovers() -> None:
    physics = Physics(kitchen(), NOW)
    freezer = physics.places[EquipmentId("freezer")]
    physics.advance(NOW + timedelta(hours=1), Scene())
    assert freezer.air_c < -18.0
    physics.leave_open(EquipmentId("freezer"), 45)
    physics.advance(NOW + timedelta(hours=1, minutes=40), Scene())
    assert freezer.air_c > -12.0
    assert freezer.door_open_s > 0.0
    physics.advance(NOW + timedelta(hours=3), Scene())
    assert freezer.air_c < -18.0


def test_stores_with_doors_in_use_hold_their_temperatures_for_a_day() -> None:
    physics = Physics(kitchen(), NOW)
    fridge, freezer = [], []
    for minute in range(1, 24 * 60):
        physics.advance(NOW + timedelta(minutes=minute), Scene(busy=True))
        fridge.append(physics.places[EquipmentId("fridge")].air_c)
        freezer.append(physics.places[EquipmentId("freezer")].air_c)
    assert sum(t > 5.0 for t in fridge) < 30
    assert sum(t > -18.0 for t in freezer) < 30
    assert min(fridge) > 0.5


def test_left_over_in_a_fridge_has_a_temperature_that_a_thermometer_finds() -> None:
    """It comes to that of the fridge's air, and warms with it when somebody turns the thermostat up."""
    script = cooked()
    assert script.state.kitchen is not None
    physics, scene = Physics(script.state.kitchen, script.now), scene_of(script.state)
    assert ("C1-left-1", "fridge") in {(o.key, o.place) for o in scene.occupants}
    physics.advance(script.now + timedelta(hours=2), scene)
    cold = physics.core_c("C1-left-1")
    assert cold is not None
    assert 0.0 <= cold <= 5.0
    physics.places[EquipmentId("fridge")].set_c = 12.0
    physics.advance(script.now + timedelta(hours=10), scene)
    warm = physics.core_c("C1-left-1")
    assert warm is not None
    assert warm > cold + 2.0


def test_saved_physics_goes_on_where_it_stopped() -> None:
    first = Physics(kitchen(), NOW)
    first.advance(NOW + timedelta(minutes=40), in_place("hob", drive_c=83.5))
    second = Physics(kitchen(), NOW)
    second.restore(first.saved())
    assert second.saved() == first.saved()
    assert second.core_c("C1") == first.core_c("C1")


def test_thermometers_measure_on_their_interval_and_fall_silent_when_told() -> None:
    physics = Physics(kitchen(), NOW)
    thermometers = Thermometers(kitchen(), physics)
    silent = ProbeId("fridge-probe")
    thermometers.silent_until[silent] = NOW + timedelta(minutes=5)
    readings = thermometers.measure(NOW + timedelta(minutes=9), Scene)
    assert len([r for r in readings if r[0] == silent]) == 5
    assert [r[2] for r in readings if r[0] == "hob-probe"] == [NOW + timedelta(minutes=m) for m in range(10)]
    assert [r[3] for r in readings if r[0] == "hob-probe"] == list(range(1, 11))


def test_same_seed_gives_the_same_readings() -> None:
    def run(seed: int) -> list[tuple[ProbeId, float, datetime, int]]:
        return Thermometers(kitchen(), Physics(kitchen(), NOW, seed)).measure(NOW + timedelta(minutes=20), Scene)

    assert run(3) == run(3)
    assert run(3) != run(4)
