"""What counts as well: each check with its bound and the sentence that says how it is."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Final

from orchestrator.adapters.database_planner import NOBODY
from orchestrator.engine import Engine
from orchestrator.gateway.vitals import Check, Value, Vitals
from orchestrator.ports.probes import ProbeFeed

BUSY_S: Final = 10.0
"""A commit takes milliseconds; a writer that has been at one for so long stands."""
BEHIND_S: Final = 60.0
"""A clock that stands so far before its own newest record, or off the database server's, is wrong."""
LEAST_FREE: Final = 256 * 1024**2
"""Bytes: some weeks of a small kitchen's record and readings, so that there is time to make room."""
BACKUP_AGE: Final = timedelta(days=2)
"""One night may be missed."""
LAG_S: Final = 2.0
"""A tap that waits longer than this for the loop alone is felt."""


def checks(
    facts: Vitals, engine: Engine, feed: ProbeFeed | None, *, holds: bool, behind_s: float, practice: bool = False
) -> Vitals:
    """The facts with everything that was looked at.

    Args:
        facts: What was seen.
        engine: What it says of itself is asked now.
        feed: Of the probes; none without a broker.
        holds: Whether the lock on the record is ours.
        behind_s: How far the clock stands before the newest record.
        practice: What is made up needs no backup and no proof.
    """
    found = (
        _pen(facts, holds=holds),
        _log(engine),
        _readings(engine),
        _loop(facts),
        *_broker(facts, feed),
        _planner(facts, engine),
        _clock(facts, behind_s),
        *_disk(facts),
        *(() if practice else (_backup(facts), _proof(facts), *_files(facts))),
    )
    return replace(facts, checks=found)


def _pen(facts: Vitals, *, holds: bool) -> Check:
    return Check(
        "pen", holds, True, "pen_held" if holds else "pen_lost", {"place": facts.place, "holder": facts.holder}
    )


def _log(engine: Engine) -> Check:
    if engine.busy_s > BUSY_S:
        return Check("log", False, True, "log_stands", {"seconds": round(engine.busy_s)})
    if not engine.picture.linked or not engine.working:
        return Check("log", False, True, "log_refuses", {"trouble": engine.log_trouble or "?"})
    return Check("log", True, True, "log_written")


def _readings(engine: Engine) -> Check:
    trouble = engine.readings_trouble
    if trouble:
        return Check("readings", False, True, "readings_refused", {"trouble": trouble})
    return Check("readings", True, True, "readings_kept")


def _loop(facts: Vitals) -> Check:
    ok = facts.lag_s <= LAG_S
    return Check("loop", ok, False, "loop_well" if ok else "loop_late", {"seconds": round(facts.lag_s, 1)})


def _broker(facts: Vitals, feed: ProbeFeed | None) -> Iterator[Check]:
    if feed is not None:
        reason = "broker_linked" if feed.connected else "broker_away"
        yield Check("broker", feed.connected, True, reason, {"broker": facts.broker})


def _planner(facts: Vitals, engine: Engine) -> Check:
    dead = [one.name for one in facts.planners if not one.alive]
    if dead == [NOBODY]:
        return Check("planner", False, True, "planner_nobody")
    if dead:
        return Check("planner", False, True, "planner_dead", {"names": ", ".join(dead)})
    if engine.plan_trouble:
        return Check("planner", False, False, "planner_fails", {"trouble": engine.plan_trouble})
    return Check("planner", True, True, "planner_well")


def _clock(facts: Vitals, behind_s: float) -> Check:
    if behind_s > BEHIND_S:
        return Check("clock", False, True, "clock_behind", {"seconds": round(behind_s)})
    off_s = facts.clock.server_off_s if facts.clock is not None else None
    if off_s is not None and abs(off_s) > BEHIND_S:
        return Check("clock", False, True, "clock_off_server", {"seconds": round(off_s)})
    return Check("clock", True, True, "clock_well")


def _disk(facts: Vitals) -> Iterator[Check]:
    if facts.disk is not None:
        ok = facts.disk.free_bytes >= LEAST_FREE
        told = {"free": _bytes(facts.disk.free_bytes), "least": _bytes(LEAST_FREE), "place": facts.disk.place}
        yield Check("disk", ok, True, "disk_well" if ok else "disk_low", told)


def _backup(facts: Vitals) -> Check:
    backup = facts.backup
    if backup is None:
        return Check("backup", False, False, "backup_none")
    if backup.made_at is None:
        begun = facts.started_at is not None and datetime.now(UTC) - facts.started_at < timedelta(hours=1)
        if begun and not backup.failed:
            return Check("backup", True, False, "backup_soon", {"place": backup.place})
        return Check("backup", False, False, "backup_missing", {"trouble": backup.failed or backup.place})
    told: dict[str, Value] = {"at": backup.made_at, "trouble": backup.failed}
    if datetime.now(UTC) - backup.made_at > BACKUP_AGE:
        return Check("backup", False, False, "backup_old", told)
    return Check("backup", True, False, "backup_failed_since" if backup.failed else "backup_good", told)


def _proof(facts: Vitals) -> Check:
    """Damage is for somebody to look at and no reason to turn people away: what is at hand rests on the kept state."""
    proof = facts.proof
    if proof is None:
        return Check("proof", True, False, "proof_soon")
    if proof.unreadable:
        return Check("proof", False, False, "proof_unreadable", {"trouble": proof.unreadable})
    if proof.broken_at:
        return Check("proof", False, False, f"proof_{proof.how}", {"seq": proof.broken_at})
    return Check("proof", True, False, "proof_whole", {"seq": proof.seq, "at": proof.at})


def _files(facts: Vitals) -> Iterator[Check]:
    """Whoever wrote a new cook into a file must learn that nobody works by it."""
    if facts.edited:
        yield Check("files", False, False, "files_edited", {"parts": "; ".join(facts.edited)})


def _bytes(count: int) -> str:
    """As people read it, in powers of 1024 (IEC 80000-13)."""
    return f"{count / 1024**3:.1f} GiB" if count >= 1024**3 else f"{count / 1024**2:.0f} MiB"
