"""What a station's screen is made of besides its page: the service worker, and the ticks that screens share."""

from flask import Blueprint, Response, current_app, request

from display.request import showing
from display.ticks import TICKS, TickBook

pages = Blueprint("shell", __name__)

LONGEST = 200
LATEST_MS = 4_102_444_800_000
"""The year 2100: no clock of a screen is further off."""


@pages.get("/worker.js")
def worker() -> Response:
    """The service worker, at the root, for it may only keep what lies below its own address."""
    answer = current_app.send_static_file("js/worker.js")
    answer.headers["Cache-Control"] = "no-cache"
    return answer


@pages.post("/ticks")
def tick() -> tuple[str, int]:
    """One box that was ticked or unticked: ``task``, ``what``, ``on`` (1 or 0), ``at`` in ms by the kitchen's clock."""
    task, what, at = (request.form.get(name, "") for name in ("task", "what", "at"))
    if not (0 < len(task) <= LONGEST and 0 < len(what) <= LONGEST and at.isascii() and at.isdigit()):
        return "Name task, what and at.", 400
    if int(at[:20]) > LATEST_MS:
        return "at lies too far ahead.", 400
    book: TickBook = current_app.extensions[TICKS]
    book.put(task, what, request.form.get("on") == "1", int(at), showing().now)
    return "", 204
