"""Routes of /api/v1, one a resource, and one for all acts."""

import functools
from collections.abc import Callable
from typing import Any

from flask import Blueprint, Response, request
from pydantic import TypeAdapter, ValidationError

from display.access.signing import hand_in
from display.api import problems
from display.api.commands import PUBLIC_COMMANDS, Accepted
from display.api.openapi import document
from display.api.postings import POSTINGS, Posting
from display.api.reading import NotThere, Refused
from display.api.resources import RESOURCES, Resource
from display.api.what_if import WhatIf, what_if
from orchestrator.core.commands import Command
from orchestrator.core.errors import Refusal
from orchestrator.gateway.door import Gateway

_LARGEST_BODY = 64 * 1024


def api_blueprint(gateway: Gateway, version: str) -> Blueprint:
    """All routes below /api/v1, reading and acting through ``gateway``."""
    api = Blueprint("api", __name__, url_prefix="/api/v1")
    for resource in RESOURCES:
        rule = resource.path.replace("{", "<").replace("}", ">")
        api.add_url_rule(rule, endpoint=resource.path.strip("/"), view_func=_reader(gateway, resource))
    api.add_url_rule("/commands", endpoint="commands", view_func=_submitter(gateway, _command), methods=["POST"])
    for posting in POSTINGS:
        view = _submitter(gateway, _handed(gateway, posting))
        api.add_url_rule(posting.path, endpoint=f"new-{posting.name}", view_func=view, methods=["POST"])
    api.add_url_rule("/what-if", endpoint="what-if", view_func=_asker(gateway), methods=["POST"])

    @functools.cache
    def openapi() -> bytes:
        return TypeAdapter(Any).dump_json(document(version))

    api.add_url_rule("/openapi.json", endpoint="openapi", view_func=lambda: _json(openapi()))
    api.add_url_rule("/<path:elsewhere>", endpoint="elsewhere", view_func=_nowhere)
    return api


def _json(body: bytes) -> Response:
    return Response(body, content_type="application/json")


def _nowhere(elsewhere: str) -> Response:
    return problems.simple(404, "Not found", f"There is no /api/v1/{elsewhere}.", "See /api/v1/openapi.json.")


def _reader(gateway: Gateway, resource: Resource) -> Callable[..., Response]:
    adapter = TypeAdapter(resource.answer)

    def read(**path: str) -> Response:
        try:
            query = resource.asked.model_validate(request.args.to_dict())
            return _json(adapter.dump_json(resource.read(gateway, path, query)))
        except NotThere as error:
            return problems.simple(404, "Not found", str(error))
        except Refused as error:
            return problems.of_refusal(error.refusal)
        except ValidationError as error:
            return problems.of_validation(error, what="query")
        except TimeoutError:
            return problems.simple(503, "Not yet", "The planner gave no answer in time.", "Ask again.")

    return read


def _misfit() -> Response | None:
    """Why a body is not even looked at; none if it is."""
    if request.content_length is None or request.content_length > _LARGEST_BODY:
        return problems.simple(413, "Too large", f"A body has at most {_LARGEST_BODY} bytes and states its length.")
    if request.mimetype != "application/json":
        return problems.simple(415, "Unsupported media type", "It is sent as application/json.")
    return None


def _asker(gateway: Gateway) -> Callable[[], Response]:
    def ask() -> Response:
        misfit = _misfit()
        if misfit is not None:
            return misfit
        try:
            body = WhatIf.model_validate_json(request.get_data())
            return _json(what_if(gateway, body).model_dump_json().encode())
        except ValidationError as error:
            return problems.of_validation(error)
        except Refused as error:
            return problems.of_refusal(error.refusal)
        except NotThere as error:
            return problems.simple(404, "Not found", str(error))
        except TimeoutError:
            return problems.simple(503, "Not yet", "The planner gave no answer in time.", "Ask again.")

    return ask


def _command(body: bytes) -> Command:
    return PUBLIC_COMMANDS.validate_json(body)


def _handed(gateway: Gateway, posting: Posting) -> Callable[[bytes], Command | Refusal]:
    def read(body: bytes) -> Command | Refusal:
        return posting.command(gateway.snapshot(), posting.body.model_validate_json(body))

    return read


def _submitter(gateway: Gateway, read: Callable[[bytes], Command | Refusal]) -> Callable[[], Response]:
    def submit() -> Response:
        misfit = _misfit()
        if misfit is not None:
            return misfit
        try:
            told = read(request.get_data())
            outcome = told if isinstance(told, Refusal) else hand_in(gateway, told)
        except ValidationError as error:
            return problems.of_validation(error, tagged=read is _command)
        except NotThere as error:
            return problems.simple(404, "Not found", str(error))
        except TimeoutError:
            text = "It was not on disk in time."
            return problems.simple(503, "Not yet", text, "Send the same command again; repeating it is harmless.")
        if isinstance(outcome, Refusal):
            return problems.of_refusal(outcome)
        return _json(Accepted(seq=outcome.seq).model_dump_json().encode())

    return submit
