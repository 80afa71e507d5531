"""Where to go: the kitchen's stations, with who works there on what, and what comes next."""

from dataclasses import dataclass

from flask import Blueprint

from display import panels
from display.panels import Showing
from display.request import page
from orchestrator.core.models.alarm import AlarmStatus
from orchestrator.core.views.models import StationView, TaskView

pages = Blueprint("stations", __name__)


@dataclass(frozen=True)
class InHand:
    """A task that somebody works on at a station, or should have begun."""

    task: TaskView
    who: str
    """Who began it, or who is planned for it; empty where nobody is."""
    begun: bool
    """Else it is due."""


@pages.get("/stations")
def stations() -> str:
    """All stations, as large targets."""
    return page("stations.html")


def _in_hand(showing: Showing, view: StationView) -> list[InHand]:
    state = showing.snapshot.state
    found = []
    for task in view.in_hand:
        starter = state.record(task.task).started_by
        who = showing.name_of(starter) if starter else ", ".join(map(showing.tell, task.crew))
        found.append(InHand(task, who, begun=task.started_at is not None))
    return found


def _unseen(view: StationView) -> int:
    """Alarms of this station that nobody has seen; those of the whole house stand in the header of every page."""
    return sum(
        alarm.status is AlarmStatus.UNACKNOWLEDGED and not alarm.shelved and view.station in alarm.facts.stations
        for alarm in view.alarms
    )


def _stations(showing: Showing, _: str) -> str:
    views = [showing.views.station(showing.snapshot, one.id) for one in showing.kitchen.stations]
    rows = [(view, _in_hand(showing, view), _unseen(view)) for view in views]
    return showing.render("panels/stations.html", {"rows": rows})


panels.register("stations", _stations, of_the_record=True)
