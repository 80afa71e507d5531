"""Rows of the log for by-products, and for deliveries that are overdue."""

from typing import Any

from tests.fakes.kitchens import at

_AT, _WHO = at("Wed 08:00"), "early-cook"
BY_PRODUCTS: list[dict[str, Any]] = [
    {
        "kind": "by_product_left",
        "lot": "C1-left-1",
        "ingredient": "Egg white",
        "of": "Eggs",
        "task": "C1.cook",
        "made_from": "C1",
        "at": _AT,
        "person": _WHO,
        "expected": "980 g",
        "weighed": "950 g",
        "use_by": at("Fri 08:00"),
        "place": "fridge",
        "room": 1.0,
        "allergens": ["egg"],
    },
    {"kind": "by_product_weighed", "lot": "C1-left-1", "at": _AT, "person": _WHO, "weighed": "930 g"},
    {
        "kind": "delivery_overdue",
        "ingredient": "Basil",
        "at": _AT,
        "told": at("Wed 07:00"),
        "expected_at": at("Wed 09:00"),
    },
    {"kind": "ingredient_measured", "lot": "C1-left-1", "at": _AT, "person": _WHO, "celsius": 4.2},
]
