"""What a schema cannot say: names that must exist, units that must agree, windows that must be reachable."""

from orchestrator.kitchen.folder import Draft


def check_all(draft: Draft) -> None:
    """Run every check over a draft; faults are noted in its documents."""
