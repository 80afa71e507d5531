"""The first run: what a new kitchen has and lacks, file by file, until it is taken over and has its first plan."""

from dataclasses import dataclass
from uuid import uuid4

from flask import Blueprint, Response, make_response, redirect
from werkzeug.wrappers import Response as WerkzeugResponse

from display.access.signing import hand_in
from display.panels import Showing
from display.refused import unanswered
from display.request import Message, doors, page, say, showing
from orchestrator.core.commands import ImportKitchen
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CommandId
from orchestrator.core.models import Kitchen
from orchestrator.ports.setting_up import FolderLook, Part

pages = Blueprint("first_run", __name__)

_LOOKED_AT_EVERY_S = 5
_NOTHING_TYPED = "Refresh"
"""Nothing is typed on this page, so that loading it again loses nothing."""


@dataclass(frozen=True)
class Step:
    """One thing that a first plan needs, in words."""

    part: Part
    there: bool
    faults: int


@pages.get("/first-run")
def first_run_page() -> Response:
    """What is there, what is missing, and what to do next; looked at again every few seconds until taken over."""
    picture = showing()
    kitchen, folder = picture.snapshot.state.kitchen, picture.gateway.kitchen_folder
    look = folder.look() if folder is not None and kitchen is None else None
    context = {
        "steps": _steps(look, kitchen),
        "look": look,
        "folder": folder.path if folder is not None else "",
        "taken_over": kitchen is not None,
        "orders": bool(kitchen and kitchen.orders),
        "planned": picture.snapshot.state.plan is not None and bool(picture.snapshot.state.plan.tasks),
    }
    response = make_response(page("first_run.html", **context))
    if look is not None or (kitchen is not None and picture.snapshot.planning):
        response.headers[_NOTHING_TYPED] = str(_LOOKED_AT_EVERY_S)
    return response


@pages.post("/first-run/take-over")
def take_over() -> WerkzeugResponse:
    """The folder becomes this kitchen, once; from then on the record rules."""
    picture = showing()
    if picture.snapshot.state.kitchen is None and (refused := _taken_over(picture)) is not None:
        say(refused)
    return redirect("/first-run", 303)


def _taken_over(picture: Showing) -> Message | None:
    """Hand the kitchen in. Returns: why not, if it was not taken over."""
    w, folder = picture.words, picture.gateway.kitchen_folder
    look = folder.look() if folder is not None else None
    if look is None or look.kitchen is None:
        return Message("refused", w("first_faults_left"), w("first_faults_left_remedy"))
    command = ImportKitchen(command_id=CommandId(f"import-{uuid4().hex}"), kitchen=look.kitchen)
    try:
        outcome = hand_in(doors()[0], command)
    except TimeoutError:
        return unanswered()
    if isinstance(outcome, Refusal):
        return Message("refused", *picture.sentences.refusal(outcome, outcome.thing))
    return None


def _steps(look: FolderLook | None, kitchen: Kitchen | None) -> list[Step]:
    if kitchen is not None:
        counts = {"stations": kitchen.stations, "equipment": kitchen.equipment, "crew": kitchen.crew}
        counts |= {"recipes": kitchen.recipes, "orders": kitchen.orders}
        return [Step(Part(name, "", len(found)), bool(found), 0) for name, found in counts.items()]
    if look is None:
        return []
    return [
        Step(part, part.count > 0, sum(fault.file.startswith(part.file) for fault in look.faults))
        for part in look.parts
    ]
