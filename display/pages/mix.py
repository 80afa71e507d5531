"""Mixes: what every recipe is made of, one recipe in full, and a balance that proposes and changes nothing."""

from collections.abc import Iterator
from typing import Any, Final

from flask import Blueprint, Response, request

from display.forms import FormFault, Tapped
from display.mix_drawing import GRID_C, GRID_ICE, grid_x, ice_picture
from display.mix_table import COLUMNS, mix_rows
from display.mix_words import MixWords
from display.panels import Showing
from display.papers.answers import as_csv
from display.request import page, showing
from display.words import AsPrinted
from orchestrator.core.ids import RecipeId
from orchestrator.core.mix.balancing import PRICES, STAYS, NotBalanced, Proposal, balanced
from orchestrator.core.mix.book import Book, book_of
from orchestrator.core.mix.figures import FIGURE_NAMES, Wanted
from orchestrator.core.mix.usual import SCOOP_ICE, usual
from orchestrator.core.mix.work import Chill, DrivenOff, Hardening
from orchestrator.core.views.mix import MixView, mix_view, mix_views

pages = Blueprint("mix", __name__)

MANNERS: Final = (*PRICES, STAYS)
ADDED: Final = ("add1", "add2", "add3")
"""So many ingredients may be added at once."""


@pages.get("/mix")
def mixes_page() -> str:
    """All recipes with their first figures."""
    picture = showing()
    views = picture.once("mixes", lambda: mix_views(picture.snapshot.state))
    return page("mixes.html", views=views, told=MixWords(picture))


@pages.get("/mix.csv")
def mixes_csv() -> Response:
    """The same for a spreadsheet."""
    picture = showing()
    views = picture.once("mixes", lambda: mix_views(picture.snapshot.state))
    return as_csv(COLUMNS, mix_rows(views, picture.kitchen.currency), "mixes")


@pages.get("/mix/<recipe>")
def mix_page(recipe: str) -> str | tuple[str, int]:
    """One recipe's mix."""
    picture = showing()
    found = _view(picture, recipe)
    if found is None:
        return page("fault.html", title=picture.words("not_found"), remedy=picture.words("not_found_remedy")), 404
    view, _ = found
    context = {
        "view": view,
        "told": MixWords(picture),
        "ice": ice_picture(view),
        "grid": [(celsius, grid_x(celsius)) for celsius in GRID_C],
        "levels": GRID_ICE,
        "served": SCOOP_ICE,
        "work": [(type(one).__name__, one) for one in view.work if isinstance(one, Chill | DrivenOff | Hardening)],
    }
    return page("mix.html", **context)


@pages.get("/mix/<recipe>/balance")
def balance_page(recipe: str) -> str | tuple[str, int]:
    """The form, and what it asks for as a proposal beside the recipe."""
    picture = showing()
    found = _view(picture, recipe)
    if found is None:
        return page("fault.html", title=picture.words("not_found"), remedy=picture.words("not_found_remedy")), 404
    view, book = found
    asked: dict[str, str] = {key: value.strip() for key, value in request.args.items()}
    if "usual" in asked:
        asked |= _usual(view)
    proposal, refused, status = None, "", 200
    if "ask" in asked:
        try:
            proposal = _proposal(picture, view, book)
        except FormFault as fault:
            refused, status = f"{fault.says} {fault.remedy}", 422
        except NotBalanced as reason:
            refused, status = picture.words(f"mix_refused_{reason}"), 422
    context: dict[str, Any] = {
        "view": view,
        "told": MixWords(picture),
        "asked": asked,
        "proposal": proposal,
        "refused": refused,
        "figures": FIGURE_NAMES,
        "manners": MANNERS,
        "added": ADDED,
        "ingredients": sorted({one.name for one in picture.kitchen.ingredients}),
    }
    shown = page("mix_balance.html", **context)
    return shown if status == 200 else (shown, status)


def _view(picture: Showing, recipe: str) -> tuple[MixView, Book] | None:
    made = next((one for one in picture.kitchen.recipes if one.id == RecipeId(recipe)), None)
    if made is None:
        return None
    book = book_of(picture.kitchen)
    return mix_view(made, picture.kitchen, book), book


def _usual(view: MixView) -> dict[str, str]:
    """The usual ranges as if they had been typed."""
    return {
        f"{end}_{name}": f"{value:g}"
        for name, one in usual(view.made).items()
        for end, value in (("least", one.least), ("most", one.most))
    }


def _proposal(picture: Showing, view: MixView, book: Book) -> Proposal:
    form = Tapped(request.args, picture, None)
    wanted = list(_wanted(form, picture))
    may = {at: _manner(form.text(f"may{at}"), picture) for at, _ in enumerate(view.lines) if form.text(f"may{at}")}
    adding = [name for field in ADDED if (name := form.text(field))]
    return balanced(view.made, book, wanted, may=may, adding=adding, same_weight=form.yes("weight"))


def _manner(typed: str, picture: Showing) -> str:
    if typed not in MANNERS:
        w = picture.words
        known = ", ".join(MANNERS)
        raise FormFault(
            w("mix_refused_manner", text=AsPrinted(repr(typed))), w("mix_refused_manner_remedy", known=known)
        )
    return typed


def _wanted(form: Tapped, picture: Showing) -> Iterator[Wanted]:
    for name in FIGURE_NAMES:
        least, most = (
            form.number(f"{end}_{name}", 0.0, 1000.0, example="12") if form.text(f"{end}_{name}") else None
            for end in ("least", "most")
        )
        if least is not None and most is not None and least > most:
            w = picture.words
            says = w("mix_refused_order", figure=w(f"mix_figure_{name}"), least=f"{least:g}", most=f"{most:g}")
            raise FormFault(says, "")
        if least is not None or most is not None:
            yield Wanted(name, least, most)
