"""Counts: where what is there differs from the books, the difference goes on record and the plan counts on what is."""

from orchestrator.core.decide.case import Case, Decision, named, with_replan
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import SupplyLotId
from orchestrator.core.material import Account, books
from orchestrator.core.plausible_amounts import count_doubt
from orchestrator.core.quantities import Quantity
from orchestrator.core.stock_commands import CountStock
from orchestrator.core.stock_events import StockCounted

NOTHING = 0.005
"""Litres, kilograms or pieces that a count does not tell apart."""


def count(case: Case, command: CountStock) -> Decision | Refusal:
    """Put a count on record; one that agrees with the books changes nothing."""
    who = named(case, command.lot, "who counted")
    if isinstance(who, Refusal):
        return who
    account = books(case.state).accounts.get(command.lot)
    if account is None or account.how in ("not begun", "in work"):
        status = "no such lot" if account is None else f"it is {account.how}"
        remedy = "a lot that is made, on hand or received"
        return Refusal(code=RefusalCode.UNKNOWN, thing=command.lot, status=status, remedy=remedy)
    counted = command.counted
    if counted.unit is not account.unit or counted.value < 0:
        status = f"it is counted in {account.unit}"
        return Refusal(code=RefusalCode.BAD_VALUE, thing=command.lot, status=status, remedy="an amount in that unit")
    difference = counted.value - account.left
    if abs(difference) <= NOTHING:
        return Decision()
    refusal = _without_reason(command, account) or (
        None if command.sure else count_doubt(command.lot, counted, account.start)
    )
    if refusal is not None:
        return refusal
    event = StockCounted(
        lot=command.lot,
        at=case.at,
        person=who,
        place=command.place,
        books=Quantity(value=account.left, unit=account.unit),
        counted=counted,
        reason=command.reason,
    )
    own = SupplyLotId(command.lot) not in case.state.pantry.lots
    return with_replan(case, (event,), f"{command.lot} was counted: {counted.value:.4g} {counted.unit}" if own else "")


def _without_reason(command: CountStock, account: Account) -> Refusal | None:
    if command.reason.strip():
        return None
    status = f"the books have {account.left:.4g} {account.unit}, {command.counted.value:.4g} are counted"
    remedy = "say why, such as 'tasted', 'spilt', 'brought back from the stall', 'counted anew'"
    return Refusal(code=RefusalCode.BAD_VALUE, thing=command.lot, status=status, remedy=remedy)
