"""Three sheets from the plan, apart from each other: what to order, what to take out tomorrow, what to weigh up."""

from datetime import date
from itertools import groupby

from display.panels import Showing
from display.papers.sheets import BOX, TO_WRITE, Sheet, Table
from orchestrator.core.ids import LotCode
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.views.buying import Pull, ToOrder, pull_list, to_order, weigh_up


def _amount(quantity: Quantity) -> tuple[float, str]:
    return round(quantity.value, 6), str(quantity.unit)


def _written(quantity: Quantity | None) -> str:
    return "" if quantity is None else f"{quantity.value:.6g} {quantity.unit}"


def order_sheet(showing: Showing) -> Sheet:
    """What to order, a table for each cut-off of each supplier."""
    w, f = showing.words, showing.formats
    snapshot = showing.snapshot
    lines = to_order(snapshot.state, snapshot.facts, snapshot.now)
    tables = []
    for (by, supplier), group in groupby(lines, key=lambda one: (one.order_by, one.supplier)):
        rows = [_order_row(showing, one) for one in group]
        if by is None:
            head, warns = w("order_no_supplier"), ""
        else:
            head = w("order_by", supplier=supplier, time=f"{f.day(by)} {f.clock(by)}")
            warns = w("order_too_late", time=f.between(by, showing.now)) if by < showing.now else ""
        columns = tuple(w(f"order_col_{key}") for key in ("tick", "what", "order", "needed", "for", "by"))
        tables.append(Table(head, columns, rows, warns=warns))
    return Sheet(
        name="to-order",
        title=w("order_sheet"),
        says=(w("order_says"),),
        tables=tables,
        none=w("order_none"),
        columns=(
            "supplier", "order_by", "arrives", "ingredient", "needed", "unit", "packs", "pack", "ordered", "needed_at",
            "step", "for", "allergens", "expected",
        ),
        rows=[
            (one.supplier, one.order_by, one.arrives, one.ingredient, *_amount(one.needed), one.packs,
             _written(one.pack), _amount(one.ordered)[0], one.needed_at, one.step, one.lots, one.allergens,
             one.expected)
            for one in lines
        ],
    )  # fmt: skip


def _order_row(showing: Showing, one: ToOrder) -> tuple[str, ...]:
    w, f = showing.words, showing.formats
    ordered = f.alone(one.ordered)
    if one.packs is not None and one.pack is not None and (one.pack.value, one.pack.unit) != (1, Unit.EACH):
        ordered = w("order_packs", count=one.packs, pack=f.alone(one.pack))
    what = showing.tell(one.ingredient)
    if one.allergens:
        what += f" · {w('contains', allergens=showing.sentences.allergens(one.allergens))}"
    if one.expected is not None:
        what += f" · {w('order_expected', time=f'{f.day(one.expected)} {f.clock(one.expected)}')}"
    if one.from_left is not None:
        what += f" · {w('order_from_left', amount=f.alone(one.from_left))}"
    by = f"{f.day(one.needed_at)} {f.clock(one.needed_at)}, {one.step}"
    return BOX, what, ordered, f.alone(one.needed), ", ".join(one.lots), by


def pull_sheet(showing: Showing, day: date) -> Sheet:
    """What must come out of which place on a day, a table for each place."""
    w, f = showing.words, showing.formats
    snapshot = showing.snapshot
    pulls = pull_list(snapshot.state, snapshot.facts, snapshot.now, day)
    columns = tuple(w(f"pull_col_{key}") for key in ("tick", "by", "what", "amount", "lots", "for", "who", "done"))
    tables = []
    for place in sorted({pull.place for pull in pulls}, key=lambda name: (not name, name)):
        here = [pull for pull in pulls if pull.place == place]
        rows = [
            (BOX, f.clock(p.by), _with_allergens(showing, p), f.alone(p.quantity), ", ".join(p.lots),
             f"{p.into}: {p.task}", ", ".join(p.who), TO_WRITE)
            for p in here
        ]  # fmt: skip
        tables.append(Table(place or w("pull_no_place"), columns, rows))
    return Sheet(
        name=f"pull-{day.isoformat()}",
        title=w("pull_sheet", day=f"{w('weekdays').split()[day.weekday()]} {day.day} {_month(showing, day)}"),
        says=(w("pull_says"),),
        tables=tables,
        none=w("pull_none"),
        columns=("place", "by", "what", "quantity", "unit", "lots", "for", "step", "who", "allergens"),
        rows=[(p.place, p.by, p.what, *_amount(p.quantity), p.lots, p.into, p.task, p.who, p.allergens) for p in pulls],
    )


def _month(showing: Showing, day: date) -> str:
    return showing.words("months").split()[day.month - 1]


def _with_allergens(showing: Showing, pull: Pull) -> str:
    what = showing.tell(pull.what)
    if not pull.allergens:
        return what
    return f"{what} · {showing.words('contains', allergens=showing.sentences.allergens(pull.allergens))}"


def weigh_sheet(showing: Showing, lot: LotCode) -> Sheet:
    """Every ingredient scaled to one batch, with room for the lot number that was in fact used.

    Raises:
        KeyError: no such batch in the plan.
    """
    w, f = showing.words, showing.formats
    snapshot = showing.snapshot
    lines = weigh_up(snapshot.state, snapshot.facts, snapshot.now, lot)
    plan = snapshot.state.plan
    batch = next(b for b in plan.batches if b.lot == lot) if plan is not None else None
    assert batch is not None
    name = next(r.name for r in showing.kitchen.recipes if r.id == batch.recipe)
    columns = tuple(w(f"weigh_col_{key}") for key in ("tick", "what", "amount", "lot", "weighed", "initials"))
    tables = []
    for _, group in groupby(lines, key=lambda one: one.task):
        found = list(group)
        rows = []
        for one in found:
            what = showing.tell(one.amount.what)
            if one.amount.allergens:
                what += f" · {w('contains', allergens=showing.sentences.allergens(one.amount.allergens))}"
            if one.amount.lots:
                what += f" · {w('weigh_planned', lots=', '.join(one.amount.lots))}"
            rows.append((BOX, what, f.alone(one.amount.quantity), TO_WRITE, TO_WRITE, TO_WRITE))
        tables.append(Table(found[0].step, columns, rows))
    contains = showing.sentences.allergens(batch.allergens)
    return Sheet(
        name=f"weigh-up-{lot}",
        title=w("weigh_sheet", lot=lot, name=name, size=f.alone(batch.size)),
        says=(
            w("weigh_says", revision=batch.revision, scale=f.figures(batch.scale)),
            w("contains", allergens=contains) if contains else w("no_allergens"),
        ),
        tables=tables,
        none=w("weigh_none"),
        columns=("lot", "step", "what", "quantity", "unit", "planned_lots", "allergens", "store"),
        rows=[
            (lot, one.step, one.amount.what, *_amount(one.amount.quantity), one.amount.lots, one.amount.allergens,
             one.store)
            for one in lines
        ],
        back="/papers",
        sign=(w("weigh_sign"), w("record_sign_date")),
    )  # fmt: skip
