"""The OpenAPI 3.1 document, made from the resources and the command models."""

import re
from collections.abc import Mapping
from typing import Any, Final, Literal

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema

from display.api.commands import Accepted, PublicCommand
from display.api.postings import POSTINGS
from display.api.problems import Problem
from display.api.resources import RESOURCES, SEEN, Resource
from display.api.turned_away import of_route, of_stream
from display.api.what_if import WhatIf, WhatIfTold

SECURITY: Final = {
    "token": {
        "type": "http",
        "scheme": "bearer",
        "description": "Made under Access, with its scope: read, orders, act or manage. Wanted with a passphrase only. "
        "Critical sign-offs need the header Personal-Code besides.",
    },
    "screen": {"type": "apiKey", "in": "cookie", "name": "screen", "description": "Of a paired screen"},
}
"""What whoever asks may bring; on a service without a passphrase nothing is needed."""
_REF = "#/components/schemas/{model}"


def document(version: str) -> dict[str, Any]:
    """The whole document."""
    wanted: list[tuple[str, Literal["serialization", "validation"], Any]] = [
        *((r.path, "serialization", TypeAdapter(r.answer).core_schema) for r in RESOURCES),
        ("command", "validation", TypeAdapter(PublicCommand).core_schema),
        *((f"in {one.path}", "validation", TypeAdapter(one.body).core_schema) for one in POSTINGS),
        ("what-if", "validation", TypeAdapter(WhatIf).core_schema),
        ("what-if answer", "serialization", TypeAdapter(WhatIfTold).core_schema),
        ("accepted", "serialization", TypeAdapter(Accepted).core_schema),
        ("problem", "serialization", TypeAdapter(Problem).core_schema),
    ]
    refs, schemas = GenerateJsonSchema(ref_template=_REF).generate_definitions(wanted)
    _without_defaults_of_another_type(schemas)
    _with_kinds_required([refs["command", "validation"], schemas], schemas)
    problem = {"application/problem+json": {"schema": refs["problem", "serialization"]}}
    paths: dict[str, Any] = {r.path: {"get": _reading(r, refs[r.path, "serialization"], problem)} for r in RESOURCES}
    _with_postings(paths, refs, problem)
    paths["/changes"] = {
        "get": {
            "summary": "Live changes, as server-sent events; each carries the number of the latest event",
            "operationId": "changes",
            "responses": {
                "200": {"description": "A stream", "content": {"text/event-stream": {"schema": {"type": "string"}}}},
                **of_stream(),
            },
        }
    }
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Coldwright",
            "version": version,
            "description": "Reads and acts of one kitchen. Verdicts are aids, not legal clearance: local codes decide.",
            "license": {"name": "MIT", "identifier": "MIT"},
        },
        "servers": [{"url": "/api/v1"}],
        "paths": paths,
        "components": {"schemas": schemas, "securitySchemes": SECURITY},
        "security": [{}, {"token": []}, {"screen": []}],
    }


def _without_defaults_of_another_type(part: Any) -> None:
    """Minutes are published as the text that people write, with numbers as defaults: such a default says nothing."""
    if isinstance(part, dict):
        if part.get("type") == "string" and not isinstance(part.get("default", ""), str):
            del part["default"]
        for one in part.values():
            _without_defaults_of_another_type(one)
    elif isinstance(part, list):
        for one in part:
            _without_defaults_of_another_type(one)


def _with_kinds_required(part: Any, schemas: Mapping[Any, Any]) -> None:
    """What tells models apart has a default in Python, but must be said by whoever sends one."""
    if isinstance(part, dict):
        if "discriminator" in part:
            name = part["discriminator"]["propertyName"]
            for model in (schemas[ref.rpartition("/")[2]] for ref in part["discriminator"]["mapping"].values()):
                model["required"] = sorted({*model.get("required", ()), name})
        for one in list(part.values()):
            _with_kinds_required(one, schemas)
    elif isinstance(part, list):
        for one in part:
            _with_kinds_required(one, schemas)


def _with_postings(paths: dict[str, Any], refs: Any, problem: dict[str, Any]) -> None:
    """What is handed in or asked."""
    paths["/commands"] = _posting(
        "commands",
        "submit",
        "Hand in an act; answered once it is on disk",
        f"Repeating a command with the same command_id is harmless. {SEEN}",
        (refs["command", "validation"], refs["accepted", "serialization"], problem),
    )
    seen = {"kind": "acknowledge_alarm", "command_id": "made-by-you-1", "person": "manager", "alarm": "probe-silent:x"}
    told = {"alarmSeen": {"summary": "An alarm, or the call about it, was seen", "value": seen}}
    paths["/commands"]["post"]["requestBody"]["content"]["application/json"]["examples"] = told
    for one in POSTINGS:
        schemas = (refs[f"in {one.path}", "validation"], refs["accepted", "serialization"], problem)
        endpoint = f"new-{one.name}"
        paths[one.path] = paths.get(one.path, {}) | _posting(endpoint, one.name, one.summary, one.says, schemas)
    paths["/what-if"] = _posting(
        "what-if",
        "whatIf",
        "What would the plan be if ...? Scenarios side by side with the present plan",
        "Nothing is adopted or recorded. The answer comes when all of them are planned.",
        (refs["what-if", "validation"], refs["what-if answer", "serialization"], problem),
    )


def _posting(
    endpoint: str, name: str, summary: str, says: str, schemas: tuple[Any, Any, dict[str, Any]]
) -> dict[str, Any]:
    body, answer, problem = schemas
    return {
        "post": {
            "summary": summary,
            "description": says,
            "operationId": name,
            "requestBody": {"required": True, "content": {"application/json": {"schema": body}}},
            "responses": {
                "200": {"description": summary, "content": {"application/json": {"schema": answer}}},
                **of_route(endpoint, problem, signed=True),
                "default": {"description": "Refused, with the remedy", "content": problem},
            },
        }
    }


def _reading(resource: Resource, schema: Any, problem: dict[str, Any]) -> dict[str, Any]:
    in_path = re.findall(r"{(\w+)}", resource.path)
    parameters = [{"name": n, "in": "path", "required": True, "schema": {"type": "string"}} for n in in_path]
    parameters += [_in_query(*field) for field in resource.asked.model_json_schema().get("properties", {}).items()]
    return {
        "summary": resource.summary,
        "operationId": "read" + "".join(w.capitalize() for w in re.findall(r"\w+", resource.path)),
        "parameters": parameters,
        "responses": {
            "200": {"description": resource.summary, "content": {"application/json": {"schema": schema}}},
            **of_route(resource.path.strip("/"), problem),
            "default": {"description": "Not there, or a bad request", "content": problem},
        },
    }


def _in_query(name: str, schema: dict[str, Any]) -> dict[str, Any]:
    """A parameter. That it may be left out is said by its not being required: no text stands for null in an address."""
    description, offered = schema.pop("description"), schema.pop("anyOf", None)
    if offered:
        schema = next(one for one in offered if one.get("type") != "null")
    schema.pop("title", None)
    return {"name": name, "in": "query", "description": description, "schema": schema}
