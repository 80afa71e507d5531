"""How the service does, on one page: what needs somebody, clock, disk, record, backups, broker, planner, screens."""

from flask import Blueprint, current_app
from markupsafe import Markup

from display import panels
from display.panels import Showing
from display.request import page, showing
from display.screens import SCREENS, ScreenBook, Standing
from display.vital_words import says
from orchestrator.gateway.vitals import Check, Vitals

pages = Blueprint("system", __name__)


@pages.get("/system")
def system_page() -> str:
    """All of it; the checks are live, the rest as of now."""
    picture = showing()
    vitals = picture.gateway.vitals()
    book: ScreenBook = current_app.extensions[SCREENS]
    return page(
        "system.html",
        vitals=vitals,
        facts=_facts(picture, vitals),
        screens=[(one, _screen(picture, one)) for one in book.standing(picture.snapshot.state.seq)],
    )


def _checks(showing: Showing, _: str) -> str:
    vitals = showing.gateway.vitals()
    return showing.render("panels/system_checks.html", {"vitals": vitals, "rows": rows(showing, vitals)})


def rows(picture: Showing, vitals: Vitals) -> list[tuple[Check, str, str]]:
    """Each check with its word and its sentence, what is wrong first."""
    words = {True: "system_ok", False: "system_look"}
    found = [
        (
            check,
            picture.words("system_trouble" if check.needed and not check.ok else words[check.ok]),
            says(check, picture.words, picture.formats, picture.now),
        )
        for check in vitals.checks
    ]
    return sorted(found, key=lambda row: (row[0].ok, not row[0].needed))


def _facts(picture: Showing, vitals: Vitals) -> list[tuple[str, list[str]]]:
    """Headings with their lines."""
    return [
        (picture.words("system_clock"), _clock(picture, vitals)),
        (picture.words("system_disk"), [_disk(picture, vitals)]),
        (picture.words("system_record"), _record(picture, vitals)),
        (picture.words("system_backup"), _backup(picture, vitals)),
        (picture.words("system_broker"), _broker(picture, vitals)),
        (picture.words("system_probes"), _probes(picture)),
        (picture.words("system_planner"), _planner(picture, vitals)),
        (picture.words("system_version"), _version(picture, vitals)),
    ]


def _clock(picture: Showing, vitals: Vitals) -> list[str]:
    w, f, clock = picture.words, picture.formats, vitals.clock
    if clock is None:
        return [f"{f.day(picture.now)} {f.clock(picture.now)}"]
    lines = [w("system_clock_says", time=f"{f.day(picture.now)} {f.clock(picture.now)}", zone=clock.zone)]
    if clock.set_at is not None:
        set_by = f.number(clock.set_by_s, 1)
        lines.append(w("system_clock_set", seconds=set_by, time=f.when(clock.set_at, picture.now)))
    else:
        lines.append(w("system_clock_steady", seconds=f.number(clock.set_by_s, 3)))
    if clock.server_off_s is not None:
        lines.append(w("system_clock_server", seconds=f.number(clock.server_off_s, 3)))
    return lines


def _disk(picture: Showing, vitals: Vitals) -> str:
    disk = vitals.disk
    if disk is None:
        return picture.words("system_disk_none")
    free, total = (f"{picture.formats.number(count / 1024**3, 1)} GiB" for count in (disk.free_bytes, disk.total_bytes))
    return picture.words("system_disk_says", free=free, total=total, place=disk.place)


def _record(picture: Showing, vitals: Vitals) -> list[str]:
    w, backup = picture.words, vitals.backup
    lines = [w("system_record_says", count=vitals.seq, place=vitals.place)]
    if vitals.turns:
        lines.append(w("system_writer", holder=vitals.holder, turns=vitals.turns))
    if vitals.head:
        lines += [w("system_record_head", head=vitals.head), w("system_record_head_says")]
    if vitals.proof is not None and not vitals.proof.unreadable:
        when = picture.formats.when(vitals.proof.at, picture.now)
        lines.append(w("system_record_proven", seq=vitals.proof.seq, time=when))
    elif backup is not None and backup.made_at is not None:
        made = picture.formats.when(backup.made_at, picture.now)
        lines.append(w("system_record_proven", seq=backup.head.partition(":")[0], time=made))
    else:
        lines.append(w("system_record_unproven"))
    return lines


def _backup(picture: Showing, vitals: Vitals) -> list[str]:
    w, backup = picture.words, vitals.backup
    if backup is None:
        return [w("system_backup_off")]
    lines = [w("system_backup_says", count=backup.kept, place=backup.place)]
    if backup.next_at is not None:
        lines.append(w("system_backup_next", time=picture.formats.when(backup.next_at, picture.now)))
    return [*lines, w("system_backup_elsewhere")]


def _broker(picture: Showing, vitals: Vitals) -> list[str]:
    w = picture.words
    if not vitals.broker:
        return [w("system_broker_none")]
    if vitals.heard_at is None:
        return [vitals.broker, w("system_broker_unheard")]
    return [vitals.broker, w("system_broker_heard", time=picture.formats.when(vitals.heard_at, picture.now))]


def _probes(picture: Showing) -> list[str]:
    snapshot = picture.snapshot
    probes = snapshot.state.kitchen.probes if snapshot.state.kitchen else ()
    silent = sum(1 for fact in snapshot.facts.values() if fact.silent_since is not None)
    lines = [picture.words("system_probes_says", count=len(probes), silent=silent)]
    if turned_away := sum(snapshot.rejected.values()):
        lines.append(picture.words("system_rejected", count=turned_away))
    return lines


def _planner(picture: Showing, vitals: Vitals) -> list[str]:
    w = picture.words
    if not vitals.planners:
        return [w("system_planner_elsewhere")]
    state = {True: w("system_planner_runs"), False: w("system_planner_ended")}
    return [w("system_planner_one", name=one.name, state=state[one.alive], count=one.starts) for one in vitals.planners]


def _version(picture: Showing, vitals: Vitals) -> list[str]:
    f = picture.formats
    since = f.when(vitals.started_at, picture.now) if vitals.started_at is not None else "?"
    lag = picture.words("system_lag", seconds=f.number(vitals.lag_s, 2))
    return [picture.words("system_version_says", version=vitals.version, time=since), lag]


def _screen(picture: Showing, one: Standing) -> str:
    return picture.words(f"screen_{one.state}", count=one.behind)


def _trouble(showing: Showing, _: str) -> str:
    """Beside the mark that nothing comes in: why, where the service knows it. Empty while all is well."""
    if showing.snapshot.linked:
        return ""
    found = next((check for check in showing.gateway.vitals().checks if check.name == "log" and not check.ok), None)
    if found is None:
        return ""
    text = says(found, showing.words, showing.formats, showing.now)
    return str(Markup('<p class="trouble">{}</p>').format(text))


panels.register("system-checks", _checks)
panels.register("trouble", _trouble)
