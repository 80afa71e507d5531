"""``coldwright broker-files``: what a Mosquitto broker needs so that each probe may only say its own readings."""

from pathlib import Path
from typing import Final

import click

from orchestrator.cli.common import both

_EVERYWHERE: Final = frozenset({"0.0.0.0", "::"})  # noqa: S104 - compared with, not listened at


def run(folder: Path, out: Path, listen: str, certificate: Path | None, key: Path | None) -> int:
    """Write them.

    Returns:
        Exit status: 0 written, 2 when the kitchen's files or the address have faults.
    """
    from orchestrator.adapters.mosquitto_files import SERVICE, write_files
    from orchestrator.adapters.mqtt_address import MqttAddress
    from orchestrator.cli.checking import print_faults
    from orchestrator.kitchen import KitchenFaults, read_kitchen

    try:
        kitchen = read_kitchen(folder)
    except KitchenFaults as faults:
        print_faults(folder, faults)
        return 2
    pair = both(certificate, key)
    try:
        address = MqttAddress.parse(listen)
        if address.tls != (pair is not None):
            raise ValueError("mqtts:// needs --certificate and --key, and only that; mqtt:// has no use for them")
        passwords = write_files(kitchen, out, address, pair)
    except (ValueError, OSError) as error:
        click.echo(str(error), err=True)
        return 2
    scheme, prefix = "mqtts" if pair else "mqtt", address.prefix.rstrip("/")
    host = "HOST" if address.host in _EVERYWHERE else address.host
    click.echo(f"Written to {out}. Start it: mosquitto -c {out / 'mosquitto.conf'}")
    click.echo(f"Only you can read them: where it runs as another user, give them to it (chown -R mosquitto {out}).")
    click.echo(f"{passwords} has a user and a password for each probe; put them into the probes, and keep the file.")
    click.echo(
        "For the service, in its secrets file: "
        f"COLDWRIGHT_BROKER={scheme}://{SERVICE}:PASSWORD@{host}:{address.port}{'/' if prefix else ''}{prefix}"
    )
    if host == "HOST":
        click.echo("HOST is the name or address at which the service reaches that machine, 127.0.0.1 on the same one.")
    return 0
