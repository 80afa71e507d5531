"""Facts from probes: put on record when they make a difference; a broken critical limit holds the lot."""

from orchestrator.core.commands import RecordFact
from orchestrator.core.decide.case import Case, Decision, with_replan
from orchestrator.core.decide.finishing import hold
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.events import Event, FactRecorded
from orchestrator.core.models import PlannedTask, ProbeFact
from orchestrator.core.planning import expected_end


def record_fact(case: Case, command: RecordFact) -> Decision | Refusal:
    """A fact is recorded when its meaning differs from the last one on record of its probe; or when it was silent in
    between: an alarm of that may stand, and ends so long after the probe was heard again."""
    fact = command.fact
    if fact.probe not in case.known.probes:
        return Refusal(
            code=RefusalCode.UNKNOWN, thing=fact.probe, status="no such probe", remedy="a probe of this kitchen"
        )
    before = case.state.facts.get(fact.probe)
    if before is not None and (before.meaning(), before.heard_since) == (fact.meaning(), fact.heard_since):
        return Decision()
    recorded: Event = FactRecorded(fact=fact, at=case.at)
    task = case.threads.tasks.get(fact.task) if fact.task is not None and case.plan is not None else None
    reason = _broken(case, task, fact, before)
    held = hold(case, task, f"{task.title}: {reason}", case.at) if task is not None and reason else ()
    reason = f"lot {task.lot} went on hold" if task is not None and held else _later(case, task, fact, before)
    return with_replan(case, (recorded, *held), reason)


def _later(case: Case, task: PlannedTask | None, fact: ProbeFact, before: ProbeFact | None) -> str:
    """That a task in hand will end at another time than was planned with, in words; empty when it will not."""
    if task is None or case.state.record(task.id).started_at is None or fact.met_at is not None:
        return ""
    known = before.expected_end if before is not None and before.task == fact.task else None
    usual = expected_end(case.state, task, case.at) if known is None else known
    if fact.expected_end is None or fact.expected_end == known or max(fact.expected_end, usual) <= task.end:
        return ""
    return f"{task.title}: its target is expected {case.clock(fact.expected_end)}"


def _broken(case: Case, task: PlannedTask | None, fact: ProbeFact, before: ProbeFact | None) -> str:
    """The critical limit that this fact newly shows broken; empty when none is."""
    step = case.known.step(task) if task is not None else None
    if step is None or not step.critical:
        return ""
    known = before if before is not None and before.task == fact.task else None
    if fact.ceiling_broken_at is not None and (known is None or known.ceiling_broken_at is None):
        ceiling = step.target.ceiling if step.target is not None else None
        limit = f" of {ceiling:g} °C" if ceiling is not None else ""
        return f"the ceiling{limit} was passed {case.clock(fact.ceiling_broken_at)}"
    said, before_said = fact.verdict, None if known is None else known.verdict
    if said is not None and said.status == "broken" and fact.cooling == "":
        return "" if before_said is not None and before_said.status == "broken" else f"limit broken: {said.title}"
    missed = fact.cooling in ("first leg missed", "second leg missed")
    if missed and (known is None or known.cooling != fact.cooling):
        return f"cooling: {fact.cooling}"
    return ""
