"""One task with all that a cook needs."""

from datetime import datetime
from typing import Any

from orchestrator.core.alarms import Look, look
from orchestrator.core.allergens import stock_allergens
from orchestrator.core.by_hand import limit_said
from orchestrator.core.by_products import place_for
from orchestrator.core.follow_on import shut
from orchestrator.core.found import latest_start
from orchestrator.core.gates import judge
from orchestrator.core.ids import EquipmentId, LotCode, TaskId
from orchestrator.core.models import PlannedTask, Recipe, Step, Take, TaskKind
from orchestrator.core.pace import minutes_here
from orchestrator.core.quantities import Unit
from orchestrator.core.state import Facts, State, TaskStatus
from orchestrator.core.supplies_now import supplies_now
from orchestrator.core.supply_cover import covered_now
from orchestrator.core.views.figures import FollowOnView, GateView, LeaveView
from orchestrator.core.views.models import AmountView, TaskView, WeighingView
from orchestrator.core.views.temperature import temperature_view
from orchestrator.core.views.window import window_view


def task_view(state: State, facts: Facts, now: datetime, task: TaskId) -> TaskView:
    """One task of the adopted plan.

    Raises:
        KeyError: no plan, or no such task in it.
    """
    seen = look(state, facts, now)
    if seen is None:
        raise KeyError(task)
    return build_task(seen, seen.plan.tasks[task])


def build_task(look: Look, task: PlannedTask) -> TaskView:
    """The view of one task, for builders that already have a look."""
    record, live = look.state.record(task.id), look.live[task.id]
    recipe, here = _recipe(look, task), minutes_here(look.state, task)
    step = look.kitchen.step(task)
    machine = look.machine(task)
    status = look.status(task)
    made = step.cycle if step is not None else None
    return TaskView(
        task=task.id,
        kind=task.kind,
        title=task.title,
        process=task.process.value,
        lot=task.lot,
        order=task.order,
        recipe_name=recipe.name if recipe else "",
        step_number=_number(recipe, step),
        step_count=len(recipe.steps) if recipe and step else 0,
        station=task.station,
        equipment=machine.id if machine else None,
        equipment_name=machine.name if machine else "",
        status=status.value,
        quantity=task.quantity,
        started_at=record.started_at,
        planned_start=live.start,
        due_since=task.start if status is TaskStatus.WAITING and task.start < live.start <= look.now else None,
        planned_end=live.end,
        **_latest(look, task, status),
        usual_min=here.usual + record.extended_min,
        longest_min=here.longest + record.extended_min,
        hands_min=hands_min(task, here.usual),
        crew=_crew(look, task),
        method=step.method if step else (),
        cautions=_cautions(step, machine.cautions if machine else ()),
        allergens=allergens(look, task),
        amounts=_amounts(look, task, step),
        leaves=_leaves(look, task, step),
        gates=_gates(look, task, status),
        follow_on=_follow_on(look, task, status),
        temperature=temperature_view(look, task),
        window=window_view(look, task),
        **_asked(look, task, step),
        pieces_per_tray=made.pieces if made else 0,
        pieces_made=record.pieces,
        pieces_wanted=_pieces(look, task, recipe) if made else 0,
        problems=record.problems,
        lot_on_hold=look.on_hold(task.lot),
        held_in_place=task.held_in_place,
        **_of_its_kind(look, task),
    )


def _latest(look: Look, task: PlannedTask, status: TaskStatus) -> dict[str, Any]:
    latest = latest_start(look.state, task.id) if status is TaskStatus.WAITING else None
    return {} if latest is None else {"latest_start": latest.at, "latest_is_exact": latest.exact}


def _recipe(look: Look, task: PlannedTask) -> Recipe | None:
    """Of a clean-down: of the run that it is for."""
    if task.recipe is not None:
        return look.kitchen.made_by(task)
    known = look.recipe_of(task.lot) if task.kind is TaskKind.CLEAN and task.lot else None
    return look.kitchen.recipes.get(known) if known is not None else None


def _of_its_kind(look: Look, task: PlannedTask) -> dict[str, Any]:
    """Of a clean-down: what it comes after, and which allergens must be gone before the next run.
    Of a stay: who takes the food, since one lot may wait for several."""
    if task.kind is TaskKind.STAY:
        takers = (
            look.plan.tasks[follower] for follower, link in look.plan.followers.get(task.id, ()) if link.most == 0
        )
        names = (str(taker.order or taker.lot or "") for taker in takers)
        return {"meant_for": next((name for name in names if name != task.lot), "")}
    if not task.cleans or task.equipment is None:
        return {"upkeep": task.upkeep}
    at_machine = look.plan.at_machine.get(task.equipment, ())
    runs = [t for t in at_machine if t.kind is TaskKind.WORK and t.start < task.start]
    if not runs:
        return {"upkeep": task.upkeep}
    before = max(runs, key=lambda run: run.start)
    dropped = set(allergens(look, before)) - set(allergens(look, task))
    colour = _colour_dropped(_recipe(look, before), _recipe(look, task))
    removes = tuple(sorted(dropped))
    return {"upkeep": task.upkeep, "after_lot": before.lot, "removes": removes, "removes_colour": colour}


def _colour_dropped(before: Recipe | None, after: Recipe | None) -> str:
    first, then = (recipe.colour if recipe is not None else None for recipe in (before, after))
    return str(first) if first is not None and then is not None and first.depth > then.depth else ""


def hands_min(task: PlannedTask, usual_min: int) -> int:
    """Minutes of attended work in a task that takes so many; 0: on its own."""
    if any(part.when == "throughout" for part in task.attended):
        return usual_min
    return min(usual_min, sum(part.minutes or 0 for part in task.attended))


def allergens(look: Look, task: PlannedTask) -> tuple[str, ...]:
    """Of the batch, or of everything pegged to the order for this recipe."""
    if task.lot is not None:
        return lot_allergens(look, task.lot)
    found: set[str] = set()
    for peg in look.plan.plan.pegs:
        if peg.order == task.order and look.recipe_of(peg.lot) == task.recipe:
            found |= set(lot_allergens(look, peg.lot))
    return tuple(sorted(found))


def lot_allergens(look: Look, lot: LotCode) -> tuple[str, ...]:
    """All of them; of stock on hand, those of its recipe and its own."""
    batch = look.plan.batches.get(lot)
    if batch is not None:
        return batch.allergens
    stock = look.kitchen.stock.get(lot)
    return tuple(sorted(stock_allergens(look.kitchen.recipes, stock))) if stock else ()


def _number(recipe: Recipe | None, step: Step | None) -> int:
    return recipe.steps.index(step) + 1 if recipe is not None and step is not None else 0


def _crew(look: Look, task: PlannedTask) -> tuple[str, ...]:
    who = dict.fromkeys(c for span in task.spans for c in span.crew)
    return tuple(look.kitchen.crew[c].name for c in who if c in look.kitchen.crew)


def _cautions(step: Step | None, machine: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*(step.cautions if step else ()), *machine)))


def _amounts(look: Look, task: PlannedTask, step: Step | None) -> tuple[AmountView, ...]:
    """What to weigh or take, scaled to this batch, or to the order line of the step."""
    if step is None or not step.takes:
        return ()
    scale = _scale(look, task)
    return tuple(_amount(look, task, take, scale) for take in step.takes)


def _scale(look: Look, task: PlannedTask) -> float:
    if task.lot is not None and task.lot in look.plan.batches:
        return look.plan.batches[task.lot].scale
    order = look.kitchen.orders.get(task.order) if task.order else None
    recipe = look.kitchen.made_by(task)
    wanted = sum(line.quantity.value for line in order.lines if line.product == task.recipe) if order else 0.0
    return wanted / recipe.yields.value if recipe and wanted else 1.0


def _amount(look: Look, task: PlannedTask, take: Take, scale: float) -> AmountView:
    if take.component is None:
        by_now = (s for s in supplies_now(look.state, look.now) if s.ingredient == take.ingredient)
        coming = next(by_now, None)
        enough = (task.id, take.ingredient or "") in covered_now(look.state, look.now)
        late = coming is not None and coming.ready > look.now and not enough
        return AmountView(
            what=take.ingredient or "",
            quantity=take.amount.times(scale),
            allergens=take.allergens,
            ready=coming.ready if coming is not None and late else None,
            ripens=coming is not None and late and coming.why == "ripe",
        )
    pegs = look.plan.plan.pegs
    lots = [p.lot for p in pegs if p.consumer in {task.lot, task.order} and look.recipe_of(p.lot) == take.component]
    part = look.kitchen.recipes.get(take.component)
    return AmountView(
        what=part.name if part else take.component,
        quantity=take.amount.times(scale),
        lots=tuple(lots),
        allergens=tuple(sorted({a for lot in lots for a in lot_allergens(look, lot)})),
    )


def _asked(look: Look, task: PlannedTask, step: Step | None) -> dict[str, Any]:
    """What its end is told by: a measure, a weight on the way, a temperature."""
    if step is None:
        return {"measure": None}
    in_hand = look.status(task) is TaskStatus.IN_HAND and step.limit is not None
    said = limit_said(look.facts.values(), look.state, task, look.now) if in_hand else None
    weighing = _weighing(look, task, step)
    return {"measure": step.measure, "weighing": weighing, "target": step.target, "limit_said": said}


def _weighing(look: Look, task: PlannedTask, step: Step) -> WeighingView | None:
    record = look.state.record(task.id)
    if step.reduce_to is None or record.status is not TaskStatus.IN_HAND:
        return None
    if not record.weighings:
        return WeighingView(share=step.reduce_to)
    (_, first_kg), (last_at, last_kg) = record.weighings[0], record.weighings[-1]
    told, wanted_kg = record.weight_expected, first_kg * step.reduce_to
    return WeighingView(
        share=step.reduce_to,
        first_kg=first_kg,
        last_kg=last_kg,
        last_at=last_at,
        wanted_kg=wanted_kg,
        reached=last_kg <= wanted_kg,
        expected_from=told.soonest if told is not None else None,
        expected_to=told.latest if told is not None else None,
        earlier_runs=told.earlier_runs if told is not None else 0,
    )


def _leaves(look: Look, task: PlannedTask, step: Step | None) -> tuple[LeaveView, ...]:
    """What it leaves over, at the size of its batch."""
    batch = look.plan.batches.get(task.lot) if task.lot is not None else None
    found = []
    for leave in step.leaves if step is not None and batch is not None else ():
        place = look.kitchen.equipment.get(place_for(look.kitchen.kitchen, leave) or EquipmentId(""))
        expected = leave.amount.times(batch.scale) if batch is not None else leave.amount
        name = place.name if place is not None else ""
        found.append(LeaveView(ingredient=leave.ingredient, expected=expected, keeps=leave.keeps, place=name))
    return tuple(found)


def _gates(look: Look, task: PlannedTask, status: TaskStatus) -> tuple[GateView, ...]:
    """As they stand now while the task waits; afterwards as they were judged at its start."""
    if status is TaskStatus.WAITING and task.kind is TaskKind.WORK:
        evidence = judge(look.state, look.facts, task, look.now)
    else:
        evidence = look.state.record(task.id).gates
    return tuple(
        GateView(says=e.says, met=e.met, celsius=e.celsius, checked=e.checked, doubt=e.doubt, awaits=e.awaits)
        for e in evidence
    )


def _follow_on(look: Look, task: PlannedTask, status: TaskStatus) -> FollowOnView | None:
    """What a start would be refused for, told before the tap; before its turn nobody can start it anyway."""
    if status is not TaskStatus.WAITING or not look.may_begin(task):
        return None
    found = shut(look.state, task, look.now)
    if found is None:
        return None
    machine = look.kitchen.equipment.get(found.machine)
    return FollowOnView(
        title=found.task.title,
        machine=machine.name if machine is not None else found.machine,
        free_at=found.free_at,
        needed_by=found.needed_by,
        start_from=found.start_from,
        window=found.cls,
        in_the_way=found.in_the_way,
    )


def _pieces(look: Look, task: PlannedTask, recipe: Recipe | None) -> int:
    if recipe is None or recipe.yields.unit is not Unit.EACH:
        return 0
    return round(recipe.yields.value * _scale(look, task))
