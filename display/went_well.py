"""What is said of an act that went well, and where it leads on."""

from typing import Final

from flask import request

from display.request import Message, showing

_LEADS_ON: Final = {"machine": "/machines", "temperature": "/probes", "ingredient": "/receiving"}
"""By kind of problem that a cook reports, the page on which more can be done about it than telling."""


def went_well(name: str) -> Message:
    """That an act is on record; of a reported problem, also what may be needed next."""
    w, what = showing().words, request.form.get("what", "")
    if name == "problem" and what in _LEADS_ON:
        return Message("done", w("done_problem"), w(f"problem_next_{what}"), _LEADS_ON[what])
    return Message("done", w(f"done_{name}"))
