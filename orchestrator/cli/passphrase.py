"""``coldwright passphrase``: the manager's passphrase, set on the machine itself; it never stands on a command line."""

from datetime import UTC, datetime
from pathlib import Path

import click

from orchestrator.adapters.access_store import SqlAccessStore
from orchestrator.adapters.data_folder import DataFolder
from orchestrator.adapters.secrets_file import Secrets
from orchestrator.cli.common import BAD_INPUT, REFUSED
from orchestrator.ports.access import LEAST_PASSPHRASE
from orchestrator.ports.event_log import LogUnavailable

_TOLD = (
    "Set. Whoever was signed in as manager is signed out; paired screens stay paired.",
    "Sign in at /sign-in, and approve screens at /access. A service that runs takes it up within seconds.",
)


def run(folder: Path, *, named: bool) -> int:
    """Ask twice and set it; also while the service runs.

    Args:
        folder: The service's data folder.
        named: Whether somebody named it; otherwise a database that the secrets name wins.

    Returns:
        Exit status: 0 set, 1 refused, 2 it cannot be kept.
    """
    database = "" if named else Secrets().address("COLDWRIGHT_DATABASE") or ""
    typed = click.prompt("Passphrase of the manager", hide_input=True, confirmation_prompt="The same again")
    if len(typed) < LEAST_PASSPHRASE:
        few = f"it has {len(typed)} characters, at least {LEAST_PASSPHRASE} are wanted"
        click.echo(f"Not set: {few}; four words are good.", err=True)
        return REFUSED
    try:
        if not database:
            folder.mkdir(parents=True, exist_ok=True)
        store = SqlAccessStore(database or DataFolder(folder).access)
    except LogUnavailable as error:
        click.echo(str(error), err=True)
        return BAD_INPUT
    except OSError as error:
        click.echo(f"{folder} cannot be made ({error.strerror}); name another data folder", err=True)
        return BAD_INPUT
    try:
        store.set_passphrase(typed, datetime.now(UTC))
    except LogUnavailable as error:
        click.echo(str(error), err=True)
        return BAD_INPUT
    finally:
        store.close()
    click.echo("\n".join(_TOLD))
    return 0
