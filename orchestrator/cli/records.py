"""``coldwright records``: the record proven whole, backed up and put back."""

import json
from collections.abc import Callable
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click

from orchestrator.adapters.backup import Places, back_up, restore
from orchestrator.adapters.chain import Break, Head
from orchestrator.adapters.data_folder import DataFolder
from orchestrator.adapters.secrets_file import Secrets
from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.cli.common import BAD_INPUT, REFUSED
from orchestrator.ports.event_log import LogUnavailable

_MEANT = {
    "missing": "record {seq} is missing",
    "changed": "record {seq} is not what was recorded",
    "cut_off": "records from {seq} on are missing: the log went further when that head was written down",
    "other_log": "record {seq} is another than when that head was written down: the log was made anew",
}


def places_of(data: Path | None) -> Places:
    """Where log and readings are: a folder that is named wins over a database that the secrets name."""
    if data is None and (database := Secrets().address("COLDWRIGHT_DATABASE")):
        return Places(database, database, database)
    from orchestrator.bootstrap import default_data_folder

    folder = DataFolder(data or default_data_folder())
    return Places(folder.event_log, folder.readings, folder.access)


def run_verify(places: Places, head: str | None, *, as_json: bool) -> int:
    """Follow the chain from the first record. Returns: exit status; 0 whole, 1 not, 2 cannot be read."""
    try:
        written = Head.of(head) if head else None
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="--head") from error
    return _told(lambda: _verify(places, written, as_json=as_json))


def run_backup(places: Places, folder: Path, *, as_json: bool) -> int:
    """Back up. Returns: exit status."""

    def act() -> int:
        _refuse_missing(places)
        manifest = back_up(places, folder, datetime.now(UTC))
        _say(
            as_json,
            {"folder": str(folder), **asdict(manifest)},
            f"{folder}: {manifest.events} records and {manifest.readings} readings, proven whole.",
            f"Head: {manifest.head}",
            "Keep a copy of it in another building; 'coldwright records restore' puts it back.",
        )
        return 0

    return _told(act)


def run_restore(places: Places, folder: Path, *, as_json: bool) -> int:
    """Put a backup back. Returns: exit status."""

    def act() -> int:
        held: DataFolder | None = None
        if isinstance(places.event_log, Path):
            held = DataFolder(places.event_log.parent)
            held.take()  # a service that runs there would not know what came under it
        try:
            manifest = restore(folder, places)
        finally:
            if held is not None:
                held.release()
        _say(
            as_json,
            asdict(manifest),
            f"Put back: {manifest.events} records and {manifest.readings} readings, as of {manifest.made_at}.",
            "What was recorded after that is not in it.",
        )
        return 0

    return _told(act)


def _verify(places: Places, written: Head | None, *, as_json: bool) -> int:
    _refuse_missing(places)
    log = SqlEventLog(places.event_log, read_only=True)
    try:
        head, broken = log.verify(written)
    finally:
        log.close()
    told = {"whole": broken is None, "records": head.seq, "head": str(head), "broken": broken and asdict(broken)}
    _say(as_json, told, *(_whole(head) if broken is None else _broken(head, broken)))
    return 0 if broken is None else REFUSED


def _whole(head: Head) -> list[str]:
    return [
        f"{head.seq} records, each with the hash of all before it: none was changed, taken out or put in.",
        f"Head: {head}",
        "Write the head down elsewhere: only against a head can it be seen that records were cut off the end (--head).",
    ]


def _broken(head: Head, broken: Break) -> list[str]:
    return [
        f"The record is not whole: {_MEANT[broken.what].format(seq=broken.seq)}.",
        f"Up to record {head.seq} it holds. Keep this file as it is for whoever looks into it, and go back to the last",
        "backup that 'coldwright records verify' finds whole.",
    ]


def _refuse_missing(places: Places) -> None:
    """Opening would make an empty log where none is."""
    if isinstance(places.event_log, Path) and not places.event_log.is_file():
        raise LogUnavailable(f"there is no record in {places.event_log.parent}; name its folder with --data")


def _say(as_json: bool, told: dict[str, Any], *lines: str) -> None:
    click.echo(json.dumps(told, indent=2) if as_json else "\n".join(lines))


def _told(act: Callable[[], int]) -> int:
    try:
        return act()
    except LogUnavailable as error:
        click.echo(str(error), err=True)
        return BAD_INPUT
