"""Chances for people: beside each order, then the windows that long steps would break, and what all of it assumes."""

from rich.console import Console

from orchestrator.core.models import Outlook, Plan
from orchestrator.core.models.risk import ASSUMES, Cause


def chance_of(outlook: Outlook) -> str:
    """The chance of an order on time, with its interval and what it hangs on; empty where nobody simulated."""
    if outlook.chance is None or outlook.chance_low is None or outlook.chance_high is None:
        return ""
    says = f"\nChance on time {_share(outlook.chance)} ({_share(outlook.chance_low)} to {_share(outlook.chance_high)})"
    return "".join((says, *(f"\n  {_cause(cause)}" for cause in outlook.causes)))


def print_chances(console: Console, plan: Plan) -> None:
    """What the simulation says beyond the orders; nothing where nobody simulated."""
    if not plan.simulated_runs:
        return
    for window in plan.shaky:
        says = f"{window.title} ({window.task}): {window.window.value} window after {window.after}"
        console.print(f"{says}, kept in {_share(window.chance)} of the runs")
        for cause in window.causes:
            console.print(f"  {_cause(cause)}")
    console.print(f"Chances come from {plan.simulated_runs:,} simulated runs of this plan (95 % intervals).")
    for line in ASSUMES:
        console.print(f"  {line}")


def _cause(cause: Cause) -> str:
    return f"{_share(cause.chance_if_usual)} if {cause.title} ({cause.task}) takes its usual minutes or less"


def _share(share: float) -> str:
    """Rounded down: all is said of every run only."""
    return f"{int(share * 100 + 1e-9)} %"
