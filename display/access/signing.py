"""Before a command is handed in: may this caller, and where it is a critical sign-off, whose personal code is it."""

from math import ceil
from typing import Final

from flask import current_app, g, request

from display.access.guard import GUARD, Guard
from display.access.rules import may, need_of_command
from display.access.slowly import tried
from orchestrator.core.commands import ApplyOffset as Offset
from orchestrator.core.commands import Command, DecideLot, FinishTask, StartTask
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CrewId
from orchestrator.core.lot_commands import CloseDeviation, LookThrough
from orchestrator.core.stock_commands import ReceiveDelivery, ReplaceIngredient
from orchestrator.gateway.door import Gateway, Outcome
from orchestrator.ports.access import AccessStore, Caller

CODE_FIELD: Final = "personal_code"
CODE_HEADER: Final = "Personal-Code"
"""For programs."""
SIGN_OFF: Final = "sign-off"
"""What a refusal is about when a personal code is wanted: it is asked for."""
NO_CODE: Final = "personal code"
"""What a refusal is about when asking for one is of no use."""
RIGHTS: Final = "rights"
"""What a refusal is about when this screen may not."""


def critical(command: Command) -> bool:
    """Whether it is a sign-off for which somebody answers in person, and which another must not give in their name.

    Food that comes back into use, a gate or target passed over, a deviation closed, a record looked through, a
    probe's figures changed, what came too warm taken in, another ingredient with allergens.
    """
    match command:
        case DecideLot(decision=decision):
            return decision != "discard"
        case StartTask(override_reason=reason) | FinishTask(override_reason=reason):
            return bool(reason)
        case ReceiveDelivery(outcome=outcome, reason=reason):
            return outcome == "accepted" and bool(reason)
        case ReplaceIngredient(allergens=allergens):
            return bool(allergens)
        case CloseDeviation() | LookThrough() | Offset():
            return True
        case _:
            return False


def hand_in(gateway: Gateway, command: Command) -> Outcome:
    """Hand a command of this request in, unless its caller may not, or a personal code is missing.

    Raises:
        TimeoutError: not durable in time.
        LogUnavailable: nobody's code can be looked up.
    """
    return _refused(command) or gateway.submit(command)


def _refused(command: Command) -> Refusal | None:
    caller: Caller | None = g.caller
    guard: Guard = current_app.extensions[GUARD]
    if not may(caller, need_of_command(command)):
        if caller is not None and caller.kind == "token":
            _note(guard, command, "scope")
            return _refusal(RIGHTS, "this token may not", "make one with the scope for it, under Access")
        _note(guard, command, "role")
        return _refusal(RIGHTS, "this screen may not", "sign in as manager")
    if guard.store is None or not critical(command) or not guard.codes_wanted():
        return None
    return _unsigned(guard, guard.store, command)


def _unsigned(guard: Guard, store: AccessStore, command: Command) -> Refusal | None:
    who, typed = command.person, request.form.get(CODE_FIELD) or request.headers.get(CODE_HEADER, "")
    if who is None:
        return None  # core refuses what nobody in particular did
    if who not in store.codes():
        remedy = "the manager gives them one under Access; until then somebody else signs"
        return _refusal(NO_CODE, f"{_named(who)} has no personal code", remedy)
    if not typed:
        return _refusal(SIGN_OFF, f"this needs the personal code of {_named(who)}", "type it and send it again")
    return _tried(guard, store, command, who, typed[:20])


def _tried(guard: Guard, store: AccessStore, command: Command, who: CrewId, typed: str) -> Refusal | None:
    found = tried(guard, guard.personal, who, lambda: store.is_code(who, typed), known=True)
    if found.right:
        return None
    if found.wait_s:
        _note(guard, command, "rate limit")
        remedy = f"wait {ceil(found.wait_s)} s; others can sign meanwhile"
        return _refusal(NO_CODE, f"too many wrong codes for {_named(who)}", remedy)
    _note(guard, command, "wrong code")
    remedy = "type it and send it again; if it is forgotten, the manager gives another under Access"
    return _refusal(SIGN_OFF, f"that is not the personal code of {_named(who)}", remedy)


def _refusal(thing: str, status: str, remedy: str) -> Refusal:
    return Refusal(code=RefusalCode.NOT_ALLOWED, thing=thing, status=status, remedy=remedy)


def _named(who: CrewId) -> str:
    from display.request import showing

    return showing().name_of(who) or who


def _note(guard: Guard, command: Command, reason: str) -> None:
    what = f"{command.kind} as {command.person}" if command.person else command.kind
    guard.notes.refused(request.remote_addr or "", g.caller, what[:120], reason)
