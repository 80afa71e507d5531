"""Rows of the log for changes of demand: an order, a par level, a closing count."""

from typing import Any

from tests.fakes.kitchens import at

_AT = at("Wed 08:00")
_CHANGES: list[dict[str, Any]] = [
    {"change": "change order", "order": "FRI-PARTY", "customer": "Wedding", "at_any_time": True},
    {"change": "set par", "station": "counter", "product": "basil-custard", "quantity": "6 L", "by": "09:30"},
    {"change": "closing count", "station": "counter", "counts": [{"product": "basil-custard", "quantity": "1.5 L"}]},
]
DEMAND: list[dict[str, Any]] = [
    {
        "kind": "kitchen_changed",
        "changes": _CHANGES,
        "at": at("Wed 08:00"),
        "person": "manager",
        "reason": "every evening",
    }
]
