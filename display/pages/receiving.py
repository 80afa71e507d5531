"""Receiving: what is expected, what came, what is on hand of ingredients, what stands in for what."""

from flask import Blueprint, request

from display import panels
from display.panels import Showing
from display.request import page, showing
from orchestrator.core.decide.deliveries import LIMITS
from orchestrator.core.views.receiving import receiving_view

pages = Blueprint("receiving", __name__)


@pages.get("/receiving")
def receiving_page() -> str:
    """What is expected at the door; ``?ingredient=`` opens the form of one that is not."""
    picture = showing()
    view = receiving_view(picture.snapshot.state, picture.now)
    chosen = next((i for i in view.others if i.name == request.args.get("ingredient", "")), None)
    everything = sorted((*view.expected, *view.ripening, *view.others), key=lambda i: i.name)
    return page("receiving.html", view=view, chosen=chosen, everything=everything, **_form(picture))


def _form(showing: Showing) -> dict[str, object]:
    """What every form of a delivery needs: stores, and the limits that a temperature is judged by."""
    kitchen = showing.kitchen
    limits = [limit for limit in (kitchen.limit(name) for name in LIMITS.values()) if limit is not None]
    says = [
        showing.words(
            "receive_limit",
            title=limit.title,
            limit=showing.formats.limit(limit.rows[0].at_most.as_celsius(kitchen.temperature_unit)),
        )
        for limit in limits
        if limit.rows[0].at_most is not None
    ]
    return {"stores": [e for e in kitchen.equipment if e.store], "limits": says}


def _expected(showing: Showing, _: str) -> str:
    view = receiving_view(showing.snapshot.state, showing.now)
    return showing.render("panels/receiving.html", {"view": view, **_form(showing)})


def _stocked(showing: Showing, _: str) -> str:
    view = receiving_view(showing.snapshot.state, showing.now)
    names = {recipe.id: recipe.name for recipe in showing.kitchen.recipes}
    return showing.render("panels/stocked.html", {"view": view, "names": names})


panels.register("receiving", _expected)
panels.register("stocked", _stocked)
