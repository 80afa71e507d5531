"""Small kitchens for tests: one base, one product, one churn, one fridge, one freezer, two crew, one order."""

from datetime import UTC, datetime, timedelta
from typing import Any

from orchestrator.core.models import Kitchen, PlanRequest

START = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
"""Wednesday, 06:00 in London: the planning start of every kitchen made here."""


def at(day: int, clock: str) -> datetime:
    """Day 0 is the Wednesday of `START`; ``clock`` as ``HH:MM`` (UTC, which is London's winter time)."""
    hours, minutes = clock.split(":")
    return START.replace(hour=0, minute=0) + timedelta(days=day, hours=int(hours), minutes=int(minutes))


def shifts(start: str, end: str, *, days: int = 5, pause: tuple[str, str] | None = None) -> list[dict[str, Any]]:
    """The same shift every day, with one break if ``pause`` is given."""
    return [
        {
            "start": at(day, start),
            "end": at(day, end),
            "breaks": [{"start": at(day, pause[0]), "end": at(day, pause[1])}] if pause else [],
        }
        for day in range(days)
    ]


def base_recipe() -> dict[str, Any]:
    """Custard base: cooked on the hob, aged 12 to 72 h in the fridge."""
    return {
        "id": "custard-base",
        "name": "Custard base",
        "code": "C",
        "makes": "component",
        "yields": "8 L",
        "batch": {"least": "2 L", "most": "12 L"},
        "steps": [
            {
                "id": "cook",
                "process": "cook",
                "title": "Cook the custard base",
                "equipment": "hob",
                "duration": {"shortest": 30, "usual": 40, "longest": 50},
                "attended": [{"when": "throughout"}],
                "skill": "cook",
                "takes": [{"ingredient": "milk", "amount": "5 L", "allergens": ["milk"]}],
            },
            {
                "id": "age",
                "process": "age",
                "title": "Age the base",
                "equipment": "fridge",
                "load": "8 L",
                "stay": {"least": 720, "most": 4320, "window": "quality"},
            },
        ],
    }


def product_recipe() -> dict[str, Any]:
    """Basil custard: churned, hardened and kept in the freezer, handed over."""
    return {
        "id": "basil-custard",
        "name": "Basil custard",
        "code": "B",
        "makes": "product",
        "yields": "4 L",
        "batch": {"least": "2 L", "most": "10 L"},
        "base": "custard",
        "steps": [
            {
                "id": "churn",
                "process": "churn",
                "title": "Churn basil custard",
                "equipment": "churn",
                "load": "4 L",
                "duration": {"shortest": 15, "usual": 20, "longest": 30},
                "attended": [{"when": "throughout"}],
                "skill": "churn",
                "takes": [{"component": "custard-base", "amount": "4 L"}],
                "loss": "0.2 L",
            },
            {
                "id": "freeze",
                "process": "harden",
                "title": "Harden basil custard",
                "equipment": "freezer",
                "load": "4 L",
                "stay": {"least": 240, "most": 10080, "window": "quality"},
            },
            {
                "id": "hand-over",
                "process": "hand over",
                "title": "Hand over basil custard",
                "station": "counter",
                "duration": {"shortest": 5, "usual": 10, "longest": 20},
                "attended": [{"when": "throughout"}],
                "skill": "serve",
                "per": "order",
            },
        ],
    }


def machines() -> list[dict[str, Any]]:
    """A hob, a churn that is cleaned between runs, a fridge and a freezer."""
    return [
        {"id": "hob-1", "name": "Hob", "kind": "hob", "station": "stove", "floor": "warm"},
        {
            "id": "churn",
            "name": "Churn",
            "kind": "churn",
            "station": "stove",
            "floor": "churn",
            "capacity": "5 L",
            "least": "2 L",
            "cleaning": {"rinse": 10, "full": 30, "skill": "clean"},
        },
        {
            "id": "fridge",
            "name": "Fridge",
            "kind": "fridge",
            "station": "stove",
            "floor": "cold",
            "capacity": "20 L",
            "shared": True,
            "store": True,
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
        },
    ]


def crew() -> list[dict[str, Any]]:
    """One who cooks, churns and cleans; one who serves, cleans and decides."""
    return [
        {
            "id": "early-cook",
            "name": "Early cook",
            "skills": ["cook", "churn", "clean"],
            "shifts": shifts("06:00", "14:00", pause=("10:00", "10:30")),
        },
        {
            "id": "counter-hand",
            "name": "Counter hand",
            "skills": ["serve", "clean"],
            "shifts": shifts("09:00", "17:00"),
            "manager": True,
        },
    ]


def tiny_data() -> dict[str, Any]:
    """The tiny kitchen as plain data, to be changed before it is validated."""
    return {
        "name": "Tiny kitchen",
        "time_zone": "Europe/London",
        "planning_start": START,
        "horizon_days": 5,
        "stations": [{"id": "stove", "name": "Stove and churn"}, {"id": "counter", "name": "Counter"}],
        "equipment": machines(),
        "crew": crew(),
        "recipes": [base_recipe(), product_recipe()],
        "orders": [
            {
                "id": "SAT-STALL",
                "customer": "Market stall",
                "lines": [{"product": "basil-custard", "quantity": "4 L"}],
                "due": at(3, "11:00"),
            }
        ],
        "stock": [],
    }


def tiny_kitchen(data: dict[str, Any] | None = None) -> Kitchen:
    """The tiny kitchen as a model; ``data`` is a changed `tiny_data`."""
    return Kitchen.model_validate(tiny_data() if data is None else data)


def tiny_request(data: dict[str, Any] | None = None, *, now: datetime = START, **told: Any) -> PlanRequest:
    """A request for a plan of the tiny kitchen."""
    return PlanRequest(kitchen=tiny_kitchen(data), now=now, **told)


def second_product() -> dict[str, Any]:
    """Toasted hazelnut custard: the same steps with one allergen more and another base."""
    recipe = product_recipe()
    recipe.update(id="hazelnut-custard", name="Toasted hazelnut custard", code="H", base="hazelnut")
    recipe["steps"][0] = {
        **recipe["steps"][0],
        "title": "Churn hazelnut custard",
        "takes": [
            {"component": "custard-base", "amount": "4 L"},
            {"ingredient": "hazelnuts", "amount": "0.4 kg", "allergens": ["hazelnut"]},
        ],
    }
    return recipe
