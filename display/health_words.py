"""What is wrong with a probe, as sentences with its numbers in the kitchen's unit."""

from collections.abc import Sequence

from display.panels import Showing
from orchestrator.core.models.health import HealthFinding, Sign


def says(showing: Showing, health: Sequence[HealthFinding]) -> list[str]:
    """One sentence for each finding, without a full stop."""
    return [_says(showing, finding) for finding in health]


def _says(showing: Showing, finding: HealthFinding) -> str:
    key = f"sign_{finding.sign.value}_{finding.hint}" if finding.hint else f"sign_{finding.sign.value}"
    mistaken, swapped = (finding.sign is sign for sign in (Sign.UNIT_MISTAKEN, Sign.SWAPPED))
    amount = _number(showing, finding, finding.amount, absolute=mistaken)
    limit = _number(showing, finding, finding.limit, absolute=mistaken or swapped)
    return showing.words(key, amount=amount, limit=limit, other=_name(showing, finding))


def _name(showing: Showing, finding: HealthFinding) -> str:
    return next((p.name for p in showing.kitchen.probes if p.id == finding.other), str(finding.other or ""))


def _number(showing: Showing, finding: HealthFinding, value: float, *, absolute: bool) -> str:
    f, w = showing.formats, showing.words
    if finding.unit == "degrees":
        return f.temperature(value) if absolute else f.difference(value)
    if finding.unit == "minutes":
        return f.length(max(1, round(value)))
    if finding.unit == "percent":
        return f"{value:.0f} %"
    return w("times", count=f"{value:.0f}")


def cannot_say(showing: Showing, unknown: Sequence[tuple[str, str]]) -> list[str]:
    """What cannot be known, and why."""
    return [showing.words(f"cannot_{why}") for _, why in unknown]
