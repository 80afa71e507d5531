"""What the door answers before a route is asked, as the OpenAPI document says it: from the table of rules itself."""

from typing import Any, Final

from display.access.rules import ALLOWED, SCOPES, STREAMS, Need, need_of
from orchestrator.ports.access import Scope

_SECURE: Final = {"WWW-Authenticate": {"description": "Bearer (RFC 6750)", "schema": {"type": "string"}}}


def of_route(endpoint: str, problem: dict[str, Any], *, signed: bool = False) -> dict[str, Any]:
    """The answers by which a route of /api/v1 turns callers away.

    Args:
        endpoint: As in `rules.RULES`, without its ``api.``.
        problem: The content of a problem.
        signed: Whether what is handed in may need more than the route does: each command has a line of its own.

    Returns:
        OpenAPI's responses by status; none for a route that is open to everybody.
    """
    return _answers(need_of(f"api.{endpoint}"), problem, signed=signed)


def of_stream() -> dict[str, Any]:
    """The same for the stream of changes, which says it in plain words."""
    return _answers(STREAMS, {"text/plain": {"schema": {"type": "string"}}}, signed=False, headers=False)


def _answers(need: Need, content: dict[str, Any], *, signed: bool, headers: bool = True) -> dict[str, Any]:
    if need is Need.NOTHING:
        return {}
    scopes = [scope.value for scope, good_for in SCOPES.items() if good_for is need or scope is Scope.MANAGE]
    roles = [role.value for role, allowed in ALLOWED.items() if allowed >= need]
    who = f"It needs a token with the scope {' or '.join(scopes)}, or a screen whose role is {' or '.join(roles)}."
    more = " An act in it may need more, or a Personal-Code; another site's page may nothing." if signed else ""
    unknown = {"description": "There is a passphrase, and nobody known asks.", "content": content}
    return {
        "401": unknown | ({"headers": _SECURE} if headers else {}),
        "403": {"description": f"Whoever asks may not. {who}{more}", "content": content},
    }
