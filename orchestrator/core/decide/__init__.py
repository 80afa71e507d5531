"""What follows from a command: events to put on record and effects, or a refusal. Pure; `now` is given."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import assert_never

from orchestrator.core.alarms import Watched, watch
from orchestrator.core.calls import due_calls
from orchestrator.core.clock_commands import RecordClock
from orchestrator.core.commands import (
    AcknowledgeAlarm,
    AdoptDurations,
    AskReplan,
    Command,
    DecideLot,
    DecidePlan,
    EnterTemperature,
    EnterWeight,
    ExtendTask,
    FinishTask,
    FinishTray,
    HoldInPlace,
    ImportKitchen,
    LetMove,
    MachineBack,
    OfferPlan,
    RecordCall,
    RecordChannels,
    RecordFact,
    RecordInstants,
    ReportProblem,
    RestoreDurations,
    SendTestCall,
    ShelveAlarm,
    SkipTask,
    StartTask,
    StopMachine,
    TakeCallPlan,
    Tick,
    Undo,
    UnshelveAlarm,
)
from orchestrator.core.decide import (
    alarms,
    calls,
    deviations,
    durations,
    finishing,
    handover,
    holding,
    kitchen,
    looking_through,
    lots,
    lots_in_places,
    machines,
    notes,
    paces,
    plans,
    probes,
    recipes,
    starting,
    stock,
    temperatures,
    ticks,
    tongue,
    weights,
)
from orchestrator.core.decide.case import OFF_PLAN, Case, Decision, enter
from orchestrator.core.decide.undo import undo
from orchestrator.core.deviations import followed
from orchestrator.core.effects import AskForPlan
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import AlarmRaised, Event, Recorded, ReplanWanted
from orchestrator.core.evolve import evolve_decided
from orchestrator.core.handover_commands import HandOver, TakeOver
from orchestrator.core.ids import ProbeId
from orchestrator.core.kitchen_commands import ChangeKitchen, TakeIngredients
from orchestrator.core.lot_commands import AnswerLot, CloseDeviation, LookThrough, PowerCut, TakeAction
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.models import ProbeFact
from orchestrator.core.models.alarm import AlarmKind
from orchestrator.core.pace_commands import RecordPace
from orchestrator.core.plan_index import plan_index
from orchestrator.core.recipe_commands import ComeIn, GoHome, PutDraftAway, RecipeCommand, RecordTrial, WriteDraft
from orchestrator.core.state import State
from orchestrator.core.stock_commands import StockCommand
from orchestrator.core.tongue_commands import ChooseWays, TakeTexts, TongueCommand

_STANDS = timedelta(minutes=30)
"""So long a plan stands before a warning asks for another; a figure of ours."""
_LATE = (AlarmKind.WINDOW_CLOSING, AlarmKind.ORDER_LATE)

_TaskCommand = (
    StartTask
    | FinishTask
    | FinishTray
    | ExtendTask
    | ReportProblem
    | SkipTask
    | EnterTemperature
    | EnterWeight
    | HoldInPlace
    | LetMove
    | Undo
)
_OtherCommand = (
    ChangeKitchen
    | TakeIngredients
    | RecipeCommand
    | TongueCommand
    | AcknowledgeAlarm
    | ShelveAlarm
    | UnshelveAlarm
    | StopMachine
    | MachineBack
    | PowerCut
    | DecideLot
    | TakeAction
    | AnswerLot
    | CloseDeviation
    | LookThrough
    | OfferPlan
    | DecidePlan
    | AskReplan
    | AdoptDurations
    | RestoreDurations
    | RecordFact
    | RecordPace
    | RecordClock
    | RecordInstants
    | SendTestCall
    | RecordCall
    | TakeCallPlan
    | RecordChannels
    | HandOver
    | TakeOver
    | Tick
)


def decide(state: State, command: Command, now: datetime, facts: Mapping[ProbeId, ProbeFact]) -> Decision | Refusal:
    """Carry out a command.

    Args:
        state: Everything that is known.
        command: What is asked; one that was carried out before changes nothing (see `State.seen`).
        now: The present instant, aware, UTC.
        facts: The latest fact of every probe.

    Returns:
        Events in order, alarms and calls that they lead to included, and effects; or why nothing is done.
    """
    if command.command_id in state.seen:
        return Decision()
    if isinstance(command, RecordFact):
        facts = {**facts, command.fact.probe: command.fact}
    case = enter(state, command, now, facts)
    outcome = case if isinstance(case, Refusal) else _carry_out(case, command)
    if isinstance(outcome, Refusal):
        return outcome
    return _with_calls(state, command, now, _with_alarms(state, command, now, facts, outcome))


def _leads_to(state: State, command: Command, now: datetime, events: tuple[Event, ...]) -> State:
    """The state after events that are about to be put on record."""
    for event in events:
        recorded = Recorded(seq=state.seq + 1, at=now, command_id=command.command_id, event=event)
        state = evolve_decided(state, recorded)
    return state


def _with_calls(state: State, command: Command, now: datetime, outcome: Decision) -> Decision:
    """Who is called because of it, or because time has passed."""
    kitchen = state.kitchen
    if kitchen is None or not (kitchen.calls.people or isinstance(command, TakeCallPlan)):
        return outcome
    made = due_calls(_leads_to(state, command, now, outcome.events), now)
    return Decision((*outcome.events, *made), outcome.effects)


def _with_alarms(
    state: State, command: Command, now: datetime, facts: Mapping[ProbeId, ProbeFact], outcome: Decision
) -> Decision:
    """What the alarms make of the state that the events lead to."""
    leads_to, further = followed(state, outcome.events, command, now, facts)
    outcome = _with_further(outcome, further, now)
    seen = watch(leads_to, facts, now)
    foreseen = _foreseen(seen)
    decided = isinstance(command, OfferPlan | DecidePlan)  # what a new plan foresees, the planner knew
    asked = foreseen == leads_to.replan_reason
    stands = _young(leads_to, now) and not _pulled_forward(state, command, now)
    if not foreseen or asked or outcome.effects or decided or stands:
        return Decision((*outcome.events, *seen.events), outcome.effects)
    wanted = ReplanWanted(at=now, reason=foreseen)
    # Without what the new plan may still mend.
    told = watch(_leads_to(leads_to, command, now, (wanted,)), facts, now).events
    return Decision((*outcome.events, wanted, *told), (AskForPlan(foreseen),))


def _with_further(outcome: Decision, further: tuple[Event, ...], now: datetime) -> Decision:
    """What follows for lots; another plan is wanted where more went on hold than was known when one was asked for."""
    held = next((event.lot for event in further if isinstance(event, LotHeld)), None)
    if held is None or outcome.effects:
        return Decision((*outcome.events, *further), outcome.effects)
    reason = f"lot {held} went on hold"
    return Decision((*outcome.events, *further, ReplanWanted(at=now, reason=reason)), (AskForPlan(reason),))


def _young(state: State, now: datetime) -> bool:
    """Whether the present plan is too young to be asked for anew because of a warning alone: while somebody is late,
    a plan that follows every few minutes only hides that, and moves what people have just read."""
    return state.adopted_at is not None and now - state.adopted_at < _STANDS


def _pulled_forward(state: State, command: Command, now: datetime) -> bool:
    """Whether a cook starts something well before its time: what must follow soon is brought forward with it at once,
    for the screen said that it may start now, and a warning would be the answer to that."""
    if not isinstance(command, StartTask) or state.plan is None:
        return False
    task = plan_index(state.plan).tasks.get(command.task)
    return task is not None and now <= task.start - OFF_PLAN


def _foreseen(seen: Watched) -> str:
    """The miss that the live plan runs into, as a reason for a new plan: a minute off plan moves no end by five,
    and is enough to miss a window. Empty when no new warning is about the plan."""
    raised = [event.facts for event in seen.events if isinstance(event, AlarmRaised)]
    for facts in (*raised, *seen.held):
        if facts.missed or facts.expected_at is None or facts.limit_at is None:
            continue
        late = facts.kind in _LATE and facts.expected_at > facts.limit_at
        early = facts.kind is AlarmKind.TOO_SHORT and facts.expected_at < facts.limit_at
        if late or early:
            return f"{facts.task or facts.orders[0]} would be {'late' if late else 'early'}"
    return ""


def _carry_out(case: Case, command: Command) -> Decision | Refusal:
    if isinstance(command, ImportKitchen):
        return plans.import_kitchen(case, command)
    if case.state.kitchen is None:
        return Refusal(
            code=RefusalCode.UNKNOWN, thing="kitchen", status="none has been imported", remedy="import a kitchen first"
        )
    if isinstance(command, _TaskCommand):
        return _on_task(case, command)
    if isinstance(command, probes.ProbeCommand):
        return probes.on_probe(case, command)
    if isinstance(command, StockCommand):
        return stock.on_stock(case, command)
    return _on_rest(case, command)


def _on_task(case: Case, command: _TaskCommand) -> Decision | Refusal:  # noqa: PLR0911 - a table of acts
    match command:
        case StartTask():
            return starting.start(case, command)
        case FinishTask():
            return finishing.finish(case, command)
        case SkipTask():
            return finishing.skip(case, command)
        case FinishTray():
            return notes.tray(case, command)
        case ExtendTask():
            return notes.extend(case, command)
        case ReportProblem():
            return notes.problem(case, command)
        case EnterTemperature():
            return notes.temperature(case, command)
        case EnterWeight():
            return weights.weigh(case, command)
        case HoldInPlace() | LetMove():
            return holding.hold(case, command)
        case Undo():
            return undo(case, command)
        case _:
            assert_never(command)


def _on_lot(
    case: Case, command: DecideLot | AnswerLot | TakeAction | CloseDeviation | LookThrough
) -> Decision | Refusal:
    match command:
        case DecideLot():
            return lots.decide_lot(case, command)
        case LookThrough():
            return looking_through.look_through(case, command)
        case AnswerLot():
            return lots_in_places.answer_lot(case, command)
        case TakeAction() | CloseDeviation():
            return deviations.on_deviation(case, command)
        case _:
            assert_never(command)


def _on_rest(case: Case, command: _OtherCommand) -> Decision | Refusal:  # noqa: PLR0911, PLR0912 - a table of acts
    match command:
        case ChangeKitchen():
            return kitchen.change_kitchen(case, command)
        case TakeIngredients():
            return kitchen.take_ingredients(case, command)
        case ChooseWays() | TakeTexts():
            return tongue.on_tongue(case, command)
        case WriteDraft() | RecordTrial() | PutDraftAway() | ComeIn() | GoHome():
            return recipes.on_recipes(case, command)
        case AcknowledgeAlarm():
            return alarms.acknowledge(case, command)
        case ShelveAlarm():
            return alarms.shelve(case, command)
        case UnshelveAlarm():
            return alarms.unshelve(case, command)
        case StopMachine():
            return machines.stop(case, command)
        case MachineBack():
            return machines.back(case, command)
        case PowerCut():
            return machines.power_cut(case, command)
        case DecideLot() | AnswerLot() | TakeAction() | CloseDeviation() | LookThrough():
            return _on_lot(case, command)
        case OfferPlan():
            return plans.offer(case, command)
        case DecidePlan():
            return plans.decide_plan(case, command)
        case AskReplan():
            return plans.replan_asked(case, command)
        case RecordInstants():
            return plans.record_instants(case, command)
        case AdoptDurations() | RestoreDurations():
            return durations.decide_durations(case, command)
        case RecordFact():
            return temperatures.record_fact(case, command)
        case RecordPace():
            return paces.record_pace(case, command)
        case SendTestCall() | RecordCall() | TakeCallPlan() | RecordChannels():
            return calls.on_calls(case, command)
        case HandOver() | TakeOver():
            return handover.on_handover(case, command)
        case RecordClock():
            return ticks.clock_set(case, command)
        case Tick():
            return ticks.tick(case)
        case _:
            assert_never(command)


__all__ = ["Decision", "decide"]
