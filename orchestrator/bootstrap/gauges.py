"""What is read off for Prometheus when somebody asks: the state of kitchen and service as numbers."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime

from orchestrator.adapters.prometheus_meter import Gauge, age_s
from orchestrator.core.state import State
from orchestrator.engine.picture import Picture
from orchestrator.gateway.vitals import Vitals
from orchestrator.ports.probes import RejectedCounts


def gauges(
    vitals: Callable[[], Vitals], picture: Callable[[], Picture], rejected: RejectedCounts
) -> Callable[[], Iterator[Gauge]]:
    """A function that reads everything off, each time anew."""

    def read_off() -> Iterator[Gauge]:
        found, seen = vitals(), picture()
        yield from _service(found, seen)
        yield from _kept(found)
        yield from _kitchen(seen)
        for reason, count in dict(rejected.by_reason).items():
            yield Gauge(
                "coldwright_readings_rejected", "Readings turned away.", count, (("reason", reason),), counts=True
            )

    return read_off


def _service(found: Vitals, seen: Picture) -> Iterator[Gauge]:
    name = seen.state.kitchen.name if seen.state.kitchen is not None else ""
    yield Gauge("coldwright_info", "What runs.", 1, (("version", found.version), ("kitchen", name)))
    yield Gauge("coldwright_ready", "Whether everything needed holds.", found.ready)
    for check in found.checks:
        yield Gauge("coldwright_check_ok", "Whether a thing looked at is well.", check.ok, (("check", check.name),))
        if check.name == "pen":
            yield Gauge("coldwright_writer_held", "Whether the lock on the record is ours.", check.ok)
    yield Gauge("coldwright_writer_turns", "Services that had the record's pen so far.", found.turns, counts=True)
    yield Gauge("coldwright_loop_lag_seconds", "The longest lag of the loop within a minute.", found.lag_s)
    if found.clock is not None:
        yield Gauge("coldwright_clock_set_seconds", "How far the clock was set since the start.", found.clock.set_by_s)
        if found.clock.server_off_s is not None:
            off_s = found.clock.server_off_s
            yield Gauge("coldwright_clock_off_server_seconds", "How far it is ahead of the database's.", off_s)
    for one in found.planners:
        who = (("process", one.name),)
        yield Gauge("coldwright_planner_up", "Whether a planner's process runs.", one.alive, who)
        yield Gauge("coldwright_planner_starts", "How often it was started.", one.starts, who, counts=True)


def _kept(found: Vitals) -> Iterator[Gauge]:
    yield Gauge("coldwright_log_head", "Number of the newest record.", found.seq)
    if found.disk is not None:
        yield Gauge("coldwright_disk_free_bytes", "Free on the disk with the record.", found.disk.free_bytes)
        yield Gauge("coldwright_disk_size_bytes", "Size of the disk with the record.", found.disk.total_bytes)
    if found.backup is not None:
        age = age_s(found.backup.made_at)
        yield Gauge("coldwright_backup_age_seconds", "Since the last backup that was proven good.", age)
        yield Gauge("coldwright_backups", "Backups kept.", found.backup.kept)


def _kitchen(seen: Picture) -> Iterator[Gauge]:
    state = seen.state
    now = datetime.now(UTC) if seen.rate == 1 else seen.now
    yield Gauge("coldwright_plan_age_seconds", "Since a plan was last adopted.", age_s(state.adopted_at, now))
    yield Gauge("coldwright_plan_revision", "Plans adopted so far.", state.revision)
    yield Gauge("coldwright_planning", "Whether the planner is at work.", seen.planning)
    silent = sum(1 for fact in seen.facts.values() if fact.silent_since is not None)
    yield Gauge("coldwright_probes", "Probes of the kitchen.", len(state.kitchen.probes) if state.kitchen else 0)
    yield Gauge("coldwright_probes_silent", "Probes that have not been heard when they should have.", silent)
    yield Gauge("coldwright_alarms", "Alarms that stand.", _standing(state))


def _standing(state: State) -> int:
    return sum(1 for alarm in state.alarms.values() if alarm.returned_at is None)
