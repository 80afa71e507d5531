"""``coldwright serve`` and ``coldwright demo``: the service, from start to a clean end."""

import logging
import sys
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click
from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

from orchestrator.cli.common import both

if TYPE_CHECKING:
    from orchestrator.bootstrap.settings import Certificate


def run_serve(
    folder: Path,
    *,
    data_named: bool,
    keep_readings: int,
    backups: str | None,
    backup_at: datetime,
    broker: str | None,
    certificate: Path | None,
    key: Path | None,
    **options: Any,
) -> int:
    """Serve a kitchen, from a data folder or, unless one is named, from a database that the secrets name.

    What holds a password, or may, comes from the secrets: a command line is there for every user of a machine to read.

    Returns:
        Exit status.
    """
    from orchestrator.adapters.secrets_file import Secrets
    from orchestrator.bootstrap import Settings, serve
    from orchestrator.bootstrap.own_broker import LOGIN_VARIABLE
    from orchestrator.bootstrap.settings import EMBEDDED
    from orchestrator.ports.event_log import Keeping

    secrets = Secrets()
    database = "" if data_named else secrets.address("COLDWRIGHT_DATABASE") or ""
    keeping = Keeping(exact=timedelta(days=keep_readings))
    settings = Settings(
        kitchen=folder,
        database=database,
        keeping=keeping,
        backups=_backups(backups, None if database else options["data"]),
        backup_at=backup_at.time(),
        certificate=_pair(certificate, key),
        broker=broker or secrets.address("COLDWRIGHT_BROKER") or EMBEDDED,
        broker_login=secrets.address(LOGIN_VARIABLE) or "",
        **options,
    )
    return serve(settings, click.echo)


def _pair(chain: Path | None, key: Path | None) -> "Certificate | None":
    from orchestrator.bootstrap.settings import Certificate

    files = both(chain, key)
    return Certificate(*files) if files is not None else None


def _backups(named: str | None, data: Path | None) -> Path | None:
    """Where backups go: where somebody said, else beside the record, where that is a folder."""
    if named is not None:
        return None if named == "none" else Path(named)
    return None if data is None else data / "backups"


def run_worker(database: str | None, log_format: Literal["text", "json"]) -> int:
    """Answer questions to the planner until SIGINT or SIGTERM. Returns: exit status; 2 without a database."""
    from orchestrator.adapters.secrets_file import Secrets
    from orchestrator.bootstrap.work import work

    url = database or Secrets().address("COLDWRIGHT_DATABASE") or ""
    if not url:
        click.echo("name the database in COLDWRIGHT_DATABASE, or with --database", err=True)
        return 2
    return work(url, log_format, click.echo)


def run_display(database: str | None, *, certificate: Path | None, key: Path | None, **options: Any) -> int:
    """Show the screens until SIGINT or SIGTERM. Returns: exit status; 2 without a database."""
    from orchestrator.adapters.secrets_file import Secrets
    from orchestrator.bootstrap.show import Showing, show

    url = database or Secrets().address("COLDWRIGHT_DATABASE") or ""
    if not url:
        click.echo("name the database in COLDWRIGHT_DATABASE, or with --database", err=True)
        return 2
    return show(Showing(url, certificate=_pair(certificate, key), **options), click.echo)


def run_demo(kitchen: Path, **options: Any) -> int:
    """Open the demo. Returns: exit status; 0 also when Ctrl-C comes while it still loads."""
    try:
        return _run_demo(kitchen, **options)
    except KeyboardInterrupt:
        return 0


def _run_demo(kitchen: Path, **options: Any) -> int:
    from orchestrator.bootstrap import Failure
    from orchestrator.bootstrap.demo import DemoOptions, demo

    logging.basicConfig(level=logging.WARNING, format="PRACTICE %(levelname)s %(name)s: %(message)s", stream=sys.stderr)
    options["crew"] = not options.pop("no_crew")
    console = Console(highlight=False)
    progress = Progress(
        TextColumn("PRACTICE - {task.description}"), BarColumn(), TimeElapsedColumn(), console=console, transient=True
    )
    task = progress.add_task("Opening the kitchen", total=None)

    def on_progress(what: str, share: float) -> None:
        progress.update(task, description=what, total=1.0 if share else None, completed=share)

    def say(line: str) -> None:
        if progress.live.is_started:
            progress.stop()
        click.echo(line)

    progress.start()
    try:
        demo(DemoOptions(kitchen=kitchen, **options), say, on_progress)
    except Failure as failure:
        progress.stop()
        click.echo(failure.text, err=True)
        return failure.status
    finally:
        progress.stop()
    return 0
