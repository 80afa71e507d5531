"""A plan for the small kitchen, placed by hand: each figure can be checked with a finger."""

from datetime import timedelta
from typing import Any

from orchestrator.core.models import Kitchen, Plan
from tests.fakes.kitchens import at, small_kitchen


def _task(
    kitchen: Kitchen, task_id: str, recipe: str, step_id: str, start: str, end: str, links: list[dict[str, Any]] | None
) -> dict[str, Any]:
    step = next(s for r in kitchen.recipes if r.id == recipe for s in r.steps if s.id == step_id)
    machines = {"hob": "hob-1", "ice bath": "ice-bath", "counter": "bench"}
    equipment = machines.get(step.equipment or "", step.equipment)
    owner = task_id.split(".", maxsplit=1)[0]
    minutes = int((at(end) - at(start)).total_seconds() // 60)
    stay = step.stay
    return {
        "id": task_id,
        "kind": "stay" if stay else "work",
        "process": step.process,
        "title": step.title,
        "lot": owner if step.per == "batch" else None,
        "order": owner if step.per == "order" else None,
        "recipe": recipe,
        "step": step_id,
        "station": step.station or next(e.station for e in kitchen.equipment if e.id == equipment),
        "equipment_kind": step.equipment,
        "load": step.load.value if step.load else 0.0,
        "quantity": "5 L",
        "duration": step.duration or {"shortest": stay.least, "usual": minutes, "longest": stay.most},  # type: ignore[union-attr]
        "stay": stay,
        "attended": step.attended,
        "skill": step.skill,
        "links": links or [],
        "equipment": equipment,
        "start": at(start),
        "end": at(end),
        "spans": _spans(step.attended, start, end, step.skill),
    }


def _spans(attended: Any, start: str, end: str, skill: str | None) -> list[dict[str, Any]]:
    who = "counter-hand" if skill == "counter" else "early-cook"
    spans = []
    for part in attended:
        begins, ends = at(start), at(end)
        if part.when == "start":
            ends = begins + timedelta(minutes=part.minutes)
        if part.when == "end":
            begins = ends - timedelta(minutes=part.minutes)
        spans.append({"start": begins, "end": ends, "crew": [who]})
    return spans


def _joined(after: str) -> dict[str, Any]:
    return {"after": after, "least": 0, "most": 0}


_ROWS: list[tuple[str, str, str, str, str, list[dict[str, Any]] | None]] = [
    ("C1.cook", "custard-base", "cook", "Wed 08:00", "Wed 08:40", None),
    (
        "C1.chill",
        "custard-base",
        "chill",
        "Wed 08:45",
        "Wed 10:15",
        [{"after": "C1.cook", "least": 0, "most": 15, "window": "safety"}],
    ),
    ("C1.age.B1", "custard-base", "age", "Wed 10:15", "Thu 09:00", [_joined("C1.chill")]),
    ("B1.churn", "basil-custard", "churn", "Thu 09:00", "Thu 09:30", [_joined("C1.age.B1")]),
    ("B1.harden.SAT-STALL", "basil-custard", "harden", "Thu 09:30", "Sat 10:20", [_joined("B1.churn")]),
    ("SAT-STALL.B.temper", "basil-custard", "temper", "Sat 10:20", "Sat 10:40", [_joined("B1.harden.SAT-STALL")]),
    (
        "SAT-STALL.B.hand-over",
        "basil-custard",
        "hand-over",
        "Sat 10:40",
        "Sat 10:50",
        [{"after": "SAT-STALL.B.temper", "least": 0, "most": 30}],
    ),
    ("S1.simmer", "damson-sorbet", "simmer", "Wed 10:30", "Wed 11:00", None),
    ("S1.chill", "damson-sorbet", "chill", "Wed 11:00", "Wed 12:00", [{"after": "S1.simmer"}]),
    ("S1.age", "damson-sorbet", "age", "Wed 12:00", "Thu 10:00", [_joined("S1.chill")]),
    ("S1.churn", "damson-sorbet", "churn", "Thu 10:00", "Thu 10:30", [_joined("S1.age")]),
    ("S1.harden.SUN-CAFE", "damson-sorbet", "harden", "Thu 10:30", "Sun 14:20", [_joined("S1.churn")]),
    ("SUN-CAFE.S.temper", "damson-sorbet", "temper", "Sun 14:20", "Sun 14:40", [_joined("S1.harden.SUN-CAFE")]),
    (
        "SUN-CAFE.S.hand-over",
        "damson-sorbet",
        "hand-over",
        "Sun 14:40",
        "Sun 14:50",
        [{"after": "SUN-CAFE.S.temper", "least": 0, "most": 30}],
    ),
]

_WINDOWS = {
    # What sets the earliest and the latest start of each task: the ends before it, plus least and most.
    "C1.chill": ("Wed 08:40", "Wed 08:55", "safety"),
    "B1.churn": ("Wed 22:15", "Sat 10:15", "safety"),
    "SAT-STALL.B.temper": ("Thu 13:30", "Thu+10 09:30", "quality"),
    "SAT-STALL.B.hand-over": ("Sat 10:40", "Sat 11:10", "quality"),
    "S1.churn": ("Wed 16:00", "Fri 12:00", "quality"),
    "SUN-CAFE.S.temper": ("Thu 14:30", "Thu+10 10:30", "quality"),
    "SUN-CAFE.S.hand-over": ("Sun 14:40", "Sun 15:10", "quality"),
}

_CLEAN = {
    "id": "churn.clean.S1",
    "kind": "clean",
    "process": "clean",
    "title": "Full clean: Churn",
    "lot": "S1",
    "station": "stove",
    "equipment_kind": "churn",
    "duration": {"shortest": 20, "usual": 20, "longest": 20},
    "attended": [{"when": "throughout"}],
    "skill": "churn",
    "equipment": "churn",
    "start": at("Thu 09:35"),
    "end": at("Thu 09:55"),
    "spans": [{"start": at("Thu 09:35"), "end": at("Thu 09:55"), "crew": ["early-cook"]}],
}


def _outlook(order: str, ready: str, margin_min: int) -> dict[str, Any]:
    return {"order": order, "met": True, "ready_at": at(ready), "late_min": 0, "margin_min": margin_min}


def small_plan(kitchen: Kitchen | None = None) -> Plan:
    """Custard base C1 into basil custard B1 for Saturday's stall; sorbet S1 for Sunday's counter."""
    kitchen = kitchen or small_kitchen()
    tasks = [_task(kitchen, *row) for row in _ROWS] + [dict(_CLEAN)]
    for task in tasks:
        if window := _WINDOWS.get(task["id"]):
            task |= {"opens": at(window[0]), "closes": at(window[1]), "closing_class": window[2]}
    milk_egg = ["egg", "milk"]
    return Plan.model_validate(
        {
            "made_at": kitchen.planning_start,
            "start": kitchen.planning_start,
            "end": kitchen.planning_start + timedelta(days=kitchen.horizon_days),
            "batches": [
                {
                    "lot": "C1",
                    "recipe": "custard-base",
                    "revision": 1,
                    "size": "5 L",
                    "scale": 1,
                    "allergens": milk_egg,
                },
                {
                    "lot": "B1",
                    "recipe": "basil-custard",
                    "revision": 1,
                    "size": "4.8 L",
                    "scale": 1,
                    "allergens": milk_egg,
                },
                {"lot": "S1", "recipe": "damson-sorbet", "revision": 1, "size": "4.8 L", "scale": 1},
            ],
            "pegs": [
                {"lot": "C1", "batch": "B1", "quantity": "5 L"},
                {"lot": "B1", "order": "SAT-STALL", "quantity": "4.8 L"},
                {"lot": "S1", "order": "SUN-CAFE", "quantity": "4.8 L"},
            ],
            "tasks": sorted(tasks, key=lambda t: (t["start"], t["id"])),
            "outlooks": [_outlook("SAT-STALL", "Sat 10:50", 10), _outlook("SUN-CAFE", "Sun 14:50", 10)],
            "method": "first guess",
        }
    )
