"""What may happen to a plan in a few days: late work, stops, lost food, people away, orders that come or go."""

import random
from datetime import datetime, timedelta
from typing import Any

from orchestrator.core.holding import still_held
from orchestrator.core.models import Kitchen, Plan, PlanRequest, Stop, TaskKind
from tests.fakes.drift import later

Told = dict[str, Any]


def next_look(request: PlanRequest, plan: Plan, chance: random.Random) -> PlanRequest | None:
    """The request for a re-plan some hours on, after the crew has followed a plan and something has happened.

    Args:
        request: What the plan was made for.
        plan: What the crew follows.
        chance: What decides.

    Returns:
        None when the planned days are over.
    """
    now = request.now + timedelta(minutes=chance.choice([60, 150, 300, 700]), seconds=chance.randint(0, 59))
    if now >= request.kitchen.planned_until:
        return None
    if chance.random() < 0.3:
        plan = _held(plan, now, chance)
    known = later(request, plan, now, chance, off_min=chance.choice([0, 15, 90]))
    known = known.model_copy(update={"stops": tuple(stop for stop in known.stops if stop.end > now)})
    happening = chance.choice([_nothing, _stop, _lot, _release, _absence, _dropped, _added])
    known = known.model_copy(update=happening(known, chance))
    shut = (*known.held_lots, *known.lost_lots)
    return known.model_copy(update={"previous": still_held(plan, now, known.actuals, known.stops, shut)})


def _held(plan: Plan, now: datetime, chance: random.Random) -> Plan:
    """Some task of the time to come is held in place."""
    work = [task.id for task in plan.tasks if task.kind is TaskKind.WORK and task.start > now]
    chosen = chance.choice(work) if work else None
    tasks = (t.model_copy(update={"held_in_place": True}) if t.id == chosen else t for t in plan.tasks)
    return plan.model_copy(update={"tasks": tuple(tasks)})


def _nothing(known: PlanRequest, chance: random.Random) -> Told:
    return {}


def _stop(known: PlanRequest, chance: random.Random) -> Told:
    machine = chance.choice([made.id for made in known.kitchen.equipment])
    stop = Stop(equipment=machine, start=known.now, end=known.now + timedelta(hours=chance.choice([1, 4, 30])))
    return {"stops": (*known.stops, stop)}


def _lot(known: PlanRequest, chance: random.Random) -> Told:
    """Food on hand, or begun, is put on hold or lost."""
    made = {str(batch.lot) for batch in known.previous.batches} if known.previous is not None else set()
    begun = {str(actual.task).split(".")[0] for actual in known.actuals} & made
    lots = sorted(begun | {str(stock.lot) for stock in known.kitchen.stock})
    if not lots:
        return {}
    which = chance.choice(["held_lots", "lost_lots"])
    return {which: tuple({*getattr(known, which), chance.choice(lots)})}


def _release(known: PlanRequest, chance: random.Random) -> Told:
    return {"held_lots": ()}


def _absence(known: PlanRequest, chance: random.Random) -> Told:
    who, day = chance.choice(known.kitchen.crew).id, known.now.date()
    crew = [
        member.model_copy(update={"shifts": tuple(s for s in member.shifts if s.start.date() != day)})
        if member.id == who
        else member
        for member in known.kitchen.crew
    ]
    return {"kitchen": _changed(known.kitchen, crew=tuple(crew))}


def _dropped(known: PlanRequest, chance: random.Random) -> Told:
    gone = chance.choice(known.kitchen.orders).id if len(known.kitchen.orders) > 1 else None
    return {"kitchen": _changed(known.kitchen, orders=tuple(o for o in known.kitchen.orders if o.id != gone))}


def _added(known: PlanRequest, chance: random.Random) -> Told:
    like = chance.choice(known.kitchen.orders)
    due = min(known.now + timedelta(hours=chance.choice([3, 20, 40])), known.kitchen.planned_until)
    new = like.model_copy(update={"id": f"N-{known.now:%d%H%M}", "due": due, "earliest": None})
    return {"kitchen": _changed(known.kitchen, orders=(*known.kitchen.orders, new))}


def _changed(kitchen: Kitchen, **told: object) -> Kitchen:
    return kitchen.model_copy(update=told)
