"""What people do beside the food: see alarms, decide about plans and lots, bring machines back."""

from typing import Final, Literal

from orchestrator.core.commands import (
    AcknowledgeAlarm,
    ConfirmWashed,
    DecideLot,
    DecidePlan,
    EnterTemperature,
    MachineBack,
)
from orchestrator.core.deviations import open_deviations, undecided
from orchestrator.core.deviations.standing import held
from orchestrator.core.ids import AlarmId, CrewId, EquipmentId, LotCode, SupplyLotId
from orchestrator.core.kitchen_commands import ChangeKitchen
from orchestrator.core.lot_commands import AnswerLot, CloseDeviation, TakeAction
from orchestrator.core.models import PlannedTask
from orchestrator.core.models.alarm import AlarmKind, AlarmStatus
from orchestrator.core.models.deviation import PlaceAnswer
from orchestrator.core.quantities import Quantity
from orchestrator.core.state import LotStatus, TaskStatus
from orchestrator.core.stock_commands import MeasureIngredient, ReceiveDelivery
from orchestrator.core.views.receiving import receiving_view
from orchestrator.simulator.closing import closing_count
from orchestrator.simulator.people import Look, People

_HARMLESS: Final = ("quality", "machine", "other")
"""What `ReportProblem` may name and a look and a taste can settle; a held lot's reason begins with it."""


_AND_A_LITTLE: Final = 1.1
_MOST_TRIES: Final = 3


def duties(crew: People, look: Look) -> None:
    """All that is due now."""
    person = crew.anyone(look.now)
    if person is None:
        return
    _machines(crew, look, person)
    _alarms(crew, look, person)
    _proposal(crew, look)
    _held_lots(crew, look)
    _lots_asked_about(crew, look, person)
    _ended(crew, look)
    _past_dates(crew, look, person)
    _orders_undecided(crew, look)
    _washes(crew, look, person)
    _deliveries(crew, look, person)
    closing_count(crew, look)


def _washes(crew: People, look: Look, person: CrewId) -> None:
    """Whoever is there has washed the probe, and says so when the screen asks."""
    for asked in tuple(look.state.probes.asked.values()):
        about = f"washed {asked.probe} {asked.at:%d%H%M}"
        if crew.noticed(look, about, 1, 5):
            name = crew.command_id(look.now, "washed", asked.probe)
            crew.submit(look, ConfirmWashed(command_id=name, person=person, probe=asked.probe), about)


def _deliveries(crew: People, look: Look, person: CrewId) -> None:
    """What is due at the door comes, and whoever is there takes it in: as much as the plan wants, and a little more."""
    kitchen = look.state.kitchen
    coming = [s.ready for s in (kitchen.supplies if kitchen is not None else ()) if s.why == "delivery"]
    if not coming or look.now < min(coming):
        for ready in coming:
            look.wake(ready)
        return
    for expected in receiving_view(look.state, look.now).expected:
        about = f"delivery {expected.name}"
        if expected.supply is None or expected.needed <= 0:
            continue
        if look.now < expected.supply.ready:
            look.wake(expected.supply.ready)
        elif crew.noticed(look, about, 2, 8):
            amount = Quantity(value=round(expected.needed * _AND_A_LITTLE, 3), unit=expected.unit)
            command = ReceiveDelivery(
                command_id=crew.command_id(look.now, "receive", expected.name),
                person=person,
                ingredient=expected.name,
                outcome="accepted",
                quantity=amount,
                keep="cold" if expected.cold else "dry",
                celsius=4.0 if expected.cold else None,
            )
            crew.submit(look, command, about)


def _manager(crew: People, look: Look) -> CrewId | None:
    return next((member.id for member in crew.roster.there(look.now) if member.manager), None)


def _machines(crew: People, look: Look, person: CrewId) -> None:
    for equipment, stop in look.state.machines.items():
        if stop.until is None:
            continue
        if look.now < stop.until:
            look.wake(stop.until)
        elif not crew.left_alone(look, f"back {equipment}"):
            name = crew.command_id(look.now, "back", equipment)
            crew.submit(look, MachineBack(command_id=name, person=person, equipment=equipment), f"back {equipment}")


def _alarms(crew: People, look: Look, person: CrewId) -> None:
    unseen = (AlarmStatus.UNACKNOWLEDGED, AlarmStatus.RETURNED_UNACKNOWLEDGED)
    for alarm in tuple(look.state.alarms.values()):
        about = f"alarm {alarm.id} {alarm.escalated_at or alarm.raised_at:%d%H%M}"
        if alarm.status in unseen and crew.noticed(look, about, 3, 12):
            name = crew.command_id(look.now, "seen", alarm.id)
            crew.submit(look, AcknowledgeAlarm(command_id=name, person=person, alarm=alarm.id), about)


def _proposal(crew: People, look: Look) -> None:
    """The manager, or in the evening whoever is there: a cook may decide, and a plan that waits is short-lived."""
    proposal, person = look.state.proposal, _manager(crew, look) or crew.anyone(look.now)
    if proposal is None or person is None or not crew.noticed(look, f"proposal {proposal.seq}", 1, 4):
        return
    name = crew.command_id(look.now, "plan", str(proposal.seq))
    decision = DecidePlan(command_id=name, person=person, proposal=proposal.seq, adopt=True)
    crew.submit(look, decision, f"proposal {proposal.seq}")


def _unharmed(look: Look, lot: LotCode, reason: str) -> bool:
    """Whether a lot was held only for a problem that somebody reported and that concerns neither temperature nor
    time, and nothing else speaks against it."""
    missed = any(lot in alarm.facts.lots and alarm.facts.missed for alarm in look.state.alarms.values())
    doubted = any(
        d.facts.safety and lot in d.lots for d in open_deviations(look.state) if d.facts.cause != "held before"
    )
    return reason.partition(":")[0] in _HARMLESS and not missed and not doubted


def _held_lots(crew: People, look: Look) -> None:
    """A manager never releases what was too long or too warm: in doubt it is thrown away."""
    manager = _manager(crew, look)
    for lot, record in tuple(look.state.lots.items()):
        about = f"lot {lot} {record.since:%d%H%M}"
        if record.status is not LotStatus.ON_HOLD or manager is None or not crew.noticed(look, about, 8, 25):
            continue
        unharmed = _unharmed(look, lot, record.reason)
        decision: Literal["release", "discard"] = "release" if unharmed else "discard"
        reason = "looked at and measured, nothing wrong with it" if unharmed else "not safe to use, thrown away"
        name = crew.command_id(look.now, "lot", lot)
        crew.submit(look, DecideLot(command_id=name, person=manager, lot=lot, decision=decision, reason=reason), about)


def _lots_asked_about(crew: People, look: Look, person: CrewId) -> None:
    """Whoever is there measures what stands in a place that failed; what is still cold enough stays, in doubt it is
    held."""
    for deviation in open_deviations(look.state):
        if not deviation.facts.asked or deviation.facts.equipment is None:
            continue
        for lot in undecided(look.state, deviation):
            about = f"asked {deviation.id} {lot} {deviation.asked_since:%d%H%M}"
            if not held(look.state, lot) and crew.noticed(look, about, 5, 15):
                _measure_and_answer(crew, look, person, (lot, deviation.facts.equipment, about))


def _orders_undecided(crew: People, look: Look) -> None:
    """An order that long past its time is dropped by the manager, who has told the customer."""
    alarm, manager = look.state.alarms.get(AlarmId("orders_undecided:all")), _manager(crew, look)
    known = {order.id: order.due for order in (look.state.kitchen.orders if look.state.kitchen is not None else ())}
    for order in alarm.facts.orders if alarm is not None and alarm.standing else ():
        about = f"undecided {order}"
        over = order not in known or known[order] > look.now
        if manager is None or over or crew.tries.get(about, 0) >= _MOST_TRIES or not crew.noticed(look, about, 20, 60):
            continue
        name = crew.command_id(look.now, "drop", order)
        told = {"command_id": name, "person": manager, "changes": ({"change": "drop order", "order": order},)}
        crew.submit(look, ChangeKitchen.model_validate({**told, "reason": "long past, the customer was told"}), about)


def _past_dates(crew: People, look: Look, person: CrewId) -> None:
    """What is past its use-by is thrown away; past a best-before the manager tastes it and keeps it."""
    for alarm in tuple(look.state.alarms.values()):
        safety = alarm.facts.kind is AlarmKind.PAST_USE_BY
        if not alarm.standing or not (safety or alarm.facts.kind is AlarmKind.PAST_BEST_BEFORE):
            continue
        who = person if safety else _manager(crew, look)
        for one in alarm.facts.past:
            record, about = look.state.lots.get(one.lot), f"past {one.lot} {one.until:%d%H%M}"
            decided = record is not None and record.since >= one.until
            given_up = crew.tries.get(about, 0) >= _MOST_TRIES  # counted away meanwhile: nothing is left to decide
            if who is None or decided or given_up or not crew.noticed(look, about, 10, 40):
                continue
            name = crew.command_id(look.now, "past", one.lot)
            told = {"decision": "discard", "reason": "past its use-by"}
            told = told if safety else {"decision": "release", "reason": "looked at and tasted: still good"}
            command = DecideLot.model_validate({"command_id": name, "person": who, "lot": one.lot, **told})
            crew.submit(look, command, about)


def _measure_and_answer(crew: People, look: Look, person: CrewId, which: tuple[LotCode, EquipmentId, str]) -> None:
    lot, here, about = which
    reading = _by_hand(crew, look, person, lot)
    if reading is not None and about not in crew.tries:
        crew.submit(look, reading, about)
        if held(look.state, lot):
            return
    answer: PlaceAnswer = "kept" if about not in crew.tries else "on hold"
    name = crew.command_id(look.now, "answer", lot)
    told = AnswerLot(command_id=name, person=person, lot=lot, equipment=here, answer=answer)
    crew.submit(look, told, about)


def _by_hand(crew: People, look: Look, person: CrewId, lot: LotCode) -> EnterTemperature | MeasureIngredient | None:
    """What a thermometer shows in the middle of a batch, or of an ingredient on hand; none where it finds nothing."""
    celsius, task = crew.measure_c(lot), _in_hand(look, lot)
    if celsius is None:
        return None
    name = crew.command_id(look.now, "measure", lot)
    if task is not None:
        return EnterTemperature(command_id=name, person=person, task=task.id, celsius=celsius, sure=True)
    kept = SupplyLotId(lot)
    if kept not in look.state.pantry.lots:
        return None
    return MeasureIngredient(command_id=name, person=person, lot=kept, celsius=celsius, sure=True)


def _in_hand(look: Look, lot: LotCode) -> PlannedTask | None:
    tasks = look.state.plan.tasks if look.state.plan is not None else ()
    mine = (task for task in tasks if task.lot == lot)
    return next((task for task in mine if look.state.record(task.id).status is TaskStatus.IN_HAND), None)


def _ended(crew: People, look: Look) -> None:
    """The manager writes down what was done, and closes what is decided."""
    manager = _manager(crew, look)
    for deviation in open_deviations(look.state):
        about = f"close {deviation.id}"
        goes_on = deviation.facts.asked and deviation.until is None
        if manager is None or goes_on or undecided(look.state, deviation) or not crew.noticed(look, about, 5, 30):
            continue
        if not deviation.actions:
            act = "machine seen to" if deviation.facts.equipment is not None else "set apart"
            told = {"command_id": crew.command_id(look.now, "act", deviation.id), "person": manager, "act": act}
            crew.submit(look, TakeAction.model_validate({**told, "deviation": deviation.id}), about)
        name = crew.command_id(look.now, "close", deviation.id)
        crew.submit(look, CloseDeviation(command_id=name, person=manager, deviation=deviation.id), about)
