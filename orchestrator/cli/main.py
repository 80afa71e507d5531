"""The ``coldwright`` command. Exit status: 0 done, 1 refused, 2 bad input."""

from pathlib import Path
from typing import Any

import click

from orchestrator.cli import machines
from orchestrator.cli.common import FILE, screens_over_tls
from orchestrator.cli.example import example_kitchen

_FOLDER = click.Path(path_type=Path, file_okay=False)
CAUTION = (
    "Coldwright shows times, temperatures and cautions. It never clears food: your local code and a licensed "
    "professional decide."
)


class Group(click.Group):
    """Subcommands in the order in which a newcomer needs them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """As they were added."""
        return list(self.commands)


@click.group(cls=Group, epilog=CAUTION, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="coldwright", prog_name="coldwright")
def main() -> None:
    """Production clock and kitchen display for small frozen-dessert kitchens."""


def folder_or_example(folder: Path | None) -> Path:
    """The folder asked for, else the example kitchen. Raises: click.UsageError when there is none."""
    if folder is None:
        try:
            return example_kitchen()
        except FileNotFoundError as error:
            raise click.UsageError(str(error)) from error
    if not folder.is_dir():
        raise click.UsageError(f"there is no folder {folder}; 'coldwright new {folder}' writes a small kitchen there")
    return folder


@main.command()
@click.option(
    "--speed",
    type=click.FloatRange(1, 3600),
    default=60.0,
    show_default=True,
    help="Kitchen seconds a real second while a task is due, faster while nobody is needed; 1: real life.",
)
@click.option("--no-crew", is_flag=True, help="No simulated crew: you play cook.")
@click.option(
    "--variation",
    type=click.FloatRange(0, 3),
    default=1.0,
    show_default=True,
    help="How human the crew is; 0: always the usual times, never late.",
)
@click.option(
    "--history/--no-history",
    default=True,
    show_default=True,
    help="Begin on the second day, with what came before made quickly.",
)
@click.option(
    "--troubles/--no-troubles", default=True, show_default=True, help="Whether the planted troubles come by themselves."
)
@click.option("--seed", type=int, default=3, show_default=True, help="Of everything left to chance.")
@click.option("--fresh", is_flag=True, help="Forget an earlier demo and begin again.")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8480,
    show_default=True,
    help="Of the screens; another is taken when it is in use.",
)
@click.option(
    "--data", type=_FOLDER, help="Where the demo keeps its record.  [default: coldwright/practice in your cache folder]"
)
@click.option("--kitchen", type=_FOLDER, help="Another kitchen than the example.")
def demo(kitchen: Path | None, **options: Any) -> None:
    """Open a whole kitchen on a fast clock, with simulated crew and probes. PRACTICE only."""
    from orchestrator.cli.running import run_demo

    raise SystemExit(run_demo(folder_or_example(kitchen), **options))


@main.command()
@click.argument("folder", type=_FOLDER, required=False, metavar="[DIR]")
@click.option(
    "--data", type=_FOLDER, default=Path("coldwright-data"), show_default=True, help="Where the record is kept."
)
@click.option("--port", type=click.IntRange(1, 65535), default=8480, show_default=True, help="Of the screens.")
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    help="Where the screens listen; beyond this machine (0.0.0.0: everywhere) once a passphrase is set.",
)
@screens_over_tls
@click.option(
    "--broker",
    metavar="embedded|none|URL",
    help="Where probes are heard: an own MQTT broker, none, or mqtt://HOST:PORT[/PREFIX]. One with a password "
    "stands in COLDWRIGHT_BROKER of the secrets file.  [default: that one, else embedded]",
)
@click.option(
    "--broker-host",
    default="127.0.0.1",
    show_default=True,
    metavar="ADDRESS",
    help="Where the embedded broker listens; beyond this machine only with COLDWRIGHT_BROKER_LOGIN=user:password.",
)
@click.option(
    "--broker-port", type=click.IntRange(0, 65535), default=0, help="Of the embedded broker.  [default: a free one]"
)
@click.option(
    "--standby", is_flag=True, help="Wait while another service writes this kitchen, and take over when it ends."
)
@click.option(
    "--first-run",
    is_flag=True,
    help="Show on the screen what the folder lacks, and wait there until somebody takes it over.",
)
@click.option(
    "--keep-readings",
    type=click.IntRange(30, 36_600),
    default=732,
    show_default=True,
    metavar="DAYS",
    help="How long every single reading is kept; then least, mean and most of each hour. Records are kept for good.",
)
@click.option(
    "--backups",
    metavar="DIR|none",
    help="Where a backup is made every night and proven.  [default: 'backups' in the data folder; none for a database]",
)
@click.option("--keep-backups", type=click.IntRange(1, 1000), default=14, show_default=True, help="How many of them.")
@click.option(
    "--backup-at", type=click.DateTime(["%H:%M"]), default="03:00", metavar="HH:MM", help="When.  [default: 03:00]"
)
@click.option(
    "--planner",
    type=click.Choice(["children", "database"]),
    default="children",
    show_default=True,
    help="Who plans: processes of its own, or 'coldwright worker' anywhere, through the database.",
)
@click.option(
    "--log-format",
    type=click.Choice(["text", "json"]),
    default="text",
    show_default=True,
    help="On stderr: lines for people, or JSON for programs.",
)
@click.pass_context
def serve(context: click.Context, /, *, folder: Path | None, **options: Any) -> None:
    """Run a kitchen: its plan, screens and probes. The first start imports the folder; then the record rules."""
    from orchestrator.cli.running import run_serve

    named = context.get_parameter_source("data") is not click.core.ParameterSource.DEFAULT
    raise SystemExit(run_serve(folder_or_example(folder), data_named=named, **options))


@main.command()
@click.argument("data", type=_FOLDER, default=Path("coldwright-data"), metavar="[DATA]")
@click.pass_context
def passphrase(context: click.Context, /, *, data: Path) -> None:
    """Set the manager's passphrase; it is asked for twice. DATA is the service's data folder, as in serve --data.

    From then on each screen is paired once, and serve --host may name an address of your network. This always works on
    the machine itself, also when the former one is lost.
    """
    from orchestrator.cli.passphrase import run

    named = context.get_parameter_source("data") is not click.core.ParameterSource.DEFAULT
    raise SystemExit(run(data, named=named))


@main.command()
@click.argument("folder", type=_FOLDER, required=False, metavar="[DIR]")
@click.option(
    "--now", metavar="INSTANT", help="RFC 3339, or local time of the kitchen.  [default: the folder's planning start]"
)
@click.option(
    "--seconds",
    type=click.FloatRange(0, 3600),
    default=6.0,
    show_default=True,
    help="How long to look for a better plan; 0: the quick first plan.",
)
@click.option(
    "--seed", type=int, default=0, show_default=True, help="The same seed gives the same plan where time allows."
)
@click.option(
    "--progress",
    is_flag=True,
    help="Tell each better plan in a line on stderr; a terminal shows the latest anyway. Ctrl-C takes what there is.",
)
@click.option(
    "--what-helps",
    is_flag=True,
    help="Instead of the plan: what stands in the way of orders it serves badly, and what would help. As long again.",
)
@click.option("--why", metavar="TASK", help="Instead of the plan: why that task is not earlier and not later.")
@click.option(
    "--what-if",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    metavar="FILE",
    help="Instead of one plan: the scenarios of a YAML file, side by side. Nothing is adopted.",
)
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
@click.option("--schema", is_flag=True, help="Print the JSON Schema of the plan, and plan nothing.")
def plan(*, folder: Path | None, schema: bool, **options: Any) -> None:
    """Plan a kitchen folder and print it; touches nothing else.

    Exit status: 0 with a plan, though orders in it may be late or not met, each with its reason, and also where Ctrl-C
    cut the search short; 1 when no plan keeps the rules; 2 when the folder has faults.
    """
    from orchestrator.cli import planning

    if schema:
        click.echo(planning.schema_text())
        return
    raise SystemExit(planning.run(planning.Wish(folder_or_example(folder), **options)))


@main.command()
@click.argument("folder", type=_FOLDER, required=False, metavar="[DIR]")
@click.option("--json", "as_json", is_flag=True, help="Print the faults as JSON.")
def check(folder: Path | None, as_json: bool) -> None:
    """Read a kitchen folder and tell every fault at once, with file and line."""
    from orchestrator.cli.checking import run

    raise SystemExit(run(folder_or_example(folder), as_json))


@main.command()
@click.argument("folder", type=_FOLDER, metavar="DIR")
def new(folder: Path) -> None:
    """Write a minimal valid kitchen into a new folder."""
    from orchestrator.kitchen import new_kitchen

    try:
        new_kitchen(folder)
    except FileExistsError as error:
        raise click.UsageError(str(error)) from error
    click.echo(f"A small kitchen is in {folder}. Try: coldwright check {folder} && coldwright plan {folder}")
    click.echo(f"Or be led to its first plan on the screen: coldwright serve {folder} --first-run")


@main.command()
@click.argument(
    "files",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    metavar="FILE.csv...",
    nargs=-1,
    required=True,
)
@click.option("--limit", required=True, metavar="NAME", help="By id, as in limits.yaml.")
@click.option("--row", metavar="NAME", help="Only this row of the limit; left out, any row counts.")
@click.option("--kitchen", type=_FOLDER, help="A kitchen whose own limits count.")
@click.option("--column", metavar="NAME", help="The column to be judged, where several hold numbers.")
@click.option("--unit", type=click.Choice(["C", "F"]), help="Of the values, where the file does not say.")
@click.option("--dates", type=click.Choice(["iso", "day-first", "month-first", "epoch"]), help="How days are written.")
@click.option("--time-zone", metavar="NAME", help="Of times without an offset, like Europe/London.")
@click.option("--delimiter", type=click.Choice([",", ";", "|", "\t"]), help="Between cells.")
@click.option("--reads", type=click.Choice(["core", "air"]), default="core", show_default=True, help="Where it hung.")
@click.option("--equipment", metavar="ID", help="Of --kitchen: the freezer whose clock of defrosts counts.")
@click.option("--defrosts", metavar="EVERY/LONGEST", help="That clock by hand, like '6 h/40 min', with --reads air.")
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
def judge(
    *,
    files: tuple[Path, ...],
    limit: str,
    row: str | None,
    kitchen: Path | None,
    reads: Any,
    equipment: str | None,
    defrosts: str | None,
    as_json: bool,
    **told: Any,
) -> None:
    """Judge a logger's file by a limit; whatever could be read in two ways is asked about.

    Several files are several probes in one food: the worst of them decides.

    Exit status: 0 met, 1 not met, 2 bad input.
    """
    from orchestrator.cli.defrost_clock import Freezer
    from orchestrator.cli.judging import run
    from orchestrator.cli.logger_file import Wish

    freezer = Freezer(equipment, defrosts)
    raise SystemExit(run(files, limit, kitchen, row, reads=reads, freezer=freezer, wish=Wish(**told), as_json=as_json))


@main.command(name="broker-files")
@click.argument("folder", type=_FOLDER, required=False, metavar="[DIR]")
@click.option("--out", type=_FOLDER, required=True, help="Folder of the broker's files; it must be yours alone.")
@click.option(
    "--listen",
    default="mqtt://0.0.0.0:1883",
    show_default=True,
    metavar="URL",
    help="Where the broker will listen; what stands after the port is put before the kitchen's topics.",
)
@click.option("--certificate", type=FILE, help="Chain, in PEM, for mqtts://.")
@click.option("--key", type=FILE, help="Of the certificate, in PEM.")
def broker_files(folder: Path | None, **options: Any) -> None:
    """Write what a Mosquitto broker needs, so that each probe has a password and says only its own readings."""
    from orchestrator.cli.broker_files import run

    raise SystemExit(run(folder_or_example(folder), **options))


@main.command()
@click.argument("probe")
@click.argument("value")
@click.option(
    "--url",
    default="mqtt://127.0.0.1:1883",
    show_default=True,
    envvar="COLDWRIGHT_BROKER",
    help="The broker; 'serve' and 'demo' print theirs.",
)
@click.option("--measured-at", metavar="INSTANT", help="RFC 3339; left out, it counts as measured on arrival.")
def publish(probe: str, value: str, url: str, measured_at: str | None) -> None:
    """Send one reading of a probe: degrees Celsius, or with F behind the number Fahrenheit."""
    from orchestrator.cli.publishing import run

    raise SystemExit(run(probe, value, url, measured_at))


main.add_command(machines.display)
main.add_command(machines.worker)


if __name__ == "__main__":
    main()


@main.group()
def records() -> None:
    """The record: proven whole, backed up, put back."""


_DATA = click.option("--data", type=_FOLDER, help="The service's data folder; left out, its usual place.")
_JSON = click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")


@records.command()
@_DATA
@click.option("--head", metavar="NUMBER:HASH", help="A head that was written down earlier: it must be in the log.")
@_JSON
def verify(data: Path | None, head: str | None, *, as_json: bool) -> None:
    """Prove that no record was changed, taken out or put in. Exit status: 0 whole, 1 not, 2 cannot be read."""
    from orchestrator.cli.records import places_of, run_verify

    raise SystemExit(run_verify(places_of(data), head, as_json=as_json))


@records.command()
@click.argument("folder", type=_FOLDER)
@_DATA
@_JSON
def backup(folder: Path, data: Path | None, *, as_json: bool) -> None:
    """Copy the record into a new folder, also while the service runs."""
    from orchestrator.cli.records import places_of, run_backup

    raise SystemExit(run_backup(places_of(data), folder, as_json=as_json))


@records.command()
@click.argument("folder", type=_FOLDER)
@_DATA
@_JSON
def restore(folder: Path, data: Path | None, *, as_json: bool) -> None:
    """Put a backup back, where there is no record yet: a new data folder, or a new kitchen of a database."""
    from orchestrator.cli.records import places_of, run_restore

    raise SystemExit(run_restore(places_of(data), folder, as_json=as_json))
