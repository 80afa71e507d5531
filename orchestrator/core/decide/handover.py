"""Handing over a shift and taking over: both by name, and not by the same person."""

from orchestrator.core.decide.case import Case, Decision, named
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.handover import note_of
from orchestrator.core.handover_commands import HandOver, TakeOver
from orchestrator.core.handover_events import ShiftHandedOver, ShiftTakenOver


def on_handover(case: Case, command: HandOver | TakeOver) -> Decision | Refusal:
    """The note goes on record as it is now; or somebody else says that they have read one."""
    who = named(case, "hand-over", "for the hand-over")
    if isinstance(who, Refusal):
        return who
    if isinstance(command, HandOver):
        note = note_of(case.state, case.now, who)
        return Decision((ShiftHandedOver(at=case.at, person=who, text=command.text.strip(), note=note),))
    known = next((one for one in case.state.handovers if one.number == command.handover), None)
    thing = f"hand-over {command.handover}"
    if known is None:
        return Refusal(
            code=RefusalCode.UNKNOWN, thing=thing, status="not among the latest", remedy="load the page again"
        )
    if known.taken_by is not None:
        status = f"{known.taken_by} has taken over already"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=thing, status=status, remedy="nothing more is to be done")
    if known.by == who:
        status = "it was handed over by the same person"
        return Refusal(code=RefusalCode.NOT_ALLOWED, thing=thing, status=status, remedy="somebody else takes over")
    return Decision((ShiftTakenOver(handover=known.number, at=case.at, person=who),))
