"""Changes of what is wanted and of what is on hand, carried out on a request or refused."""

from collections.abc import Iterable

from orchestrator.core.changes_refusals import bad, unknown
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import LotCode, OrderId, RecipeId
from orchestrator.core.models import Kitchen, Order, OrderLine, Plan, PlanRequest
from orchestrator.core.models.change import AddOrder, AddStock, ChangeOrder, DropOrder, SmallerBatch


def may_add(request: PlanRequest, change: AddOrder) -> Refusal | None:
    """Why an order cannot be added; none when it can."""
    order = change.order
    if _order(request.kitchen, order.id) is not None or order.id in request.used:
        return bad(order.id, "there is an order of that name already", "another name")
    return _refused(request, order)


def add(request: PlanRequest, change: AddOrder) -> PlanRequest:
    """One order more; the planned days reach as far as it."""
    return _with_orders(request, (*request.kitchen.orders, change.order))


def may_change(request: PlanRequest, change: ChangeOrder) -> Refusal | None:
    """Why an order cannot be changed so."""
    before = _order(request.kitchen, change.order)
    if before is None:
        return unknown("order", change.order, _names(request.kitchen))
    after = _changed(before, change)
    return _begun(request, before.id) or _refused(request, after, due=change.due is not None)


def change(request: PlanRequest, change: ChangeOrder) -> PlanRequest:
    """Another hand-over, weight or amount."""
    before = _order(request.kitchen, change.order)
    return request if before is None else _instead(request, before, _changed(before, change))


def may_drop(request: PlanRequest, change: DropOrder) -> Refusal | None:
    """Why an order cannot be left out."""
    if _order(request.kitchen, change.order) is None:
        return unknown("order", change.order, _names(request.kitchen))
    return _begun(request, change.order)


def drop(request: PlanRequest, change: DropOrder) -> PlanRequest:
    """An order less."""
    return _with_orders(request, (o for o in request.kitchen.orders if o.id != change.order))


def may_shrink(request: PlanRequest, change: SmallerBatch) -> Refusal | None:
    """Why an order cannot have less of a product."""
    order = _order(request.kitchen, change.order)
    if order is None:
        return unknown("order", change.order, _names(request.kitchen))
    mine = [line.quantity for line in order.lines if line.product == change.product]
    if not mine:
        return unknown(f"line of {change.order}", change.product, (line.product for line in order.lines))
    now = sum(quantity.value for quantity in mine)
    if change.quantity.unit is not mine[0].unit or not 0 <= change.quantity.value < now:
        status = f"{order.id} wants {now:.4g} {mine[0].unit} of {change.product}"
        return bad(order.id, status, f"less than that, in {mine[0].unit}")
    if not _less(order, change).lines:
        return bad(order.id, "nothing would be left of it", "drop the order instead")
    return _begun(request, order.id)


def smaller(request: PlanRequest, change: SmallerBatch) -> PlanRequest:
    """Less of one product."""
    order = _order(request.kitchen, change.order)
    return request if order is None else _instead(request, order, _less(order, change))


def may_stock(request: PlanRequest, change: AddStock) -> Refusal | None:
    """Why a lot cannot be on hand."""
    kitchen, lot = request.kitchen, change.lot
    recipe = next((r for r in kitchen.recipes if r.id == lot.recipe), None)
    if recipe is None:
        return unknown("recipe", lot.recipe, (r.id for r in kitchen.recipes))
    if lot.place is not None and all(m.id != lot.place for m in kitchen.equipment):
        return unknown("machine or store", lot.place, (m.id for m in kitchen.equipment if m.store))
    planned = request.previous.batches if request.previous else ()
    taken = {*(s.lot for s in kitchen.stock), *(b.lot for b in planned), *request.used}
    if lot.lot in taken:
        return bad(lot.lot, "there is a lot of that code already", "another code")
    if lot.quantity.unit is not recipe.yields.unit:
        return bad(lot.lot, f"{recipe.name} is counted in {recipe.yields.unit}", f"an amount in {recipe.yields.unit}")
    return None


def stock(request: PlanRequest, change: AddStock) -> PlanRequest:
    """A lot more on hand."""
    kitchen = request.kitchen
    return request.model_copy(update={"kitchen": kitchen.model_copy(update={"stock": (*kitchen.stock, change.lot)})})


def _names(kitchen: Kitchen) -> list[str]:
    return [order.id for order in kitchen.orders]


def _order(kitchen: Kitchen, order: OrderId) -> Order | None:
    return next((known for known in kitchen.orders if known.id == order), None)


def _changed(order: Order, change: ChangeOrder) -> Order:
    told = {name: getattr(change, name) for name in ("due", "earliest", "weight", "lines", "customer")}
    update: dict[str, object] = {name: value for name, value in told.items() if value is not None}
    if change.at_any_time:
        update["earliest"] = None
    return order.model_copy(update=update)


def _less(order: Order, change: SmallerBatch) -> Order:
    others = tuple(line for line in order.lines if line.product != change.product)
    line = (OrderLine(product=change.product, quantity=change.quantity),) if change.quantity.value else ()
    return order.model_copy(update={"lines": (*others, *line)})


def _instead(request: PlanRequest, before: Order, after: Order) -> PlanRequest:
    """One order in place of another of its name. Where less is wanted, what nobody has begun for it is planned anew:
    it may be smaller, or fewer batches."""
    orders = tuple(after if known.id == after.id else known for known in request.kitchen.orders)
    return _with_orders(planned_anew(request, before.id, less_wanted(before, after)), orders)


def _with_orders(request: PlanRequest, orders: Iterable[Order]) -> PlanRequest:
    kitchen = request.kitchen.model_copy(update={"orders": tuple(orders)})
    last = max((order.due for order in kitchen.orders), default=kitchen.planning_start)
    return request.model_copy(update={"kitchen": kitchen.reaching(last)})


def _begun(request: PlanRequest, order: OrderId) -> Refusal | None:
    """What has been handed over, or is being made ready for it, stays on record as it was ordered."""
    known = {actual.task: actual.status for actual in request.actuals}
    mine = [t for t in (request.previous.tasks if request.previous else ()) if t.order == order and t.id in known]
    if not mine:
        return None
    title, status = mine[-1].title, known[mine[-1].id]
    remedy = "take that back first, if it was just now; else add an order of another name"
    return bad(order, f"{title} is {status} for it already", remedy)


def _refused(request: PlanRequest, order: Order, *, due: bool = True) -> Refusal | None:
    """Why an order cannot be asked for; none when it can. ``due``: whether its hand-over is looked at, too."""
    kitchen = request.kitchen
    for line in order.lines:
        recipe = next((r for r in kitchen.recipes if r.id == line.product), None)
        if recipe is None or recipe.makes != "product":
            return unknown("product", line.product, (r.id for r in kitchen.recipes if r.makes == "product"))
        if line.quantity.unit is not recipe.yields.unit or line.quantity.value <= 0:
            remedy = f"an amount in {recipe.yields.unit}"
            return bad(order.id, f"{recipe.name} is counted in {recipe.yields.unit}", remedy)
    if due and not request.now < order.due <= kitchen.orders_until:
        until = kitchen.when(kitchen.orders_until)
        return bad(order.id, f"due {kitchen.when(order.due)}", f"after {kitchen.when(request.now)}, by {until}")
    if order.earliest is not None and order.earliest > order.due:
        return bad(order.id, "its earliest hand-over lies after it is due", "an earliest hand-over before that")
    return None


def change_between(before: Order, after: Order) -> ChangeOrder | None:
    """What makes one order another of the same name; none where they are the same."""
    names = ("due", "earliest", "weight", "lines", "customer")
    told = {name: getattr(after, name) for name in names if getattr(after, name) != getattr(before, name)}
    if not told:
        return None
    opened = before.earliest is not None and after.earliest is None
    return ChangeOrder.model_validate({"order": before.id, **told, "at_any_time": opened})


def less_wanted(before: Order, after: Order | None) -> frozenset[RecipeId]:
    """Products of which an order wants less than before."""
    now = _amounts(after) if after is not None else {}
    return frozenset(product for product, amount in _amounts(before).items() if now.get(product, 0.0) < amount)


def planned_anew(request: PlanRequest, order: OrderId, products: Iterable[RecipeId]) -> PlanRequest:
    """The request with what nobody has begun of these products for an order left out of the plan before."""
    wanted = set(products)
    if request.previous is None or not wanted:
        return request
    return request.model_copy(update={"previous": _anew(request, request.previous, order, wanted)})


def _amounts(order: Order) -> dict[RecipeId, float]:
    found: dict[RecipeId, float] = {}
    for line in order.lines:
        found[line.product] = found.get(line.product, 0.0) + line.quantity.value
    return found


def _with_components(plan: Plan, gone: set[LotCode], waits: set[LotCode]) -> set[LotCode]:
    """With the batches that nobody has begun and that are for these alone: they may be smaller too."""
    takers: dict[LotCode, set[LotCode | OrderId | None]] = {}
    for peg in plan.pegs:
        takers.setdefault(peg.lot, set()).add(peg.batch or peg.order)
    more = {lot for lot, who in takers.items() if lot in waits and lot not in gone and who <= gone}
    return gone if not more else _with_components(plan, gone | more, waits)


def _anew(request: PlanRequest, plan: Plan, order: OrderId, products: set[RecipeId]) -> Plan:
    begun = {LotCode(str(actual.task).split(".")[0]) for actual in request.actuals}
    made = {batch.lot: batch.recipe for batch in plan.batches}
    stock = {lot.lot: lot.recipe for lot in request.kitchen.stock}
    mine = {peg.lot for peg in plan.pegs if peg.order == order and {**stock, **made}.get(peg.lot) in products}
    gone = _with_components(plan, {lot for lot in mine if lot in made and lot not in begun}, set(made) - begun)
    pegs = tuple(
        peg
        for peg in plan.pegs
        if peg.lot not in gone and peg.batch not in gone and not (peg.order == order and peg.lot in mine)
    )
    return plan.model_copy(update={"batches": tuple(b for b in plan.batches if b.lot not in gone), "pegs": pegs})
