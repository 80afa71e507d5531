"""A kitchen full of probes, and what they send: six kinds of probe, in turn."""

import dataclasses
import json
import math
from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.ids import EquipmentId, ProbeId
from orchestrator.core.models import Kitchen, LimitUse, Probe
from orchestrator.core.models.limit import LimitId
from orchestrator.core.state import State, TaskRecord, TaskStatus
from orchestrator.kitchen.shipped import shipped_limits
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

BEGUN: Final = at("Wed 07:00")
_USES: Final = {
    "cook": LimitUse(id=LimitId("frozen-dessert-mix"), ceiling=95.0),
    "chill": LimitUse(id=LimitId("two-leg-cooling")),
    "harden": LimitUse(id=LimitId("frozen-holding")),
}
_TASKS: Final = ("C1.cook", "C1.chill", "B1.harden.SAT-STALL")


@dataclasses.dataclass(frozen=True, slots=True)
class Kind:
    """One kind of probe."""

    name: str
    place: str
    air: bool
    every_s: float


KINDS: Final = (
    Kind("heated, each 5 s", "hob-1", False, 5.0),
    Kind("heated, each min", "hob-1", False, 60.0),
    Kind("limit met", "hob-1", False, 60.0),
    Kind("cooled, each 3 s", "ice-bath", False, 3.0),
    Kind("fridge air", "fridge", True, 60.0),
    Kind("freezer air, stay", "freezer", True, 60.0),
)


def kind_of(probe: int) -> Kind:
    """The kinds come in turn."""
    return KINDS[probe % len(KINDS)]


def scene(probes: int) -> tuple[Kitchen, State]:
    """The small kitchen with so many probes: a custard cooked, one cooled, and tubs that stay, each under a limit."""
    plain = small_kitchen()
    recipes = []
    for recipe in plain.recipes:
        steps = [s.model_copy(update={"limit": _USES.get(s.id)}) for s in recipe.steps]
        recipes.append(recipe.model_copy(update={"steps": tuple(steps)}))
    many = []
    for n in range(probes):
        kind = kind_of(n)
        reads = "air" if kind.air else "core"
        many.append(Probe(id=ProbeId(f"p{n}"), name=f"Probe {n}", equipment=EquipmentId(kind.place), reads=reads))
    changed = {"probes": tuple(many), "recipes": tuple(recipes), "limits": shipped_limits().limits}
    kitchen = plain.model_copy(update=changed)
    plan = small_plan(kitchen)
    tasks = {
        task.id: TaskRecord(status=TaskStatus.IN_HAND, started_at=BEGUN, equipment=task.equipment)
        for task in plan.tasks
        if task.id in _TASKS
    }
    return kitchen, dataclasses.replace(State(seq=1, kitchen=kitchen, plan=plan), tasks=tasks)


def instant(probe: int, number: int) -> datetime:
    """When a probe sends its so-manieth reading: not all in one second."""
    return BEGUN + timedelta(seconds=kind_of(probe).every_s * (number + probe % 50 / 50.0))


def celsius(probe: int, number: int, of: int) -> float:
    """A healthy curve of so many readings in all, which is on its way until the end where its kind says so."""
    kind, minute = kind_of(probe), kind_of(probe).every_s * number / 60.0
    ripple = 0.05 * (number % 3) + 0.1 * math.sin(number / 7.0 + probe)
    if kind.place == "hob-1":
        rising = 88.0 - 60.0 * math.exp(-minute / 40.0) if kind.name == "limit met" else 20.0 + 46.0 * number / of
        return round(rising + ripple, 2)
    if kind.place == "ice-bath":
        # Hot for half an hour, then by Newton's law to just above its target when the curve ends.
        warm, rest = max(minute - 30.0, 0.0), max(kind.every_s * of / 60.0 - 30.0, 60.0)
        return round(4.0 + 66.0 * math.exp(-3.6 * warm / rest) + 0.05 * (number % 3), 2)
    return round((3.0 if kind.place == "fridge" else -22.0) + 3.0 * ripple, 2)


def message(probe: int, number: int, of: int) -> tuple[str, bytes, datetime]:
    """As a thermometer sends it."""
    at_ = instant(probe, number)
    body = {"celsius": celsius(probe, number, of), "measured_at": at_.isoformat(), "seq": number, "battery_percent": 80}
    return f"coldwright/v1/probes/p{probe}/reading", json.dumps(body).encode(), at_
