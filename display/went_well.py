"""What is said of an act that went well, and where it leads on."""

from typing import Final

from flask import request

from display.request import Message, doors, showing
from orchestrator.core.ids import ProbeId

_LEADS_ON: Final = {"machine": "/machines", "temperature": "/probes", "ingredient": "/receiving"}
"""By kind of problem that a cook reports, the page on which more can be done about it than telling."""


def went_well(name: str) -> Message:
    """That an act is on record; of a reported problem, also what may be needed next."""
    w, what = showing().words, request.form.get("what", "")
    if name == "problem" and what in _LEADS_ON:
        return Message("done", w("done_problem"), w(f"problem_next_{what}"), _LEADS_ON[what])
    if name == "receive" and request.form.get("outcome") != "accepted":
        return Message(
            "done",
            w("done_receive"),
            w("receive_planned_anew" if request.form.get("rest_at") else "receive_no_day_says"),
        )
    if name == "check_probe" and (found := _check_failed(ProbeId(request.form.get("probe", "")))):
        return found
    return Message("done", w(f"done_{name}"))


def _check_failed(probe: ProbeId) -> Message | None:
    """That the probe is not believed any more, and which lots are in doubt by it."""
    picture = showing()
    state = doors()[0].snapshot().state  # what the request began with does not hold the check yet
    w, last = picture.words, state.probes.last_check(probe)
    if last is None or last.passed:
        return None
    off, allowed = picture.formats.difference(last.error_c), picture.formats.difference(last.tolerance_c)
    lots = w("check_doubts", lots=", ".join(last.in_doubt)) if last.in_doubt else ""
    remedy = f"{lots} {w('check_failed_next')}".strip()
    return Message("done", w("check_failed_says", error=off, tolerance=allowed), remedy, f"/probe/{probe}")
