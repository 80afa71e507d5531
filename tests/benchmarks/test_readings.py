"""The bench of readings measures what it says; how long it takes is no matter of a test."""

from orchestrator.core.models import Process
from orchestrator.engine.assess import Assessor
from orchestrator.ports.event_log import Reading
from tests.benchmarks.readings import BEGUN, _decoded, _measured, celsius, measurements, message, scene, tables


def test_scene_keeps_every_probe_at_its_full_work_and_healthy() -> None:
    kitchen, state = scene(10)
    assessor, readings = Assessor(kitchen), list[Reading]()
    _decoded(kitchen, [message(probe, minute) for minute in range(200) for probe in range(10)], readings)
    facts = [assessor.fold(reading, state) for reading in readings][-10:]
    assert len(readings) == 2000
    assert [fact.health for fact in facts] == [()] * 10
    in_food = [fact for fact in facts if fact.task is not None]
    assert len(in_food) == 5
    assert all(fact.verdict is not None and fact.reached_at is not None for fact in in_food)
    assert readings[0].celsius == celsius(0, 0)
    assert readings[0].measured_at == BEGUN
    assert Process.COOK in {s.process for r in kitchen.recipes for s in r.steps}


def test_figures_of_one_size_make_one_line() -> None:
    figures = _measured(10, 20)
    assert figures["bare_us"] > 0
    text = tables({"one": figures})
    assert text.count("\n| 10 probes, 20") == 1


def test_measurements_grow_only_where_asked() -> None:
    short, full = measurements(full=False), measurements(full=True)
    assert len(full) == 9
    assert {m.key for m in short} < {m.key for m in full}
