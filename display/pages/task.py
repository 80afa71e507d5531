"""Details of one task: method, cautions, allergens, amounts, gates, and every act on it."""

from flask import Blueprint

from display import panels, rescue
from display.api import planning
from display.api.reading import NotThere, Query, Refused
from display.pages.station import job, window_of
from display.panels import Showing
from display.request import doors, page, showing
from orchestrator.core.ids import TaskId
from orchestrator.core.mix.work import Chill
from orchestrator.core.plan_index import kitchen_index, plan_index
from orchestrator.core.views.ice import ice_for
from orchestrator.core.views.receiving import used_lots

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
    return page("task.html", task=view, station=view.station, ice=_ice(picture, view.task))


def _ice(picture: Showing, task: TaskId) -> Chill | None:
    plan = picture.snapshot.state.plan
    planned = plan_index(plan).tasks.get(task) if plan is not None else None
    if plan is None or planned is None:
        return None
    return ice_for(kitchen_index(picture.kitchen), plan_index(plan), planned)


@pages.get("/task/<task>/why")
def why_page(task: str) -> str | tuple[str, int]:
    """What holds a task from both sides, asked of the planner now."""
    picture = showing()
    try:
        view = picture.views.task(picture.snapshot, TaskId(task))
        answer = planning.why(doors()[0], {"task": task}, Query())
    except (KeyError, NotThere):
        w = picture.words
        return page("fault.html", title=w("gone_from_plan"), remedy=w("gone_from_plan_remedy")), 404
    except Refused as error:
        said = picture.words("why_unknown", status=error.refusal.status)
        return page("fault.html", title=said, remedy=error.refusal.remedy), 503
    except TimeoutError:
        return page("fault.html", title=picture.words("why_unknown", status="…"), remedy=""), 503
    return page("why.html", task=view, why=answer)


def _facts(showing: Showing, task: str) -> str:
    view = showing.views.task(showing.snapshot, TaskId(task))
    context = {"job": job(showing, view), "task": view, "window": window_of(view), "marks": []}
    return showing.render("panels/task_facts.html", context)


def _rescue(showing: Showing, task: str) -> str:
    view = showing.views.task(showing.snapshot, TaskId(task))
    found = rescue.cards(showing, view.task, gate_shut=any(gate.met is False for gate in view.gates))
    can_extend = view.status == "in hand" and view.kind != "stay"
    return showing.render("panels/rescue.html", {"cards": found, "task": task, "can_extend": can_extend})


def _used(showing: Showing, task: str) -> str:
    used = used_lots(showing.snapshot.state, TaskId(task), showing.now)
    return showing.render("panels/task_used.html", {"used": used, "task": task})


def _weighed(showing: Showing, task: str) -> str:
    return showing.render(
        "panels/task_weighed.html", {"v": showing.views.task(showing.snapshot, TaskId(task)).weighing}
    )


panels.register("task-facts", _facts)
panels.register("task-weighed", _weighed, of_the_record=True)
panels.register("task-used", _used)
panels.register("rescue", _rescue)
