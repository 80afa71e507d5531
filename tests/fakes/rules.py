"""Rules small enough to follow with a finger, over core's own events and evolution."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from orchestrator.core.commands import (
    AskReplan,
    Command,
    ImportKitchen,
    MachineBack,
    OfferPlan,
    RecordFact,
    RecordInstants,
    StopMachine,
)
from orchestrator.core.effects import AskForPlan, Effect
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import (
    Event,
    FactRecorded,
    InstantsFound,
    KitchenImported,
    MachineReturned,
    MachineStopped,
    PlanAdopted,
    ReplanWanted,
)
from orchestrator.core.evolve import evolve
from orchestrator.core.models import PlanRequest
from orchestrator.core.state import Facts, State
from orchestrator.engine.assess import Assessor
from orchestrator.engine.rules import Rules


@dataclass(frozen=True)
class Decision:
    events: tuple[Event, ...] = ()
    effects: tuple[Effect, ...] = ()


def decide(state: State, command: Command, now: datetime, facts: Facts) -> Decision | Refusal:  # noqa: PLR0911
    """Stops and returns machines; ``broken`` breaks a rule; an unknown machine is refused."""
    match command:
        case ImportKitchen():
            return Decision((KitchenImported(kitchen=command.kitchen),), (AskForPlan("first plan"),))
        case StopMachine() if command.equipment == "broken":
            raise ArithmeticError("a rule is broken")
        case StopMachine() if command.equipment in state.machines:
            return Refusal(code=RefusalCode.WRONG_STATE, thing=command.equipment, status="stopped", remedy="wait")
        case StopMachine():
            stopped = MachineStopped(
                equipment=command.equipment, at=now, until=command.until, reason=command.reason, person=command.person
            )
            return Decision((stopped,))
        case MachineBack():
            return Decision((MachineReturned(equipment=command.equipment, at=now, person=command.person),))
        case AskReplan():
            return Decision((ReplanWanted(at=now, reason=command.reason),), (AskForPlan(command.reason),))
        case OfferPlan():
            return Decision((PlanAdopted(plan=command.plan, at=now, person=None, provisional=command.provisional),))
        case RecordInstants():
            told = {"revision": command.revision, "starts": command.starts, "returns": command.returns}
            return Decision((InstantsFound.model_validate({"at": now, **told}),))
        case RecordFact():
            return Decision((FactRecorded(fact=command.fact, at=now),))
        case _:
            return Decision()


def next_due(state: State, now: datetime) -> datetime | None:
    """When the first stopped machine is expected back."""
    return min((stop.until for stop in state.machines.values() if stop.until is not None), default=None)


def plan_request(state: State, now: datetime) -> PlanRequest:
    assert state.kitchen is not None
    return PlanRequest(kitchen=state.kitchen, now=now, previous=state.plan)


def always_holds(state: State, now: datetime) -> bool:
    """Whatever plan there is can be worked by."""
    return True


def small_rules(plan_holds: Callable[[State, datetime], bool] = always_holds) -> Rules:
    """The rules above."""
    return Rules(decide, evolve, next_due, plan_request, plan_holds, Assessor)  # type: ignore[arg-type]


def stop(command_id: str, equipment: str = "churn", *, until_min: int | None = None) -> StopMachine:
    """A command that makes one event."""
    until = None if until_min is None else datetime.fromisoformat("2026-11-25T06:00Z") + timedelta(minutes=until_min)
    return StopMachine.model_validate({"command_id": command_id, "equipment": equipment, "until": until})
