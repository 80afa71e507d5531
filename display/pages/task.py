"""Details of one task: method, cautions, allergens, amounts, gates, and every act on it."""

from flask import Blueprint

from display import panels
from display.pages.station import job, window_of
from display.panels import Showing
from display.request import page, showing
from orchestrator.core.ids import TaskId

pages = Blueprint("task", __name__)


@pages.get("/task/<task>")
def task_page(task: str) -> str | tuple[str, int]:
    """One task."""
    picture = showing()
    try:
        view = picture.views.task(picture.snapshot, TaskId(task))
    except KeyError:
        w = picture.words  # most likely it was there when somebody tapped on it
        return page("fault.html", title=w("gone_from_plan"), remedy=w("gone_from_plan_remedy")), 404
    return page("task.html", task=view, station=view.station)


def _facts(showing: Showing, task: str) -> str:
    view = showing.views.task(showing.snapshot, TaskId(task))
    context = {"job": job(showing, view), "task": view, "window": window_of(view), "marks": []}
    return showing.render("panels/task_facts.html", context)


panels.register("task-facts", _facts)
