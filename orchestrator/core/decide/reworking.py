"""Rework: food that was decided about goes into a batch, with all its allergens and its date along."""

from datetime import datetime

from orchestrator.core.allergens import stock_allergens
from orchestrator.core.by_products import pantry_allergens
from orchestrator.core.decide.case import Case, Decision, named, with_replan
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import LotCode, SupplyLotId, TaskId
from orchestrator.core.left_overs_in import left_overs_in
from orchestrator.core.lives import Clocks
from orchestrator.core.material import Account, batch_of, books
from orchestrator.core.models import Batch
from orchestrator.core.state import LotStatus
from orchestrator.core.stock_commands import ReworkInto
from orchestrator.core.stock_events import LotReworked


def rework(case: Case, command: ReworkInto) -> Decision | Refusal:
    """It goes in, and labels, clean-downs and dates of the batch, and of what is made from it, follow."""
    who = named(case, command.lot, "who reworks it")
    if isinstance(who, Refusal):
        return who
    accounts = books(case.state).accounts
    account, batch = accounts.get(command.lot), _target(case, accounts.get(command.into), command.into)
    refusal = _may_go(case, command, account)
    if refusal is not None:
        return refusal
    if isinstance(batch, Refusal):
        return batch
    allergens, until = lot_allergens(case, command.lot), use_by(case, command.lot)
    if until is not None and until <= case.at:
        status, remedy = f"it was to be used by {case.clock(until)}", "discard it"
        return Refusal(code=RefusalCode.NOT_ALLOWED, thing=command.lot, status=status, remedy=remedy)
    added = tuple(a for a in allergens if a not in batch.allergens)
    managers = [member.name for member in case.kitchen.crew if member.manager]
    if added and managers and not case.known.crew[who].manager:
        status = f"it brings {', '.join(added)} into {batch.lot}"
        remedy = f"a batch that has them, or ask {' or '.join(managers)}: labels and clean-downs change"
        return Refusal(code=RefusalCode.NOT_ALLOWED, thing=command.lot, status=status, remedy=remedy)
    event = LotReworked(
        lot=command.lot,
        into=command.into,
        quantity=command.quantity,
        at=case.at,
        person=who,
        allergens=allergens,
        added=added,
        use_by=until,
        reason=command.reason,
    )
    return with_replan(case, (event,), f"{command.lot} was reworked into {command.into}")


def _may_go(case: Case, command: ReworkInto, account: Account | None) -> Refusal | None:
    record = case.state.lots.get(command.lot)
    if account is None or record is None or record.status is not LotStatus.REWORK:
        status = "no such lot" if account is None else "nobody has decided to rework it"
        remedy = "a lot on hold, decided to be reworked"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=command.lot, status=status, remedy=remedy)
    amount = command.quantity
    if amount.unit is not account.unit or not 0 < amount.value <= account.left + 1e-6:
        status = f"{account.left:.4g} {account.unit} of it are left"
        remedy = f"an amount above 0 and no more than that, in {account.unit}"
        return Refusal(code=RefusalCode.BAD_VALUE, thing=command.lot, status=status, remedy=remedy)
    return None


def _target(case: Case, account: Account | None, into: LotCode) -> Batch | Refusal:
    """A batch in work: one that is planned only may be given up, and one that is made has its label."""
    batch, record = batch_of(case.state, into), case.state.lots.get(into)
    shut = record is not None and record.status is not LotStatus.FREE
    if account is not None and batch is not None and account.how == "in work" and not shut:
        return batch
    status = "no such batch" if account is None or batch is None else "on hold or gone" if shut else account.how
    return Refusal(code=RefusalCode.WRONG_STATE, thing=into, status=status, remedy="a batch that is being made")


def lot_allergens(case: Case, lot: LotCode) -> tuple[str, ...]:
    """All allergens of a lot."""
    batch, stock = batch_of(case.state, lot), case.known.stock.get(lot)
    kept = case.state.pantry.lots.get(SupplyLotId(lot))
    if kept is not None:
        return pantry_allergens(case.state, kept)
    if batch is not None:
        return tuple(sorted(batch.allergens))
    return tuple(sorted(stock_allergens(case.known.recipes, stock))) if stock is not None else ()


def use_by(case: Case, lot: LotCode) -> datetime | None:
    """By when a lot must be used, as it is known now; freezing pauses, the date stays."""
    kept = case.state.pantry.lots.get(SupplyLotId(lot))
    if kept is not None:
        return kept.use_by
    if case.plan is None:
        return None

    def ended(task: TaskId) -> datetime | None:
        return case.state.record(task).finished_at

    def started(task: TaskId) -> datetime | None:
        return case.state.record(task).started_at

    return Clocks(case.plan, case.kitchen, ended, started, left_overs_in(case.state)).use_by(lot)
