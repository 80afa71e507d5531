"""Kitchens of a few lines, written as files: small enough to solve by hand."""

from pathlib import Path
from typing import Any, Final

import yaml

from orchestrator.core.ids import TaskId
from orchestrator.core.models import Plan, PlannedTask, PlanRequest
from orchestrator.kitchen import read_kitchen

DAY: Final = "2026-11-25"
Data = dict[str, Any]


def step(name: str, minutes: int | None = None, **told: Any) -> Data:
    """One stage that takes exactly so many minutes; without hands unless told."""
    length = {} if minutes is None else {"duration": dict.fromkeys(("shortest", "usual", "longest"), f"{minutes} min")}
    return {"id": name, "process": told.pop("process", "mix"), "title": f"{name} it", **length, **told}


def hands(when: str = "throughout", minutes: int | None = None, skill: str = "make") -> Data:
    """An attended portion."""
    portion = {"when": when} if minutes is None else {"when": when, "minutes": f"{minutes} min"}
    return {"attended": [portion], "skill": skill}


def machine(name: str, kind: str, **told: Any) -> Data:
    """A machine at the bench."""
    return {"id": name, "name": name, "kind": kind, "station": "bench", "floor": "warm", **told}


def recipe(name: str, code: str, steps: list[Data], **told: Any) -> Data:
    """A product of which 4 L are made at once, unless told otherwise."""
    given = {"makes": "product", "yields": "4 L", "batch": {"least": "1 L", "most": "4 L"}}
    return {"id": name, "name": name.capitalize(), "code": code, **given, **told, "steps": steps}


def shift(day: int = 0, since: str = "06:00", until: str = "14:00", *breaks: str) -> Data:
    """When somebody is there."""
    return {"day": f"2026-11-{25 + day}", "from": since, "to": until, **({"breaks": list(breaks)} if breaks else {})}


def person(name: str = "cook", skills: str = "make serve clean", *shifts: Data) -> Data:
    """One of the crew; on the first day from six to two unless told."""
    return {"id": name, "name": name.capitalize(), "skills": skills.split(), "shifts": list(shifts) or [shift()]}


def order(due: str, *lines: tuple[str, str], name: str = "O", **told: Any) -> Data:
    """So much of some products; an instant without a day is on the first."""
    wanted = [{"product": product, "quantity": amount} for product, amount in lines]
    return {"id": name, "customer": name, "due": at(due), "lines": wanted, **told}


def at(instant: str) -> str:
    """``HH:MM`` of the first day, or ``day HH:MM`` counted from it, as files write it."""
    day, _, clock = instant.rpartition(" ")
    return f"2026-11-{25 + int(day or 0)}T{clock}"


def kitchen(
    folder: Path,
    machines: list[Data],
    recipes: list[Data],
    orders: list[Data],
    *,
    crew: list[Data] | None = None,
    stock: list[Data] | None = None,
    supplies: list[Data] | None = None,
    days: int = 2,
) -> PlanRequest:
    """Write a kitchen, and read it again as everybody's is. Returns the question at its planning start."""
    stations = [{"id": "bench", "name": "Bench"}]
    head = {"name": "By hand", "time_zone": "Europe/London", "planning_start": at("06:00"), "horizon_days": days}
    files: dict[str, Data] = {
        "kitchen.yaml": {**head, "stations": stations},
        "equipment.yaml": {"equipment": machines},
        "crew.yaml": {"crew": crew or [person()]},
        "orders.yaml": {"orders": orders},
        "stock.yaml": {"stock": stock or []},
        "supplies.yaml": {"supplies": supplies or []},
        **{f"recipes/{made['id']}.yaml": made for made in recipes},
    }
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(yaml.safe_dump(data), encoding="utf-8")
    read = read_kitchen(folder)
    return PlanRequest(kitchen=read, now=read.planning_start)


def span(plan: Plan, name: str) -> str:
    """From when to when a task stands, on the kitchen's clock (London's, in winter)."""
    task = plan.task(TaskId(name))
    return f"{_clock(task, task.start)}-{_clock(task, task.end)}"


def _clock(task: PlannedTask, instant: Any) -> str:
    days = instant.day - 25
    return (f"{days} " if days else "") + f"{instant:%H:%M}"
