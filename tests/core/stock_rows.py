"""Rows of the log for deliveries, counts and recall drills."""

from typing import Any

from tests.fakes.kitchens import at

_AT, _WHO = at("Wed 08:00"), "early-cook"
_VERDICT = {
    "limit": "cold-holding",
    "title": "Keep food cold",
    "applied": "a code, 2022",
    "row": "cold",
    "status": "broken",
    "at": _AT,
    "margin_degrees": -0.5,
    "readings": [(_AT, 5.5)],
    "tolerance_degrees": 1.0,
    "within_tolerance": True,
}
_SUPPLIED = {"ingredient": "Basil", "at": _AT, "person": _WHO}
_DRILL_ITEM = {
    "id": "B1/SAT-STALL",
    "lot": "B1",
    "name": "Basil custard",
    "quantity": "4.8 L",
    "share": 0.75,
    "where": "Freezer",
    "order": "SAT-STALL",
    "customer": "Market stall",
}
_FIND = {"item": "B1/SAT-STALL", "at": _AT, "person": _WHO, "found": False, "note": "the driver has it"}
STOCK: list[dict[str, Any]] = [
    {
        "kind": "delivery_received",
        "delivery": "in-1",
        **_SUPPLIED,
        "outcome": "short",
        "quantity": "400 g",
        "expected": "1 kg",
        "celsius": 5.5,
        "verdict": _VERDICT,
        "supplier": "Herb grower",
        "supplier_lot": "L-204",
        "use_by": at("Sat 12:00"),
        "place": "fridge",
        "reason": "crop failed",
        "rest_at": at("Thu 07:00"),
        "usable": "400 g",
    },
    {
        "kind": "ingredient_used",
        "task": "C1.cook",
        "at": _AT,
        "person": _WHO,
        "ingredients": ["Basil"],
        "uses": [{"lot": "in-1", "ingredient": "Basil", "quantity": "250 g"}],
    },
    {"kind": "ripeness_judged", **_SUPPLIED, "ripe_at": at("Thu 07:00"), "reason": "still hard"},
    {
        "kind": "ingredient_swapped",
        **_SUPPLIED,
        "by": "Basil in oil",
        "allergens": ["soy"],
        "added": ["soy"],
        "reason": "none to be had",
        "recipes": ["basil-custard"],
    },
    {
        "kind": "stock_counted",
        "lot": "B1",
        "at": _AT,
        "person": _WHO,
        "place": "freezer",
        "books": "4.8 L",
        "counted": "4.5 L",
        "reason": "tasted",
    },
    {
        "kind": "lot_reworked",
        "lot": "B1",
        "into": "B2",
        "quantity": "1.5 L",
        "at": _AT,
        "person": _WHO,
        "allergens": ["egg", "milk"],
        "added": ["egg"],
        "use_by": at("Sat 12:00"),
        "reason": "coarse, tastes well",
    },
    {
        "kind": "drill_started",
        "drill": "DRILL-1",
        "lot": "C1",
        "name": "Custard base",
        "at": _AT,
        "person": _WHO,
        "items": [_DRILL_ITEM],
        "gone": 0.25,
    },
    {"kind": "drill_marked", "drill": "DRILL-1", "find": _FIND},
    {
        "kind": "drill_ended",
        "drill": "DRILL-1",
        "at": _AT,
        "person": _WHO,
        "minutes": 12.5,
        "accounted": 0.25,
        "note": "ring the stall sooner",
    },
]
