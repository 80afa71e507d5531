"""What stands on a label, in words, and its elements for a scanner."""

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from display.panels import Showing
from display.papers.labels import fill
from orchestrator.core.allergens import named_allergens
from orchestrator.core.gs1 import Element, day, gtin14, lot_fits, minute
from orchestrator.core.gs1 import net as net_element
from orchestrator.core.quantities import Quantity
from orchestrator.core.views.labels import LabelView


@dataclass(frozen=True, slots=True)
class UseBy:
    """What is printed as use-by."""

    day: date
    at: datetime | None
    """The instant itself, on the kitchen's clock: what is made and over on one day has no whole day left."""


def last_whole_day(showing: Showing, instant: datetime) -> date:
    """The last day that ends before a limit of safety: a date alone is read as 'until the end of that day'."""
    return (showing.formats.local(instant) - timedelta(days=1)).date()


def calendar_day(showing: Showing, day: date) -> str:
    """``27 Nov 2026``."""
    return f"{day.day} {showing.words('months').split()[day.month - 1]} {day.year}"


def use_by(showing: Showing, view: LabelView) -> UseBy | None:
    """The last whole day; the time of the day itself where it was made on that day: none says 'by yesterday'."""
    if view.use_by is None:
        return None
    whole, ends = last_whole_day(showing, view.use_by), showing.formats.local(view.use_by)
    if view.made_at is not None and whole < showing.formats.local(view.made_at).date():
        return UseBy(ends.date(), ends)
    return UseBy(whole, None)


def told_use_by(showing: Showing, until: UseBy) -> str:
    """``26 Nov 2026``, with the time where that day is not whole."""
    told = calendar_day(showing, until.day)
    return told if until.at is None else f"{told} {showing.formats.clock(until.at)}"


def best_before(showing: Showing, view: LabelView) -> date | None:
    """What is printed as best-before: no later than the day that is printed as use-by."""
    if view.best_before is None:
        return None
    best, until = showing.formats.local(view.best_before).date(), use_by(showing, view)
    return best if until is None else min(best, until.day)


def values(showing: Showing, view: LabelView, net: Quantity | None) -> dict[str, str]:
    """What the placeholders of the template stand for; empty where there is nothing to say."""
    w, tell, named = showing.words, showing.tell, named_allergens(showing.kitchen, view.allergens)
    listed = ", ".join(tell(one.text).upper() for one in named if one.listed)
    others = ", ".join(tell(one.text) for one in named if not one.listed)

    made = showing.formats.local(view.made_at).date() if view.made_at is not None else None
    until, best = use_by(showing, view), best_before(showing, view)
    return {
        "name": tell(view.name),
        "lot": view.lot,
        "made": calendar_day(showing, made) if made is not None else "",
        "use_by": told_use_by(showing, until) if until is not None else "",
        "best_before": calendar_day(showing, best) if best is not None else "",
        "contains": w("labels_contains", allergens=listed) if listed else "",
        "also": w("labels_also", allergens=others) if others else "",
        "storage": tell(view.product.storage) or _kept(showing, view),
        "net": showing.formats.amount(net) if net is not None else "",
        "kitchen": showing.kitchen.name,
        "code": "",
    }


def _kept(showing: Showing, view: LabelView) -> str:
    if view.keep_at_most_c is None:
        return ""
    key = "labels_keep_frozen" if view.frozen else "labels_keep_cold"
    return showing.words(key, celsius=showing.formats.limit(view.keep_at_most_c))


def lines(showing: Showing, view: LabelView, net: Quantity | None) -> tuple[str, ...]:
    """The template filled in; in a demo it says so first."""
    said = [_filled(one, view, net) for one in spoken(showing)]
    # What is the same in two languages is printed once.
    return tuple(
        " / ".join([line[0], *(one.removeprefix("# ") for one in dict.fromkeys(line[1:]) if one != line[0])])
        for line in zip(*said, strict=True)
    )


def spoken(showing: Showing) -> list[Showing]:
    """The picture in each language of the kitchen's labels; a label is not for whoever prints it."""
    kitchen = showing.kitchen
    languages = kitchen.labels.languages or (kitchen.ways.language or "en",)
    return [replace(showing, reader=replace(showing.reader, language=one)) for one in languages]


def _filled(showing: Showing, view: LabelView, net: Quantity | None) -> tuple[str, ...]:
    found = fill([showing.tell(line) for line in showing.kitchen.labels.template], values(showing, view, net))
    if not showing.snapshot.practice:
        return found
    return (f"**{showing.words('labels_practice')}**", *found)


def elements(showing: Showing, view: LabelView, net: Quantity | None) -> tuple[Element, ...]:
    """GTIN where there is one, use-by, best-before, made, net, and the lot last, so that it needs no separator.

    Raises:
        ValueError: The lot code cannot stand in a GS1 symbol.
    """
    if not lot_fits(view.lot):
        raise ValueError(showing.words("labels_lot_code", lot=view.lot))
    found = []
    gtin = gtin14(view.product.gtin) if view.product.gtin else None
    if gtin is not None:
        found.append(Element("01", gtin))
    until, best = use_by(showing, view), best_before(showing, view)
    if until is not None:
        found.append(day("17", until.day) if until.at is None else minute("7003", until.at))
    if best is not None:
        found.append(day("15", best))
    if view.made_at is not None:
        found.append(day("11", showing.formats.local(view.made_at).date()))
    weight = net_element(net) if net is not None else None
    return (*found, *((weight,) if weight is not None else ()), Element("10", view.lot))
