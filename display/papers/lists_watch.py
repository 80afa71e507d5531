"""Further lists as CSV: probes and their checks, how long steps take, who was called, recall drills."""

from display.panels import Showing
from display.papers.listed import Listed
from orchestrator.core.models import Duration
from orchestrator.core.views import calls_view, duration_views, probe_views


def probes(showing: Showing, _: str) -> Listed:
    """A row for each probe, with what it said last."""
    columns = (
        "probe", "name", "equipment", "reads", "celsius", "measured_at", "silent_since", "outside_since", "low_celsius",
        "high_celsius", "task",
    )  # fmt: skip
    s = showing.snapshot
    rows = [
        (
            one.probe.id, one.probe.name, one.probe.equipment, one.probe.reads, one.celsius, one.measured_at,
            one.silent_since, one.outside_since, one.low_c, one.high_c, one.task,
        )
        for one in probe_views(s.state, s.facts, s.now)
    ]  # fmt: skip
    return Listed(columns, rows)


def checks(showing: Showing, _: str) -> Listed:
    """A row for each check of a probe against something whose temperature is known, oldest first."""
    columns = (
        "probe", "checked_at", "person", "point", "expected_celsius", "shown_celsius", "tolerance_celsius", "source",
        "passed", "altitude_m", "in_doubt_since", "lots_in_doubt",
    )  # fmt: skip
    book = showing.snapshot.state.probes.checks
    found = sorted((one for mine in book.values() for one in mine), key=lambda one: (one.at, one.probe))
    rows = [
        (
            one.probe, one.at, one.person, one.point, one.expected_c, one.shown_c, one.tolerance_c, one.source,
            one.passed, one.altitude_m, one.doubt_since, one.in_doubt,
        )
        for one in found
    ]  # fmt: skip
    return Listed(columns, rows)


def _minutes(figures: Duration | None) -> tuple[int | None, int | None, int | None]:
    return (None, None, None) if figures is None else (figures.shortest, figures.usual, figures.longest)


def durations(showing: Showing, _: str) -> Listed:
    """A row for each step: minutes as written, as planned now, and as finished tasks say."""
    which = ("shortest", "usual", "longest")
    figures = [f"{whose}_{one}_min" for whose in ("written", "planned", "learned") for one in which]
    columns = ("recipe", "step", "title", "per_tray", "samples", *figures, "adopted_at", "adopted_by")
    rows = [
        (
            one.recipe, one.step, one.title, one.per_tray, one.samples, *_minutes(one.written), *_minutes(one.present),
            *_minutes(one.learned.figures if one.learned is not None else None), one.adopted_at, one.adopted_by,
        )
        for one in duration_views(showing.snapshot.state)
    ]  # fmt: skip
    return Listed(columns, rows)


def calls(showing: Showing, _: str) -> Listed:
    """A row for each call beyond the kitchen, the newest first; no address is in it."""
    columns = ("call", "made_at", "to", "why", "alarms", "status", "ended_at", "failed_attempts", "reached", "person")
    s = showing.snapshot
    rows = [
        (
            one.seq, one.made_at, one.to, one.why, one.alarms, one.status, one.ended_at, one.attempts, one.reached,
            one.person,
        )
        for one in calls_view(s.state, s.facts, s.now).calls
    ]  # fmt: skip
    return Listed(columns, rows)


def drills(showing: Showing, _: str) -> Listed:
    """A row for each thing that a recall drill had to find, and when it was."""
    columns = (
        "drill", "lot", "started_at", "started_by", "ended_at", "ended_by", "item", "item_lot", "share", "where",
        "order", "found", "at", "by",
    )  # fmt: skip
    rows: list[tuple[object, ...]] = []
    for drill in showing.snapshot.state.drills.values():
        head = (drill.id, drill.lot, drill.started_at, drill.person, drill.ended_at, drill.ended_by)
        for item in drill.items:
            find = drill.find(item.id)
            told = (find.found, find.at, find.person) if find is not None else (None, None, None)
            rows.append((*head, item.id, item.lot, item.share, item.where, item.order, *told))
    return Listed(columns, rows)
