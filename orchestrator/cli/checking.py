"""``coldwright check``: all faults of a kitchen folder at once."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import Final

import click

_ONE: Final = {
    "stations": "station",
    "shifts": "shift",
    "probes": "probe",
    "mappings": "mapping",
    "products": "product",
    "components": "component",
    "steps": "step",
    "orders": "order",
    "order lines": "order line",
    "lots on hand": "lot on hand",
    "limits": "limit",
    "people to call": "person to call",
}
"""What is counted, where there is one."""


def run(folder: Path, as_json: bool) -> int:
    """Print what is wrong, or what was read.

    Returns:
        Exit status: 0 without faults, 2 with.
    """
    from orchestrator.kitchen import KitchenFaults, check_summary, read_kitchen, translation_advice

    try:
        kitchen = read_kitchen(folder)
    except KitchenFaults as faults:
        if as_json:
            click.echo(
                json.dumps({"ok": False, "faults": [asdict(f) for f in faults.faults]}, indent=2, ensure_ascii=False)
            )
        else:
            print_faults(folder, faults)
        return 2
    counts, advice = check_summary(kitchen), translation_advice(kitchen, folder)
    if as_json:
        document = {"ok": True, "faults": [], "counts": counts, "advice": advice}
        click.echo(json.dumps(document, indent=2, ensure_ascii=False))
    else:
        told = ", ".join(f"{count} {_ONE.get(what, what) if count == 1 else what}" for what, count in counts.items())
        click.echo(f"{kitchen.name}: no faults. {told}")
        for line in advice:
            click.echo(f"advice: {line}")
    return 0


def print_faults(folder: Path, faults: Exception) -> None:
    """One fault a line on standard error, then how many."""
    from orchestrator.kitchen import KitchenFaults

    assert isinstance(faults, KitchenFaults)
    for fault in faults.faults:
        click.echo(fault.text(), err=True)
    count = len(faults.faults)
    click.echo(f"{count} {'fault' if count == 1 else 'faults'} in {folder}", err=True)
