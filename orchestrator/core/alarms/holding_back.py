"""What the planner may still mend is not told yet: the on-delay of warnings that only the live plan foresees.

When something goes wrong the live plan often runs into a miss that a new plan, seconds later, does not. Told at once,
such a warning came and was over in the same second: seven of the seventeen of three simulated days did. So while a
new plan is wanted it is held back, for `PLAN_PATIENCE` at most, and only where at least the kitchen's own lead time
is left after that: the delay takes nothing from the time in which a miss can be prevented. Source: on-delay as a
means against chattering and fleeting alarms is that of ANSI/ISA-18.2, from memory; the figure is ours.
"""

from collections.abc import Mapping
from datetime import datetime

from orchestrator.core.alarms.look import Look, minutes
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import AlarmFacts, AlarmKind
from orchestrator.core.planning import PLAN_PATIENCE
from orchestrator.core.state import State


def held_until(state: State) -> datetime | None:
    """Until when warnings are held back; none while no plan is wanted."""
    if not state.replan_reason or state.replan_wanted_at is None:
        return None
    return state.replan_wanted_at + PLAN_PATIENCE


def held_back(look: Look, found: Mapping[AlarmId, AlarmFacts]) -> frozenset[AlarmId]:
    """Those of the conditions found that are not told yet; what stands on record is never held back."""
    until = held_until(look.state)
    if until is None or look.now >= until:
        return frozenset()
    return frozenset(a for a, facts in found.items() if not look.standing(a) and _may_wait(look, facts, until))


def _may_wait(look: Look, facts: AlarmFacts, until: datetime) -> bool:
    if facts.missed:
        return False
    if facts.kind is AlarmKind.TASK_LATE:
        return True  # a notice, and a window that is near has an alarm of its own
    expected, limit, warnings = facts.expected_at, facts.limit_at, look.kitchen.kitchen.warnings
    if expected is None or limit is None:
        return False
    if facts.kind is AlarmKind.TOO_SHORT:
        return expected < limit and expected - minutes(warnings.window_lead) >= until
    leads = {AlarmKind.WINDOW_CLOSING: warnings.window_lead, AlarmKind.ORDER_LATE: warnings.order_lead}
    lead = leads.get(facts.kind)
    return lead is not None and expected > limit and limit - minutes(lead) >= until
