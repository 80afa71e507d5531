"""Where to go: the kitchen's stations."""

from flask import Blueprint

from display.request import page, showing

pages = Blueprint("stations", __name__)


@pages.get("/stations")
def stations() -> str:
    """All stations, as large targets."""
    return page("stations.html", stations=showing().kitchen.stations)
