"""Refusals and faults as problem details (RFC 9457)."""

from collections.abc import Mapping
from typing import Any

from flask import Response, json
from pydantic import ValidationError

from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.models import Model


class Problem(Model):
    """Problem details after RFC 9457, with ours beside them."""

    type: str
    """A URI reference that names the kind of problem."""
    title: str
    status: int
    detail: str
    thing: str = ""
    """What was refused: the id of a task, lot, alarm, machine or order."""
    present_status: str = ""
    """Where that thing stands now."""
    remedy: str = ""
    """What would be accepted."""
    meant: float | None = None
    """Of a doubtful value: what was most likely meant, in the kitchen's unit; send ``sure`` if it was not."""
    field: str = ""
    """Of a doubtful value, where a command tells several: which; of a ``quantity`` send ``sure_of_amount``, of what was
    counted at a counter ``sure`` beside its quantity."""
    errors: tuple[dict[str, str], ...] = ()
    """Places in the request that are at fault."""


_STATUS: Mapping[RefusalCode, int] = {
    RefusalCode.UNKNOWN: 404,
    RefusalCode.WRONG_STATE: 409,
    RefusalCode.GATE_SHUT: 409,
    RefusalCode.NOT_ALLOWED: 403,
    RefusalCode.BAD_VALUE: 422,
    RefusalCode.DOUBTFUL: 422,
    RefusalCode.STALE: 409,
}


def answer(problem: Problem) -> Response:
    """The problem as a response of its status."""
    body = json.dumps(problem.model_dump(exclude_defaults=True) | {"status": problem.status})
    return Response(body, status=problem.status, content_type="application/problem+json")


def of_refusal(refusal: Refusal) -> Response:
    """A refusal of the kitchen's."""
    return answer(
        Problem(
            type=f"/problems/{refusal.code.value.replace('_', '-')}",
            title=refusal.code.value.replace("_", " ").capitalize(),
            # Not in the table: the record cannot be kept just now, and the same command may be sent again.
            status=_STATUS.get(refusal.code, 503),
            detail=f"{refusal.thing}: {refusal.status}. What would be accepted: {refusal.remedy}.",
            thing=refusal.thing,
            present_status=refusal.status,
            remedy=refusal.remedy,
            meant=refusal.meant,
            field=refusal.field,
        )
    )


def of_validation(error: ValidationError, *, tagged: bool = False, what: str = "body") -> Response:
    """A request that does not fit; every place at fault is named, as a JSON Pointer (RFC 6901).

    Args:
        error: What was found.
        tagged: The body is one of several models; pydantic then puts its kind before each place.
        what: The part of the request that does not fit.
    """
    places = tuple(
        {"pointer": "".join(f"/{part}" for part in fault["loc"][1 if tagged else 0 :]), "detail": fault["msg"]}
        for fault in error.errors(include_url=False, include_input=False, include_context=False)
    )
    again = "send it again, with the same command_id" if what == "body" else "ask again"
    return answer(
        Problem(
            type="/problems/bad-request",
            title="Bad request",
            status=422,
            detail=f"The {what} does not fit the schema; see errors, and /api/v1/openapi.json.",
            remedy=f"Correct the places named and {again}.",
            errors=places,
        )
    )


def simple(status: int, title: str, detail: str, remedy: str = "") -> Response:
    """Any other problem."""
    kind: dict[str, Any] = {"type": "about:blank", "title": title, "status": status, "detail": detail}
    return answer(Problem(**kind, remedy=remedy))
