"""The bench of readings measures what it says; how long it takes is no matter of a test."""

from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.engine.assess import Assessor
from orchestrator.ports.event_log import Reading
from tests.benchmarks.reading_scenes import BEGUN, KINDS, celsius, message, scene
from tests.benchmarks.readings import _decoded, _measured, measurements, tables

MANY = 2 * len(KINDS)


def test_scene_keeps_every_probe_at_its_full_work_and_healthy() -> None:
    kitchen, state = scene(MANY)
    assessor, readings = Assessor(kitchen), list[Reading]()
    of = 1500
    _decoded(kitchen, [message(probe, count, of) for count in range(of) for probe in range(MANY)], readings)
    facts = [assessor.fold(reading, state) for reading in readings][-MANY:]
    assert [fact.health for fact in facts] == [()] * MANY
    quick, slow, met, cooled, fridge, freezer = facts[: len(KINDS)]
    said = [fact.verdict.status for fact in (quick, slow, met, cooled) if isinstance(fact.verdict, LimitVerdict)]
    assert said[2:] == ["met", "not yet"]
    assert "met" not in said[:2]
    assert [fact.reached_at is None for fact in (quick, slow, met, cooled)] == [True, True, False, True]
    assert (quick.arrival_from is not None, cooled.arrival_from is not None) == (True, True)
    assert cooled.cooling == "on course"
    assert (len(fridge.kept), len(freezer.kept)) == (0, 1)
    assert (fridge.outside_since, freezer.outside_since) == (None, None)
    assert readings[0].celsius == celsius(0, 0, of)
    assert readings[0].measured_at == BEGUN


def test_figures_of_one_size_make_one_line() -> None:
    figures = _measured(12, 20)
    assert figures["bare_us"] > 0
    assert all(0 < figures[kind.name]["p50_us"] <= figures[kind.name]["p99_us"] for kind in KINDS)
    text = tables({"one": figures})
    assert text.count("\n| 12 probes, 20") == 1


def test_measurements_grow_only_where_asked() -> None:
    short, full = measurements(full=False), measurements(full=True)
    assert len(full) == 9
    assert {m.key for m in short} < {m.key for m in full}
