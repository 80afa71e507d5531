"""What to make next, with reasons: below par, a component or by-product whose use-by date comes first, a free churn."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final, Literal

from pydantic import AwareDatetime

from orchestrator.core.alarms import Look, look
from orchestrator.core.demand import ordered_to_par
from orchestrator.core.ids import EquipmentId, LotCode, RecipeId, StationId
from orchestrator.core.ingredient_flow import flows
from orchestrator.core.models import Model, Process, Recipe, Step
from orchestrator.core.quantities import Quantity
from orchestrator.core.state import Facts, LotStatus, State, TaskStatus

_COUNT_HOLDS: Final = timedelta(hours=36)
"""An older count says nothing of a counter any more; a figure of ours."""
_EPS: Final = 1e-6
_OVER: Final = (TaskStatus.DONE, TaskStatus.SKIPPED)


class Reason(Model):
    """Why a product should be made."""

    kind: Literal["below par", "use by", "left over", "churn free"]
    station: StationId | None = None
    amount: Quantity | None = None
    """What is missing to par; what of a component or by-product is free."""
    lot: LotCode | None = None
    name: str = ""
    """Of the counter, the component, the by-product or the machine."""
    equipment: EquipmentId | None = None
    start: AwareDatetime | None = None
    """When it was counted; when the by-product is there; when the machine is free."""
    end: AwareDatetime | None = None
    """When the component or by-product must be used by; until when the machine is free."""


class NextView(Model):
    """A product, and what speaks for making it, the strongest first."""

    product: RecipeId
    name: str
    reasons: tuple[Reason, ...]


def make_next(state: State, facts: Facts, now: datetime) -> tuple[NextView, ...]:
    """Products for which something speaks, those below par first, then by the soonest use-by date of what is at hand.

    What is ordered is the planner's already: this is about what nobody has asked for yet. Free time on a machine is as
    planned by now; what a clean-down before it takes is not counted.
    """
    seen = look(state, facts, now, advise=False)
    if seen is None:
        return ()
    free, left = tuple(_free_components(seen)), tuple(_left_over(seen))
    found = []
    for recipe in seen.kitchen.recipes.values():
        if recipe.makes == "product":
            reasons = (
                *_below_par(seen, recipe),
                *_by_use(recipe, free),
                *_left(seen, recipe, left),
                *_churn(seen, recipe),
            )
            if reasons:
                found.append(NextView(product=recipe.id, name=recipe.name, reasons=reasons))
    return tuple(sorted(found, key=_rank))


def _rank(view: NextView) -> tuple[bool, bool, float, str]:
    kinds = {reason.kind for reason in view.reasons}
    ends = [reason.end.timestamp() for reason in view.reasons if reason.kind in ("use by", "left over") and reason.end]
    soon = not kinds & {"use by", "left over"}
    return "below par" not in kinds, soon, min(ends, default=0.0), view.name


def _below_par(seen: Look, recipe: Recipe) -> Iterator[Reason]:
    kitchen = seen.kitchen.kitchen
    for par in kitchen.par_levels:
        count = seen.state.by_hand.counts.get((par.station, par.product))
        if par.product != recipe.id or count is None or seen.now - count.at > _COUNT_HOLDS:
            continue
        short = par.quantity.value - count.quantity.value
        if short > _EPS and not ordered_to_par(kitchen, par.station, par.product, seen.now):
            place = seen.kitchen.stations.get(par.station)
            amount = Quantity(value=short, unit=par.quantity.unit)
            name = place.name if place is not None else str(par.station)
            yield Reason(kind="below par", station=par.station, amount=amount, name=name, start=count.at)


def _free_components(seen: Look) -> Iterator[tuple[RecipeId, Reason]]:
    """What is at hand of components and meant for nobody, with its use-by date."""
    plan = seen.plan.plan
    clocks = seen.clocks()
    pegged: dict[LotCode, float] = {}
    for peg in plan.pegs:
        pegged[peg.lot] = pegged.get(peg.lot, 0.0) + peg.quantity.value
    lots = {stock.lot: (stock.recipe, stock.quantity) for stock in seen.kitchen.stock.values()}
    lots |= {b.lot: (b.recipe, b.size) for b in plan.batches if _is_made(seen, b.lot)}
    for lot, (recipe_id, size) in lots.items():
        recipe, record = seen.kitchen.recipes.get(recipe_id), seen.state.lots.get(lot)
        left, until = size.value - pegged.get(lot, 0.0), clocks.use_by(lot)
        usable = record is None or record.status is LotStatus.FREE
        if recipe is None or recipe.makes != "component" or left < _EPS or not usable:
            continue
        if until is None or until > seen.now:
            amount = Quantity(value=left, unit=size.unit)
            yield recipe_id, Reason(kind="use by", lot=lot, name=recipe.name, amount=amount, end=until)


def _is_made(seen: Look, lot: LotCode) -> bool:
    tasks = [seen.plan.tasks[t] for t in seen.plan.lot_tasks.get(lot, ())]
    return bool(tasks) and any(seen.status(task) in (TaskStatus.IN_HAND, *_OVER) for task in tasks)


def _by_use(recipe: Recipe, free: tuple[tuple[RecipeId, Reason], ...]) -> tuple[Reason, ...]:
    wanted = {take.component for step in recipe.steps for take in step.takes if take.component is not None}
    mine = [reason for component, reason in free if component in wanted and reason.end is not None]
    return tuple(sorted(mine, key=lambda reason: (reason.end, reason.lot)))


def _left_over(seen: Look) -> Iterator[Reason]:
    """By-products, here or to come, that no planned work takes."""
    for (name, unit), flow in flows(seen).items():
        for source in flow.sources:
            past = source.use_by is not None and source.use_by <= seen.now
            if source.by_product and source.spare > _EPS and not past:
                lot = LotCode(source.lot) if source.kind == "left over" else None
                amount = Quantity(value=source.spare, unit=unit)
                # What was to be left by now and is not has no lot yet: it is still to come.
                start = max(source.since, seen.now) if lot is None else None
                yield Reason(kind="left over", lot=lot, name=name, amount=amount, start=start, end=source.use_by)


def _left(seen: Look, recipe: Recipe, left: tuple[Reason, ...]) -> tuple[Reason, ...]:
    """What a product takes of them, itself or through its components."""
    names, ahead, known = set[str](), [recipe], {recipe.id}
    while ahead:
        takes = [take for step in ahead.pop().steps for take in step.takes]
        names |= {take.ingredient for take in takes if take.ingredient is not None}
        for part in {take.component for take in takes if take.component is not None} - known:
            known.add(part)
            ahead += [seen.kitchen.recipes[part]] if part in seen.kitchen.recipes else []
    mine = [reason for reason in left if reason.name in names]
    return tuple(sorted(mine, key=lambda r: (r.end is None, r.end or seen.now, r.name, r.lot or "")))


def _churn(seen: Look, recipe: Recipe) -> Iterator[Reason]:
    """The first time today at which a churn and somebody who can run it are free for long enough."""
    step = next((step for step in recipe.steps if step.process is Process.CHURN and step.duration is not None), None)
    if step is None:
        return
    gaps = [gap for machine in seen.kitchen.equipment if (gap := _gap(seen, machine, step)) is not None]
    if gaps:
        start, end, machine = min(gaps)
        name = seen.kitchen.equipment[machine].name
        yield Reason(kind="churn free", equipment=machine, name=name, start=start, end=end)


def _gap(seen: Look, machine_id: EquipmentId, step: Step) -> tuple[datetime, datetime, EquipmentId] | None:
    machine = seen.kitchen.equipment[machine_id]
    if machine.kind != step.equipment or machine_id in seen.state.machines or step.duration is None:
        return None
    needed = timedelta(minutes=machine.minutes(step.duration.usual))
    tasks = [t for t in seen.plan.at_machine.get(machine_id, ()) if seen.status(t) not in _OVER]
    busy = sorted((seen.live[task.id].start, seen.live[task.id].end) for task in tasks)
    busy += [(stop.start, stop.end) for stop in seen.state.by_hand.stops if stop.equipment == machine_id]
    for start, end in seen.kitchen.hours.get(step.skill or "", ()):
        begins = max(start, seen.now)
        if begins.date() > seen.now.date() + timedelta(days=1):
            break
        for taken, until in [*sorted(span for span in busy if span[1] > begins and span[0] < end), (end, end)]:
            if taken - begins >= needed:
                return begins, min(taken, end), machine_id
            begins = max(begins, until)
    return None
