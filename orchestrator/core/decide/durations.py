"""A manager adopts figures learned from finished tasks, or takes them back."""

from orchestrator.core.commands import AdoptDurations, RestoreDurations
from orchestrator.core.decide.case import Case, Decision, named, with_replan
from orchestrator.core.durations import LEAST_SAMPLES, StepKey, figures_of, learned, step_of
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import DurationsAdopted, DurationsRestored
from orchestrator.core.ids import CrewId
from orchestrator.core.models import Duration, Step


def decide_durations(case: Case, command: AdoptDurations | RestoreDurations) -> Decision | Refusal:
    """The learned figures that were shown become the recipe's, or its own hold again. Only a manager may say so;
    batches that have begun keep their minutes."""
    key = (command.recipe, command.step)
    who = _manager(case, key)
    if isinstance(who, Refusal):
        return who
    step = step_of(case.kitchen, key)
    if step is None:
        return _refused(RefusalCode.UNKNOWN, key, "no such step with minutes of its own", "a step that is no stay")
    return _adopt(case, command, who, step) if isinstance(command, AdoptDurations) else _restore(case, command, who)


def _adopt(case: Case, command: AdoptDurations, who: CrewId, step: Step) -> Decision | Refusal:
    key, present = (command.recipe, command.step), figures_of(step)
    assert present is not None  # step_of names no other
    before = case.state.adopted.get(key)
    written = before.written if before is not None else present
    told = learned(case.state.samples.get(key, ()), step, written)
    if told is None:
        count = len(case.state.samples.get(key, ()))
        remedy = f"at least {LEAST_SAMPLES} finished tasks"
        return _refused(RefusalCode.WRONG_STATE, key, f"{count} finished tasks are too few to learn from", remedy)
    if told.figures != command.figures:
        says = f"the figures are {_said(told.figures)} by now"
        return _refused(RefusalCode.STALE, key, says, "look at them again")
    if told.figures == present:
        return _refused(RefusalCode.WRONG_STATE, key, f"its figures are {_said(present)} already", "nothing to do")
    event = DurationsAdopted(
        recipe=command.recipe,
        step=command.step,
        figures=told.figures,
        written=written,
        samples=told.samples,
        at=case.at,
        person=who,
    )
    return with_replan(case, (event,), f"{_name(key)} takes {told.figures.usual} min from now on")


def _restore(case: Case, command: RestoreDurations, who: CrewId) -> Decision | Refusal:
    key = (command.recipe, command.step)
    before = case.state.adopted.get(key)
    if before is None:
        return _refused(RefusalCode.WRONG_STATE, key, "its figures are the recipe's own", "nothing to take back")
    event = DurationsRestored(recipe=command.recipe, step=command.step, written=before.written, at=case.at, person=who)
    return with_replan(case, (event,), f"{_name(key)} takes {before.written.usual} min again")


def _manager(case: Case, key: StepKey) -> CrewId | Refusal:
    who = named(case, _name(key), "to decide about its figures")
    if isinstance(who, Refusal):
        return who
    if not case.known.crew[who].manager:
        managers = ", ".join(member.name for member in case.kitchen.crew if member.manager)
        says = f"{case.known.crew[who].name} does not decide about figures"
        return _refused(RefusalCode.NOT_ALLOWED, key, says, managers or "a manager")
    return who


def _refused(code: RefusalCode, key: StepKey, status: str, remedy: str) -> Refusal:
    return Refusal(code=code, thing=_name(key), status=status, remedy=remedy)


def _name(key: StepKey) -> str:
    return f"{key[0]}.{key[1]}"


def _said(figures: Duration) -> str:
    return f"{figures.shortest}, {figures.usual} and {figures.longest} min"
