"""What stands against an order, and what helps: how long both take against planning once, and how sure they are.

The larger kitchen one, three and ten times under one roof: about 20, 50 and 150 batches. In one an order is due two
days sooner than it could be, which the calendar alone forbids; in the other all churns stand for most of three days, so
that orders are in each other's way.
"""

import statistics
import time
from collections.abc import Callable, Mapping
from datetime import timedelta
from functools import partial
from typing import Final

from orchestrator.core.models import Plan, PlanRequest, Stop
from orchestrator.core.models.questions import RemediesQuestion
from orchestrator.planner.conflicts import conflict
from orchestrator.planner.demand import explode
from orchestrator.planner.plan import make_plan
from orchestrator.planner.relaxations import relaxations
from orchestrator.planner.remedies import remedies
from orchestrator.planner.trouble import troubled
from tests.benchmarks.book import Figures, Measurement
from tests.benchmarks.kitchens import grown_request
from tests.benchmarks.markdown import number, table

FULL: Final = (1, 3, 10)
"""Kitchens under one roof; by default one alone, with its churns standing."""
SECONDS, SHORT_S = 20.0, 4.0
"""For the conflict, and again for conflicts and remedies together."""
SOONER_H, STOPPED_H = 46, 70


def due_too_soon(kitchens: int) -> PlanRequest:
    """The first order is due before what it takes can be there."""
    request = grown_request(kitchens)
    first, *others = request.kitchen.orders
    first = first.model_copy(update={"due": first.due - timedelta(hours=SOONER_H)})
    kitchen = request.kitchen.model_copy(update={"orders": (first, *others)})
    return request.model_copy(update={"kitchen": kitchen})


def churns_stand(kitchens: int) -> PlanRequest:
    """No churn runs for most of three days."""
    request = grown_request(kitchens)
    until = request.now + timedelta(hours=STOPPED_H)
    churns = (machine.id for machine in request.kitchen.equipment if machine.kind == "churn")
    return request.model_copy(
        update={"stops": tuple(Stop(equipment=churn, start=request.now, end=until) for churn in churns)}
    )


SCENES: Final[Mapping[str, Callable[[int], PlanRequest]]] = {
    "due too soon": due_too_soon,
    "churns stand": churns_stand,
}


def measurements(*, full: bool) -> tuple[Measurement, ...]:
    """Each scene at each size; by default one of them, with less time."""
    asked = [(name, kitchens, SECONDS) for kitchens in FULL for name in SCENES]
    return tuple(
        Measurement(
            f"{name}, {kitchens} kitchens, {seconds:g} s",
            2 * seconds + 3 * kitchens,
            partial(_measured, name, kitchens, seconds),
        )
        for name, kitchens, seconds in (asked if full else [("churns stand", 1, SHORT_S)])
    )


def _measured(name: str, kitchens: int, seconds: float) -> Figures:
    request = SCENES[name](kitchens)
    began = time.perf_counter()
    plan = make_plan(request, effort="repair", seconds=1.0).plan
    once_s = time.perf_counter() - began
    if plan is None:
        raise RuntimeError("no plan")
    order = troubled(plan, request)[0]
    asked = request.model_copy(update={"previous": plan})
    heard: list[tuple[float, int]] = []
    began = time.perf_counter()
    told = conflict(
        asked,
        plan,
        order,
        seconds=seconds,
        told=lambda _, left: heard.append((time.perf_counter() - began, left)),
    )
    conflict_s = time.perf_counter() - began
    return {
        "scene": name,
        "seconds": seconds,
        "batches": len(explode(request).batches),
        "things": len(relaxations(asked, order)),
        "once_s": once_s,
        "conflict_s": conflict_s,
        "told_first_s": heard[0][0] if heard else conflict_s,
        "tried": told.tried,
        "parts": len(told.parts),
        "irreducible": told.irreducible,
        "smallest": told.smallest,
        **_helped(request, plan, seconds),
    }


def _helped(request: PlanRequest, plan: Plan, seconds: float) -> Figures:
    began = time.perf_counter()
    told = remedies(RemediesQuestion(request=request, plan=plan, seconds=seconds), lambda: False)
    return {"remedies_s": time.perf_counter() - began, "remedies": len(told.remedies), "complete": told.complete}


def tables(found: Mapping[str, Figures]) -> str:
    """A line for each scene and size."""
    rows = [
        [
            figures["scene"], str(figures["batches"]), str(figures["things"]), f"{figures['once_s']:.2f}",
            f"{figures['conflict_s']:.1f}", number(figures["conflict_s"] / figures["once_s"]),
            f"{figures['told_first_s']:.2f}", str(figures["tried"]), str(figures["parts"]), _sure(figures),
            f"{figures['remedies_s']:.1f}", f"{figures['remedies']}{'' if figures['complete'] else ', not all tried'}",
        ]
        for figures in found.values()
    ]  # fmt: skip
    head = ["scene", "batches", "things asked about", "planning once, s", "conflict, s", "÷ once", "first told, s",
            "plans tried", "things named", "known to be", "with remedies, s", "remedies"]  # fmt: skip
    over = max((figures["remedies_s"] - figures["seconds"] for figures in found.values()), default=0.0)
    allowed = " or ".join(f"{seconds:g}" for seconds in sorted({figures["seconds"] for figures in found.values()}))
    ratio = statistics.median(figures["conflict_s"] / figures["once_s"] for figures in found.values()) if found else 0
    return (
        f"## What stands in the way, and what helps\n\n{__doc__.split(chr(10), 1)[1].strip()}\n\n"
        f"{allowed} s are allowed for the conflict, and as many again for conflicts and remedies of two orders. The "
        f"longest was {max(0.0, over):.1f} s beyond it; a conflict takes {number(ratio)} times planning once, by the "
        f"median.\n\n{table(head, rows)}"
    )


def _sure(figures: Figures) -> str:
    """What is known of the set that is named."""
    if figures["smallest"]:
        return "the fewest"
    return "all needed" if figures["irreducible"] else "among them"
