"""How long steps take: the recipe's figures, what finished tasks say, and a manager's decision between them."""

from flask import Blueprint

from display import panels
from display.panels import Showing
from display.request import page
from orchestrator.core.views import duration_views

pages = Blueprint("durations", __name__)


@pages.get("/durations")
def durations_page() -> str:
    """All steps of which a task has been finished."""
    return page("durations.html")


def _durations(showing: Showing, _: str) -> str:
    views = duration_views(showing.snapshot.state)
    known = [view for view in views if view.learned is not None or view.adopted_at is not None]
    few = [view for view in views if view not in known and view.samples > 0]
    least = views[0].least_samples if views else 0
    return showing.render("panels/durations.html", {"known": known, "few": few, "least": least})


panels.register("durations", _durations)
