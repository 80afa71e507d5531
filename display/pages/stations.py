"""Where to go: the kitchen's stations."""

from flask import Blueprint, redirect
from werkzeug.wrappers import Response

from display.request import page, showing

pages = Blueprint("stations", __name__)


@pages.get("/")
def home() -> Response:
    """Where a new browser begins."""
    return redirect("/stations")


@pages.get("/stations")
def stations() -> str:
    """All stations, as large targets."""
    return page("stations.html", stations=showing().kitchen.stations)
