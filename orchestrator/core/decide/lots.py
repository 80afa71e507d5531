"""What becomes of a lot on hold."""

from orchestrator.core.commands import DecideLot
from orchestrator.core.decide.case import Case, Decision, named, with_replan
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import LotDecided
from orchestrator.core.state import LotStatus


def decide_lot(case: Case, command: DecideLot) -> Decision | Refusal:
    """Release, rework or discard a lot on hold; a named person decides, with a reason."""
    batches = case.threads.batches if case.plan is not None else {}
    record = case.state.lots.get(command.lot)
    if record is None and command.lot not in batches and command.lot not in case.known.stock:
        return Refusal(
            code=RefusalCode.UNKNOWN, thing=command.lot, status="no such lot", remedy="a lot of the present plan"
        )
    who = named(case, command.lot, "to decide")
    if isinstance(who, Refusal):
        return who
    if record is None or record.status is not LotStatus.ON_HOLD:
        status = LotStatus.FREE.value if record is None else record.status.value
        remedy = "put it on hold first, by reporting a problem"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=command.lot, status=status, remedy=remedy)
    event = LotDecided(lot=command.lot, at=case.at, decision=command.decision, reason=command.reason, person=who)
    return with_replan(case, (event,), f"lot {command.lot}: {command.decision}")
