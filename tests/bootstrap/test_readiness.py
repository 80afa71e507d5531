"""``/readyz`` tells the truth: each thing it looks at is broken in turn, named with its remedy, and mended."""

import asyncio
import json
import sqlite3
import time
import urllib.error
import urllib.request
from collections.abc import AsyncIterator, Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pg8000.native
import pytest
from prometheus_client.parser import text_string_to_metric_families

from orchestrator.adapters.data_server import DataServer
from orchestrator.adapters.planner_process import PlannerProcess
from orchestrator.bootstrap import Hooks, Settings, System, build
from orchestrator.bootstrap.self_watch import SelfWatch
from orchestrator.core.commands import StopMachine
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CommandId, CrewId, EquipmentId, ProbeId
from orchestrator.gateway.door import Accepted
from orchestrator.ports.event_log import LogUnavailable, Reading
from tests.bootstrap.test_system import EXAMPLE
from tests.fakes import workers
from tests.fakes.planners import ScriptedPlanner
from tests.fakes.postgres import Postgres


@pytest.fixture
async def serve(tmp_path: Path) -> AsyncIterator[Callable[..., Any]]:
    systems: list[System] = []

    async def start(planner: Any = None, **changes: Any) -> System:
        told = {"data": tmp_path / "data", "kitchen": EXAMPLE, "broker": "none", **changes}
        system = build(Settings(**told), Hooks(planner=planner or ScriptedPlanner(lambda request: None)))
        await system.start()
        systems.append(system)
        return system

    yield start
    for system in systems:
        await system.stop()


def get(url: str, **headers: str) -> tuple[int, str]:
    try:
        with urllib.request.urlopen(urllib.request.Request(url, headers=headers), timeout=10) as answer:
            return answer.status, answer.read().decode()
    except urllib.error.HTTPError as fault:
        return fault.code, fault.read().decode()


async def ready(system: System) -> tuple[int, dict[str, str]]:
    """Status of ``/readyz``, and what is amiss that it needs, by name."""
    status, body = await asyncio.to_thread(get, f"{system.url}/readyz")
    told = json.loads(body)
    assert told["ready"] is (status == 200)
    return status, {one["name"]: one["says"] for one in told["checks"] if one["needed"] and not one["ok"]}


async def until(system: System, status: int) -> dict[str, str]:
    async with asyncio.timeout(120):
        while (found := await ready(system))[0] != status:
            await asyncio.sleep(0.1)
    return found[1]


def stop_churn(number: int) -> StopMachine:
    return StopMachine(
        command_id=CommandId(f"act-{number}"), equipment=EquipmentId("churn"), reason="belt", person=CrewId("manager")
    )


async def test_ready_when_all_is_well_and_healthz_says_only_that_it_lives(serve: Callable[..., Any]) -> None:
    system = await serve(broker="embedded")
    assert await until(system, 200) == {}
    status, body = await asyncio.to_thread(get, f"{system.url}/healthz")
    assert (status, json.loads(body)["status"]) == (200, "ok")


async def test_ready_asked_through_a_proxy_names_no_folder(serve: Callable[..., Any]) -> None:
    system = await serve()
    status, body = await asyncio.to_thread(get, f"{system.url}/readyz", **{"X-Forwarded-For": "192.0.2.7"})
    assert status == 200
    assert {tuple(sorted(check)) for check in json.loads(body)["checks"]} == {("name", "needed", "ok")}
    assert (await asyncio.to_thread(get, f"{system.url}/metrics", Forwarded="for=192.0.2.7"))[0] == 403


async def test_not_ready_while_the_log_is_locked_and_well_again_by_itself(
    serve: Callable[..., Any], tmp_path: Path
) -> None:
    system = await serve()
    other = sqlite3.connect(tmp_path / "data" / "events.db", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    refused = await system.gateway.submit_async(stop_churn(1))
    assert isinstance(refused, Refusal)
    status, amiss = await ready(system)
    assert (status, list(amiss)) == (503, ["log"])
    assert "events.db is locked by another program; close the other program that has it open" in amiss["log"]
    assert (await asyncio.to_thread(get, f"{system.url}/healthz"))[0] == 200
    other.execute("ROLLBACK")
    other.close()
    await until(system, 200)
    assert isinstance(await system.gateway.submit_async(stop_churn(1)), Accepted)


async def test_log_locked_while_nobody_acts_is_found_out(
    serve: Callable[..., Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("orchestrator.engine.loop._TRIED_EVERY_S", 1.0)
    system = await serve()
    other = sqlite3.connect(tmp_path / "data" / "events.db", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    assert list(await until(system, 503)) == ["log"]
    other.execute("ROLLBACK")
    other.close()
    await until(system, 200)


async def test_not_ready_while_readings_cannot_be_kept(serve: Callable[..., Any], tmp_path: Path) -> None:
    system = await serve()
    at = datetime.now(UTC)
    reading = [Reading(ProbeId("fridge-air"), 3.5, at, at, seq=1)]
    other = sqlite3.connect(tmp_path / "data" / "readings.db", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(LogUnavailable):
        await system.engine.on_readings(reading)
    status, amiss = await ready(system)
    assert (status, list(amiss)) == (503, ["readings"])
    assert "readings.db is locked by another program" in amiss["readings"]
    other.execute("ROLLBACK")
    other.close()
    await system.engine.on_readings(reading)
    assert (await ready(system))[0] == 200


async def test_not_ready_without_the_broker_it_was_given(serve: Callable[..., Any]) -> None:
    system = await serve(broker="mqtt://127.0.0.1:9")  # discard: nothing listens there
    assert await until(system, 503) == {
        "broker": "mqtt://127.0.0.1:9 does not answer: probes are not heard. Measure by hand meanwhile."
    }


async def test_not_ready_when_a_planner_dies_and_it_is_started_again(serve: Callable[..., Any]) -> None:
    planner = PlannerProcess(workers.idle, workers.idle)
    planner.start()
    try:
        system = await serve(planner)
        await until(system, 200)
        assert planner.quick.process is not None
        planner.quick.process.kill()
        planner.quick.process.join(5)
        amiss = system.watch.vitals().amiss
        assert [(c.name, c.reason) for c in amiss if c.needed] == [("planner", "planner_dead")]
        await until(system, 200)
        assert [(one.alive, one.starts) for one in planner.staff()] == [(True, 2), (True, 1)]
    finally:
        await planner.close()


async def test_not_ready_with_a_clock_before_its_own_record(serve: Callable[..., Any]) -> None:
    system = await serve()
    system.watch._parts.log.last_at = datetime.now(UTC) + timedelta(hours=2)
    status, amiss = await ready(system)
    assert (status, list(amiss)) == (503, ["clock"])
    assert "set the computer's clock" in amiss["clock"]


async def test_not_ready_with_a_disk_almost_full(serve: Callable[..., Any]) -> None:
    system = await serve()
    system.watch._disk_usage = lambda place: (10 * 1024**3, 10 * 1024**3, 100 * 1024**2)
    amiss = await until(system, 503)
    assert list(amiss) == ["disk"]
    assert amiss["disk"].startswith("Only 100 MiB free at ")


async def test_not_ready_while_the_kitchens_lock_is_lost(server: Postgres, serve: Callable[..., Any]) -> None:
    url = server.url()
    system = await serve(database=url)
    await until(system, 200)
    off_s = system.watch.vitals().clock.server_off_s
    assert off_s is None or abs(off_s) < 5  # both on this machine
    other = DataServer(url)
    admin = pg8000.native.Connection("coldwright", "127.0.0.1", "postgres", server.port, "of-these-tests")
    # The connection that holds the lock is cut, and somebody else is quicker: nobody else has advisory locks there.
    admin.run(
        "SELECT pg_terminate_backend(pid) FROM pg_locks WHERE locktype = 'advisory' AND objid = :key",
        key=other._key() & 0xFFFFFFFF,
    )
    async with asyncio.timeout(120):
        while not await asyncio.to_thread(other.regain):
            await asyncio.sleep(0.01)
    assert list(await until(system, 503)) == ["pen"]
    assert "is written by another service now" in await asyncio.wait_for(system.lost(), 120)
    other.release()
    admin.close()


async def test_vitals_a_loop_that_stood_is_told(serve: Callable[..., Any]) -> None:
    system = await serve()
    async with asyncio.timeout(60):
        while not (late := [c.reason for c in system.watch.vitals().amiss if c.name == "loop"]):
            time.sleep(3.2)
            await asyncio.sleep(0.2)
    assert late == ["loop_late"]


async def test_vitals_a_loop_that_was_late_for_the_start_itself_is_not_told(
    serve: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    order: list[str] = []
    began, eased = SelfWatch.started, System._ease_the_loop
    monkeypatch.setattr(SelfWatch, "started", lambda watch: (order.append("started"), began(watch))[-1])
    monkeypatch.setattr(System, "_ease_the_loop", lambda system: (order.append("served"), eased(system))[-1])
    system = await serve()
    assert order == ["served", "started"]
    now_s = [1000.0]
    watch = SelfWatch(system.watch._parts, wall=lambda: now_s[0], monotonic=lambda: now_s[0])
    looking = asyncio.create_task(watch.run())
    while watch._disk is None:  # it has looked, and sleeps until the next look
        await asyncio.sleep(0.01)
    now_s[0] += 9.0
    watch.started()
    now_s[0] += 1.0
    async with asyncio.timeout(60):
        while watch._beat_at != now_s[0]:  # it has looked again
            await asyncio.sleep(0.01)
    assert watch.vitals().lag_s == 0.0
    async with asyncio.timeout(60):
        while watch.vitals().lag_s == 0.0:
            now_s[0] += 9.0
            await asyncio.sleep(1.2)
    assert watch.vitals().lag_s >= 8.0, "what comes after the start is told"
    looking.cancel()


async def test_metrics_are_read_by_prometheus_own_parser(serve: Callable[..., Any]) -> None:
    """Source: prometheus_client's parser of the text format; units by Prometheus, "Metric and label naming"."""
    system = await serve()
    assert isinstance(await system.gateway.submit_async(stop_churn(1)), Accepted)
    unknown = stop_churn(2).model_copy(update={"equipment": EquipmentId("no-such")})
    assert isinstance(await system.gateway.submit_async(unknown), Refusal)
    at = datetime.now(UTC)
    await system.engine.on_readings([Reading(ProbeId("fridge-air"), 3.5, at, at, seq=1)])
    system.rejected.by_reason["malformed"] = 3
    status, text = await asyncio.to_thread(get, f"{system.url}/metrics")
    assert status == 200
    families = {family.name: family for family in text_string_to_metric_families(text)}
    found = {(s.name, *sorted(s.labels.values())): s.value for f in families.values() for s in f.samples}
    assert found["coldwright_commands_total", "accepted", "stop_machine"] == 1
    assert found["coldwright_commands_total", "stop_machine", "unknown"] == 1
    assert found["coldwright_acknowledgement_seconds_count",] >= 3
    assert found["coldwright_events_total",] == system.gateway.snapshot().state.seq == found["coldwright_log_head",]
    assert found["coldwright_readings_kept_total",] == 1
    assert found["coldwright_readings_rejected_total", "malformed"] == 3
    assert (
        found["coldwright_writer_held",] == found["coldwright_ready",] == found["coldwright_writer_turns_total",] == 1
    )
    assert found["coldwright_disk_free_bytes",] > 0
    assert {"coldwright_streams_open", "coldwright_screens", "coldwright_loop_lag_seconds"} <= set(families)
    ours = [family for name, family in families.items() if name.startswith("coldwright_")]
    assert [family.name for family in ours if not family.documentation.endswith(".")] == []
    units = ("_ms", "_minutes", "_percent", "_kilobytes", "_milliseconds")
    assert [family.name for family in ours if family.name.endswith(units)] == []
