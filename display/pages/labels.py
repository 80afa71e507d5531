"""Labels of a lot: what stands on them, what to check, and the sheet as PDF."""

from dataclasses import dataclass
from math import floor

from flask import Blueprint, Response, abort, request

from display.forms import FormFault, Tapped
from display.panels import Showing
from display.papers import label_words
from display.papers.answers import attached
from display.papers.labels import MOST_LABELS, Code, Label, TooMuch, label_pdf
from display.request import page, showing
from orchestrator.core.allergens import printed_lists
from orchestrator.core.gs1 import readable
from orchestrator.core.ids import LotCode
from orchestrator.core.models.label import LabelSheet
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.typed_amounts import NoAmount, typed_quantity
from orchestrator.core.views.labels import LabelView, label_view

pages = Blueprint("labels", __name__)

_CODES: dict[str, Code] = {"matrix": "matrix", "bars": "bars", "none": "none"}


@dataclass(frozen=True)
class Asked:
    """What was asked for."""

    sheet: LabelSheet
    first: int
    count: int
    net: Quantity | None
    code: Code


@pages.get("/labels/<lot>")
def labels_page(lot: str) -> str:
    """The form, the label in words, and what the kitchen must check itself."""
    picture = showing()
    view = _view(picture, lot)
    net = view.product.net
    return page("labels.html", **_context(picture, view, net))


@pages.get("/labels/<lot>/sheet.pdf")
def labels_pdf(lot: str) -> Response | tuple[str, int]:
    """The sheets; ``?sheet=a4-3x8&first=1&count=10&net=500 ml&code=matrix``."""
    picture = showing()
    view, w = _view(picture, lot), picture.words
    if view.blocked:
        says = w("labels_blocked", lot=view.lot, why=view.blocked)
        return page("fault.html", title=says, remedy=w("labels_blocked_remedy")), 409
    try:
        asked = _asked(Tapped(request.args, picture, None), picture)
        label = _label(picture, view, asked)
        made = label_pdf(asked.sheet, label, asked.first, asked.count, w("labels_of", lot=view.lot))
    except FormFault as fault:
        return page("fault.html", title=fault.says, remedy=fault.remedy), 400
    except (TooMuch, ValueError) as fault:
        return page("fault.html", title=w("labels_too_much", why=str(fault)), remedy=w("labels_too_much_remedy")), 409
    return attached(made, "application/pdf", f"labels-{lot}.pdf")


def _view(picture: Showing, lot: str) -> LabelView:
    snapshot = picture.snapshot
    try:
        return label_view(snapshot.state, snapshot.facts, snapshot.now, LotCode(lot))
    except KeyError:
        abort(404)


def _asked(form: Tapped, picture: Showing) -> Asked:
    book = picture.kitchen.labels
    sheet = book.sheet(form.choice("sheet", [one.id for one in book.sheets]))
    assert sheet is not None
    first = int(form.number("first", 1, sheet.places, example="1", whole=True))
    count = int(form.number("count", 1, MOST_LABELS, example="10", whole=True))
    return Asked(sheet, first, count, _net(form), _CODES[form.choice("code", list(_CODES))])


def _net(form: Tapped) -> Quantity | None:
    """With its unit: a weight, a volume or a count."""
    typed = form.text("net")
    if not typed:
        return None
    for unit in (Unit.KILOGRAM, Unit.LITRE, Unit.EACH):
        try:
            amount = typed_quantity(typed, unit)
        except NoAmount:
            continue
        if amount.value > 0 and not typed.replace(".", "").replace(",", "").isdigit():
            return amount
    raise form.fault("amount", "net")


def _label(picture: Showing, view: LabelView, asked: Asked) -> Label:
    elements = label_words.elements(picture, view, asked.net) if asked.code != "none" else ()
    return Label(label_words.lines(picture, view, asked.net), elements, asked.code)


def _context(picture: Showing, view: LabelView, net: Quantity | None) -> dict[str, object]:
    fits = net is not None and net.unit is view.quantity.unit and net.value > 0
    count = min(MOST_LABELS, max(1, floor(view.quantity.value / net.value + 1e-9))) if fits and net is not None else 1
    try:
        told = readable(label_words.elements(picture, view, net))
    except ValueError:
        told = ""
    until = label_words.use_by(picture, view)
    printed_in = [one.reader.language for one in label_words.spoken(picture)]
    return {
        "view": view,
        "lines": label_words.lines(picture, view, net),
        "told": told,
        "book": picture.kitchen.labels,
        "codes": list(_CODES),
        "count": count,
        "net": picture.formats.amount(net).replace("\u00a0", " ") if net is not None else "",
        "lists": ", ".join(picture.tell(one.title) for one in printed_lists(picture.kitchen)),
        "until": label_words.told_use_by(picture, until) if until is not None else "",
        "by_the_hour": until is not None and until.at is not None,
        "most": MOST_LABELS,
        "printed_in": [] if picture.reader.language in printed_in else printed_in,
    }
