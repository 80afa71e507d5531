"""What several commands share: exit status, instants, files for TLS."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

import click

REFUSED = 1
BAD_INPUT = 2
FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
C = TypeVar("C", bound=Callable[..., Any])


def screens_over_tls(command: C) -> C:
    """Gives a command that shows screens the options ``--certificate`` and ``--key``."""
    key = click.option("--key", type=FILE, help="Of the certificate, in PEM.")
    chain = click.option("--certificate", type=FILE, help="Chain in PEM: the screens then speak TLS only. Needs --key.")
    return chain(key(command))


def both(certificate: Path | None, key: Path | None) -> tuple[Path, Path] | None:
    """Both files, or none.

    Raises:
        click.UsageError: one of them is missing.
    """
    if (certificate is None) != (key is None):
        raise click.UsageError("give --certificate and --key together")
    return (certificate, key) if certificate and key else None


def parse_instant(text: str, time_zone: str) -> datetime:
    """An instant with its offset, or local time of the kitchen.

    Raises:
        click.BadParameter: it is neither.
    """
    try:
        instant = datetime.fromisoformat(text)
    except ValueError as error:
        raise click.BadParameter(f"{text!r} is not an instant: write 2026-11-25T06:00 or 2026-11-25T06:00Z") from error
    return instant if instant.tzinfo is not None else instant.replace(tzinfo=ZoneInfo(time_zone))
