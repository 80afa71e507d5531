"""Small changes of the plan made by hand, and the rules that they break."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from orchestrator.core.check import check
from orchestrator.core.ids import EquipmentId, LotCode, StationId, TaskId
from orchestrator.core.models import Actual, Plan, PlanRequest, TaskLink, WindowBreak
from orchestrator.core.quantities import Quantity
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

KITCHEN = small_kitchen()
PLAN = small_plan(KITCHEN)
REQUEST = PlanRequest(kitchen=KITCHEN, now=KITCHEN.planning_start)

Change = Callable[[Plan], Plan]


def rules(plan: Plan, request: PlanRequest = REQUEST) -> set[str]:
    return {violation.rule for violation in check(plan, request)}


def as_planned(*tasks: str, status: str = "done") -> tuple[Actual, ...]:
    """What has happened to these tasks of the plan, at their planned instants."""
    found = []
    for task in (PLAN.task(TaskId(name)) for name in tasks):
        told = {"start": task.start, "end": task.end, "equipment": task.equipment}
        people = task.spans[0].crew if task.spans else ()
        found.append(Actual.model_validate({"task": task.id, "status": status, "crew": people, **told}))
    return tuple(found)


def changed(plan: Plan, task: str, **update: Any) -> Plan:
    """The plan with one task changed."""
    tasks = tuple(t.model_copy(update=update) if t.id == task else t for t in plan.tasks)
    assert tasks != plan.tasks, f"nothing changed in {task}"
    return plan.model_copy(update={"tasks": tasks})


def moved(plan: Plan, task: str, minutes: int) -> Plan:
    """The plan with one task, and its hands, moved."""
    planned, shift = plan.task(TaskId(task)), timedelta(minutes=minutes)
    spans = tuple(s.model_copy(update={"start": s.start + shift, "end": s.end + shift}) for s in planned.spans)
    return changed(plan, task, start=planned.start + shift, end=planned.end + shift, spans=spans)


def without(plan: Plan, task: str) -> Plan:
    return plan.model_copy(update={"tasks": tuple(t for t in plan.tasks if t.id != task)})


def linked(plan: Plan, task: str, after: str) -> Plan:
    """The task waits for another one too."""
    return changed(plan, task, links=(*plan.task(TaskId(task)).links, TaskLink(after=TaskId(after))))


def unlinked(plan: Plan, task: str, after: str) -> Plan:
    """The task no longer waits for another one."""
    return changed(plan, task, links=tuple(k for k in plan.task(TaskId(task)).links if k.after != after))


def crew(plan: Plan, task: str, *who: str) -> Plan:
    spans = tuple(span.model_copy(update={"crew": who}) for span in plan.task(TaskId(task)).spans)
    return changed(plan, task, spans=spans)


def stretched(plan: Plan, task: str, minutes: int) -> Plan:
    """Ends later, hands throughout included."""
    planned = plan.task(TaskId(task))
    end = planned.end + timedelta(minutes=minutes)
    spans = tuple(s.model_copy(update={"end": end}) if s.end == planned.end else s for s in planned.spans)
    return changed(plan, task, end=end, spans=spans)


def batch(plan: Plan, lot: str, **update: Any) -> Plan:
    batches = tuple(b.model_copy(update=update) if b.lot == lot else b for b in plan.batches)
    return plan.model_copy(update={"batches": batches})


def outlook(plan: Plan, order: str, **update: Any) -> Plan:
    outlooks = tuple(o.model_copy(update=update) if o.order == order else o for o in plan.outlooks)
    return plan.model_copy(update={"outlooks": outlooks})


BROKEN: dict[str, tuple[str, Change]] = {
    "given_up_before_it_has_begun": ("given up", lambda p: p.model_copy(update={"given_up": ("S1",)})),
    "task_twice": ("ids", lambda p: p.model_copy(update={"tasks": (*p.tasks, p.tasks[0])})),
    "outside_horizon": ("horizon", lambda p: p.model_copy(update={"end": at("Sun 14:00")})),
    "beyond_horizon": ("horizon", lambda p: p.model_copy(update={"end": at("Mon 06:01")})),
    "wrong_station": ("recipe", lambda p: changed(p, "S1.simmer", station=StationId("counter"))),
    "step_missing": ("recipe", lambda p: without(p, "S1.simmer")),
    "last_stay_missing": ("recipe", lambda p: without(p, "B1.harden.SAT-STALL")),
    "link_dropped": ("recipe", lambda p: changed(p, "S1.chill", links=())),
    "component_not_waited_for": ("recipe", lambda p: changed(p, "B1.churn", links=())),
    "lot_not_waited_for": ("recipe", lambda p: changed(p, "SAT-STALL.B.temper", links=())),
    "last_stay_not_filled": ("recipe", lambda p: changed(p, "S1.harden.SUN-CAFE", links=())),
    "stay_without_bounds": ("shape", lambda p: changed(p, "S1.age", stay=None)),
    "link_loosened": (
        "recipe",
        lambda p: changed(p, "C1.chill", links=(TaskLink(after=TaskId("C1.cook"), most=60),)),
    ),
    "duration_rewritten": (
        "recipe",
        lambda p: changed(p, "S1.simmer", duration=p.task(TaskId("C1.cook")).duration),
    ),
    "stay_rewritten": ("recipe", lambda p: changed(p, "S1.age", stay=p.task(TaskId("C1.age.B1")).stay)),
    "load_understated": ("recipe", lambda p: changed(p, "S1.age", load=1.0)),
    "share_understated": ("recipe", lambda p: changed(p, "C1.age.B1", load=1.0)),
    "too_short": ("duration", lambda p: stretched(p, "S1.simmer", -15)),
    "too_long": ("duration", lambda p: stretched(p, "SUN-CAFE.S.hand-over", 20)),
    "follows_nothing": ("link", lambda p: linked(p, "S1.simmer", "X9.cook")),
    "before_its_turn": ("order", lambda p: moved(p, "S1.chill", -5)),
    "safety_link_missed": ("safety window", lambda p: moved(p, "C1.chill", 11)),
    "quality_link_missed": ("quality window", lambda p: moved(p, "SAT-STALL.B.hand-over", 40)),
    "gap_before_stay": ("join", lambda p: changed(p, "S1.age", start=at("Wed 12:01"))),
    "gap_after_stay": ("join", lambda p: changed(p, "S1.age", end=at("Thu 09:59"))),
    "machine_twice": (
        "double booked",
        lambda p: moved(moved(p, "C1.cook", 140), "C1.chill", 140),
    ),
    "wrong_machine": ("equipment kind", lambda p: changed(p, "S1.simmer", equipment=EquipmentId("ice-bath"))),
    "no_machine": ("equipment kind", lambda p: changed(p, "S1.simmer", equipment=None)),
    "overloaded": ("load", lambda p: changed(p, "B1.churn", load=6.5)),
    "underloaded": ("load", lambda p: changed(p, "B1.churn", load=1.5)),
    "store_overfull": ("capacity", lambda p: changed(changed(p, "C1.age.B1", load=13.0), "S1.age", load=12.0)),
    "clean_down_dropped": ("clean-down", lambda p: without(p, "churn.clean.S1")),
    "clean_down_rinse_only": ("clean-down", lambda p: stretched(p, "churn.clean.S1", -10)),
    "clean_down_too_late": ("clean-down", lambda p: moved(p, "churn.clean.S1", 60)),
    "clean_down_unattended": (
        "clean-down",
        lambda p: changed(p, "churn.clean.S1", attended=(), spans=()),
    ),
    "no_hands": ("attended", lambda p: changed(p, "C1.cook", spans=())),
    "hands_too_short": (
        "attended",
        lambda p: changed(
            p,
            "C1.cook",
            spans=tuple(
                s.model_copy(update={"end": s.end - timedelta(minutes=10)}) for s in p.task(TaskId("C1.cook")).spans
            ),
        ),
    ),
    "two_hands_for_one": ("hands", lambda p: crew(p, "C1.cook", "early-cook", "late-cook")),
    "nobody_of_that_name": ("crew", lambda p: crew(p, "C1.cook", "night-cook")),
    "no_skill": ("skill", lambda p: crew(p, "C1.cook", "manager")),
    "not_on_shift": ("shift", lambda p: crew(p, "C1.cook", "late-cook")),
    "across_a_break": ("break", lambda p: moved(p, "S1.simmer", 110)),
    "two_things_at_once": ("two things at once", lambda p: moved(p, "S1.simmer", -125)),
    "batch_size_wrong": ("batch size", lambda p: batch(p, "B1", size=Quantity.model_validate("5 L"))),
    "batch_too_big": (
        "batch size",
        lambda p: batch(p, "C1", size=Quantity.model_validate("10.5 L"), scale=2.1),
    ),
    "lot_promised_twice": ("pegs", lambda p: p.model_copy(update={"pegs": (*p.pegs, p.pegs[0])})),
    "lot_unknown": (
        "pegs",
        lambda p: p.model_copy(update={"pegs": (*p.pegs, p.pegs[0].model_copy(update={"lot": LotCode("C9")}))}),
    ),
    "component_not_pegged": ("components", lambda p: p.model_copy(update={"pegs": p.pegs[1:]})),
    "order_not_covered": ("orders", lambda p: p.model_copy(update={"pegs": p.pegs[:2]})),
    "allergen_hidden": ("allergens", lambda p: batch(p, "B1", allergens=("milk",))),
    "outlook_missing": ("outlook", lambda p: p.model_copy(update={"outlooks": p.outlooks[:1]})),
    "ready_untrue": ("outlook", lambda p: outlook(p, "SAT-STALL", ready_at=at("Sat 10:30"), margin_min=30)),
    "late_hidden": ("outlook", lambda p: outlook(p, "SAT-STALL", margin_min=30)),
    "late_invented": ("outlook", lambda p: outlook(p, "SAT-STALL", late_min=10)),
    "unmet_without_reason": ("outlook", lambda p: outlook(p, "SAT-STALL", met=False)),
    "break_unfounded": (
        "breaks",
        lambda p: p.model_copy(
            update={
                "breaks": (
                    WindowBreak.model_validate(
                        {
                            "task": "S1.churn",
                            "after": "S1.age",
                            "window": "quality",
                            "minutes": 30,
                            "side": "too late",
                            "reason": "made up",
                        }
                    ),
                )
            }
        ),
    ),
}
"""A change, and a rule that it breaks."""
