"""The same door before what is answered without Flask: streams, and whatever else stands in ASGI."""

import asyncio
from typing import Any

from display.access.guard import Carried, Guard
from display.access.rules import Need, may
from orchestrator.ports.access import Caller
from orchestrator.ports.event_log import LogUnavailable


async def caller_of(guard: Guard, scope: Any) -> Caller | None:
    """Who calls; none if nobody we know. Looks in a thread, for the loop may not wait for a disk.

    Raises:
        LogUnavailable: it cannot be looked up.
    """
    return await asyncio.to_thread(guard.caller, Carried.of_scope(scope))


async def turned_away(guard: Guard, scope: Any, need: Need = Need.LOOK) -> tuple[int, str]:
    """Why a request is not answered: a status and a sentence; status 0 lets it in."""
    carried = Carried.of_scope(scope)
    try:
        caller = await asyncio.to_thread(guard.caller, carried)
    except LogUnavailable:
        return 503, "It cannot be looked up just now who may come in: try again."
    if may(caller, need):
        return 0, ""
    reason = "role" if caller is not None else "bad token"
    if caller is not None or carried.anything:
        what = f"{scope.get('method', 'GET')} {scope['path']}"[:120]
        await asyncio.to_thread(guard.notes.refused, carried.source, caller, what, reason)
    if caller is None:
        return 401, "This screen is not paired: open /pair on it."
    return 403, "This caller may not."
