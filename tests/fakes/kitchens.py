"""A small kitchen, made by hand: one custard and one sorbet, one churn, two days of orders."""

from datetime import UTC, datetime, timedelta
from typing import Any

from orchestrator.core.models import Kitchen

WED = datetime(2026, 11, 25, tzinfo=UTC)
"""Midnight at which the example week begins; London is on UTC in November."""
_DAYS = ("Wed", "Thu", "Fri", "Sat", "Sun", "Mon")


def at(text: str) -> datetime:
    """``at("Thu 09:30")``: that instant of the example week; ``at("Thu+6 09:30")``: six days later."""
    day, clock = text.split()
    day, _, later = day.partition("+")
    hours, minutes = clock.split(":")
    return WED + timedelta(days=_DAYS.index(day) + int(later or 0), hours=int(hours), minutes=int(minutes))


def _shifts(start: str, end: str, days: tuple[str, ...] = _DAYS[:5], pause: str = "") -> list[dict[str, Any]]:
    shifts = []
    for day in days:
        breaks = []
        if pause:
            begins = at(f"{day} {pause}")
            breaks = [{"start": begins, "end": begins + timedelta(minutes=30)}]
        shifts.append({"start": at(f"{day} {start}"), "end": at(f"{day} {end}"), "breaks": breaks})
    return shifts


_STATIONS = [{"id": "stove", "name": "Stove and churn"}, {"id": "counter", "name": "Counter"}]

EQUIPMENT: list[dict[str, Any]] = [
    {"id": "hob-1", "name": "Hob 1", "kind": "hob", "station": "stove", "floor": "warm"},
    {"id": "ice-bath", "name": "Ice bath", "kind": "ice bath", "station": "stove", "floor": "cold"},
    {
        "id": "fridge",
        "name": "Fridge",
        "kind": "fridge",
        "station": "stove",
        "floor": "cold",
        "capacity": "24 L",
        "shared": True,
        "store": True,
        "holds": {"low": 0, "high": 5, "grace": 20},
    },
    {
        "id": "churn",
        "name": "Churn",
        "kind": "churn",
        "station": "stove",
        "floor": "churn",
        "capacity": "6 L",
        "least": "2 L",
        "cleaning": {"rinse": 10, "full": 20, "skill": "churn"},
    },
    {
        "id": "freezer",
        "name": "Freezer",
        "kind": "freezer",
        "station": "stove",
        "floor": "hard",
        "capacity": "30 L",
        "shared": True,
        "store": True,
        "holds": {"high": -15, "grace": 20},
    },
    {"id": "bench", "name": "Counter bench", "kind": "counter", "station": "counter", "floor": "warm"},
]

_CREW = [
    {
        "id": "early-cook",
        "name": "Early cook",
        "skills": ["stove", "churn"],
        "shifts": _shifts("06:00", "14:00", pause="12:30"),
    },
    {"id": "late-cook", "name": "Late cook", "skills": ["stove", "churn"], "shifts": _shifts("13:00", "21:00")},
    {
        "id": "counter-hand",
        "name": "Counter hand",
        "skills": ["counter"],
        "shifts": _shifts("09:00", "17:00", days=("Sat", "Sun")),
    },
    {"id": "manager", "name": "Manager", "skills": [], "shifts": _shifts("08:00", "16:00"), "manager": True},
]

_PROBES = [
    {"id": "hob-1-core", "name": "Hob 1 core", "equipment": "hob-1", "reads": "core"},
    {"id": "ice-bath-core", "name": "Ice bath core", "equipment": "ice-bath", "reads": "core"},
    {"id": "fridge-air", "name": "Fridge air", "equipment": "fridge", "reads": "air"},
    {"id": "freezer-air", "name": "Freezer air", "equipment": "freezer", "reads": "air"},
]


def _per_order() -> list[dict[str, Any]]:
    return [
        {
            "id": "temper",
            "process": "temper",
            "title": "Temper",
            "equipment": "counter",
            "duration": {"shortest": 15, "usual": 20, "longest": 30},
            "attended": [{"when": "start", "minutes": 5}],
            "skill": "counter",
            "per": "order",
        },
        {
            "id": "hand-over",
            "process": "hand over",
            "title": "Hand over",
            "station": "counter",
            "duration": {"shortest": 5, "usual": 10, "longest": 20},
            "attended": [{"when": "throughout"}],
            "skill": "counter",
            "after": [{"step": "temper", "most": 30}],
            "per": "order",
        },
    ]


def _churn_and_harden(takes: list[dict[str, Any]], title: str, after: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        {
            "id": "churn",
            "process": "churn",
            "title": f"Churn {title}",
            "equipment": "churn",
            "load": "5 L",
            "duration": {"shortest": 25, "usual": 30, "longest": 45},
            "attended": [{"when": "throughout"}],
            "skill": "churn",
            "takes": takes,
            "gates": [{"at_most": 4, "says": "Base at most 4 °C"}],
            "measure": "volume_l",
            "loss": "200 ml",
            "method": ["Pour in the base", "Draw off at −6 °C"],
            "cautions": ["Keep hands out of the barrel"],
            **after,
        },
        {
            "id": "harden",
            "process": "harden",
            "title": f"Harden {title}",
            "equipment": "freezer",
            "load": "5 L",
            "stay": {"least": 240, "most": 14400, "window": "quality"},
        },
    ]


_CUSTARD_BASE = {
    "id": "custard-base",
    "name": "Custard base",
    "code": "C",
    "makes": "component",
    "yields": "5 L",
    "batch": {"least": "2 L", "most": "10 L"},
    "shelf_life": 4320,
    "steps": [
        {
            "id": "cook",
            "process": "cook",
            "title": "Cook the custard base",
            "equipment": "hob",
            "duration": {"shortest": 30, "usual": 40, "longest": 60},
            "attended": [{"when": "throughout"}],
            "skill": "stove",
            "takes": [
                {"ingredient": "whole milk", "amount": "3 L", "allergens": ["milk"]},
                {"ingredient": "egg yolk", "amount": "600 g", "allergens": ["egg"]},
            ],
            "target": {"at_least": 82, "hold": 1, "ceiling": 85},
            "critical": True,
        },
        {
            "id": "chill",
            "process": "chill",
            "title": "Chill the custard base",
            "equipment": "ice bath",
            "duration": {"shortest": 60, "usual": 90, "longest": 240},
            "attended": [{"when": "start", "minutes": 5}],
            "skill": "stove",
            "after": [{"step": "cook", "most": 15, "window": "safety"}],
            "target": {"at_most": 5},
            "critical": True,
        },
        {
            "id": "age",
            "process": "age",
            "title": "Age the custard base",
            "equipment": "fridge",
            "load": "5 L",
            "stay": {"least": 720, "most": 4320, "window": "safety"},
        },
    ],
}

_BASIL_CUSTARD = {
    "id": "basil-custard",
    "name": "Basil custard",
    "code": "B",
    "makes": "product",
    "yields": "5 L",
    "batch": {"least": "2 L", "most": "6 L"},
    "steps": [
        *_churn_and_harden([{"component": "custard-base", "amount": "5 L"}], "basil custard", {}),
        *_per_order(),
    ],
}

_DAMSON_SORBET = {
    "id": "damson-sorbet",
    "name": "Damson sorbet",
    "code": "S",
    "makes": "product",
    "yields": "5 L",
    "batch": {"least": "2 L", "most": "6 L"},
    "steps": [
        {
            "id": "simmer",
            "process": "simmer",
            "title": "Simmer damsons",
            "equipment": "hob",
            "duration": {"shortest": 20, "usual": 30, "longest": 45},
            "attended": [{"when": "throughout"}],
            "skill": "stove",
            "takes": [{"ingredient": "damsons", "amount": "4 kg"}],
        },
        {
            "id": "chill",
            "process": "chill",
            "title": "Chill damson base",
            "equipment": "ice bath",
            "duration": {"shortest": 45, "usual": 60, "longest": 120},
            "attended": [{"when": "start", "minutes": 5}],
            "skill": "stove",
            "target": {"at_most": 5},
        },
        {
            "id": "age",
            "process": "age",
            "title": "Rest damson base",
            "equipment": "fridge",
            "load": "5 L",
            "stay": {"least": 240, "most": 2880, "window": "quality"},
        },
        *_churn_and_harden([], "damson sorbet", {"after": [{"step": "age"}]}),
        *_per_order(),
    ],
}


def small_kitchen(**changes: Any) -> Kitchen:
    """Two stations, six machines and places, four of the crew, three recipes, two orders."""
    data: dict[str, Any] = {
        "name": "Small kitchen",
        "time_zone": "Europe/London",
        "planning_start": at("Wed 06:00"),
        "stations": _STATIONS,
        "equipment": EQUIPMENT,
        "crew": _CREW,
        "probes": _PROBES,
        "recipes": [_CUSTARD_BASE, _BASIL_CUSTARD, _DAMSON_SORBET],
        "orders": [
            {
                "id": "SAT-STALL",
                "customer": "Market stall",
                "lines": [{"product": "basil-custard", "quantity": "4.8 L"}],
                "due": at("Sat 11:00"),
            },
            {
                "id": "SUN-CAFE",
                "customer": "Café counter",
                "lines": [{"product": "damson-sorbet", "quantity": "4.8 L"}],
                "due": at("Sun 15:00"),
            },
        ],
    }
    return Kitchen.model_validate({**data, **changes})


def with_machine(kitchen: Kitchen, machine: str, **changes: Any) -> Kitchen:
    """The kitchen with one machine changed."""
    equipment = tuple(e.model_copy(update=changes) if e.id == machine else e for e in kitchen.equipment)
    return kitchen.model_copy(update={"equipment": equipment})
