"""Lots: where each stands, the decision about a held one, and the plain record of one."""

from typing import Final

from flask import Blueprint, Response, abort, request

from display import batch_record, panels, record_steps, review_words
from display.log_reading import whole_log
from display.pages.doubt import open_counts
from display.pages.probe import in_doubt, offsets_for
from display.panels import Showing
from display.papers.answers import as_pdf
from display.request import page, showing
from orchestrator.core.deviations import of_lot, undecided
from orchestrator.core.ids import LotCode
from orchestrator.core.views.lots import bought_in_doubt
from orchestrator.core.views.trace import went_in

pages = Blueprint("lots", __name__)
MOST_FORMER: Final = 60
"""So many lots of former days are listed; all of them are found by their code."""


@pages.get("/lots")
def lots_page() -> str:
    """All lots, held ones first; ``?records=unseen``: those whose record nobody has looked through."""
    return page("lots.html", unseen_only=request.args.get("records") == "unseen")


@pages.get("/record/<lot>")
def record_page(lot: str) -> str:
    """The record of one lot; it prints."""
    return _record(lot)


@pages.get("/record/<lot>/record.pdf")
def record_pdf(lot: str) -> Response:
    """The same as a PDF, ``?paper=a4`` or ``letter``."""
    picture = showing()
    return as_pdf(picture, _record(lot), f"record-{lot}", picture.words("record_of", lot=lot))


def _record(lot: str) -> str:
    picture = showing().whole
    state = picture.snapshot.state
    try:
        record = batch_record.record_of(state, whole_log(picture.gateway), LotCode(lot))
    except KeyError:
        abort(404)
    views = {v.lot: v for v in picture.views.lots(picture.snapshot)}
    orders = {order.order: order for order in picture.views.orders(picture.snapshot)}
    looks = record_steps.looks(picture, record)
    doubted_by, offsets = in_doubt(picture, record.lot), offsets_for(picture, looks)
    taken = went_in(state, record.lot)
    context = {"record": record, "view": views.get(record.lot), "orders": orders, "looks": looks, "taken": taken}
    deviations = [(d, undecided(state, d)) for d in of_lot(state, record.lot)]
    waiting = review_words.of(picture).get(record.lot)
    review = review_words.says(picture.words, picture.formats, waiting) if waiting is not None else ""
    signers = {member.id: member.name for member in picture.kitchen.crew if member.manager}
    return page(
        "record.html",
        **context,
        doubted_by=doubted_by,
        offsets=offsets,
        doubts=deviations,
        signers=signers,
        review=review,
        waiting=waiting,
        review_since=review_words.since,
    )


def _former(showing: Showing) -> list[tuple[str, str]]:
    """Lots of former days, the last to leave the plan first: code and name."""
    past, names = showing.snapshot.state.past, {recipe.id: recipe.name for recipe in showing.kitchen.recipes}
    made = [(lot, one.recipe) for lot, one in past.stock.items()] + [(lot, b.recipe) for lot, b in past.batches.items()]
    return [(str(lot), names.get(recipe, str(recipe))) for lot, recipe in made[: -MOST_FORMER - 1 : -1]]


def _lots(showing: Showing, which: str) -> str:
    seen = showing.snapshot
    views = [*showing.views.lots(seen), *bought_in_doubt(seen.state, seen.facts, seen.now)]
    held = [view for view in views if view.status == "on hold"]
    state = showing.snapshot.state
    doubts = {view.lot: [d for d in of_lot(state, view.lot) if d.open] for view in held}
    count, asked = open_counts(showing)
    context = {"lots": views, "held": held, "records": state.lots, "doubts": doubts, "former": _former(showing)}
    waiting = review_words.of(showing)
    told = {
        "reviews": waiting,
        "late": sum(one.over for one in waiting.values()),
        "review_says": lambda one: review_words.says(showing.words, showing.formats, one),
        "review_brief": lambda one: review_words.brief(showing.words, showing.formats, one),
        "unseen_only": which == "unseen",
        "days": showing.kitchen.warnings.record_review_days,
        "names": {view.lot: view.name for view in views} | dict(_former(showing)),
    }
    return showing.render("panels/lots.html", {**context, **told, "open_count": count, "asked_count": asked})


panels.register("lots", _lots)
