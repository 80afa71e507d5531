"""Commands of further machines on a kitchen's database: more screens, more planners."""

from typing import Any

import click

from orchestrator.cli.common import screens_over_tls

_DATABASE = click.option(
    "--database", metavar="URL", help="PostgreSQL; better COLDWRIGHT_DATABASE, which nobody else reads."
)


@click.command()
@_DATABASE
@click.option("--host", default="127.0.0.1", show_default=True, help="Where the screens listen, as in serve.")
@click.option("--port", type=click.IntRange(1, 65535), default=8481, show_default=True, help="Of the screens.")
@screens_over_tls
@click.option("--planner", type=click.Choice(["children", "database"]), default="children", show_default=True)
@click.option("--log-format", type=click.Choice(["text", "json"]), default="text", show_default=True)
def display(*, database: str | None, **options: Any) -> None:
    """Show the screens of a kitchen that another process writes, as many times as you like; acts go to that one."""
    from orchestrator.cli.running import run_display

    raise SystemExit(run_display(database, **options))


@click.command()
@_DATABASE
@click.option("--log-format", type=click.Choice(["text", "json"]), default="text", show_default=True)
def worker(database: str | None, log_format: Any) -> None:
    """Plan for all kitchens of a database that serve with '--planner database'. Start as many as there are machines."""
    from orchestrator.cli.running import run_worker

    raise SystemExit(run_worker(database, log_format))
