"""Simulated people say that they are here as their shift begins, and that they leave, as real ones do at the screen."""

from datetime import datetime

from orchestrator.core.ids import CrewId
from orchestrator.core.models import CrewMember, Shift
from orchestrator.core.recipe_commands import ComeIn, GoHome
from orchestrator.gateway.door import Accepted
from orchestrator.simulator.people import Look, People


def check_in(crew: People, look: Look) -> None:
    """Whoever is on shift and has not said so says it; whoever said so and is no longer at work says that they go."""
    for member in look.state.kitchen.crew if look.state.kitchen is not None else ():
        here = look.state.attendance.since(member.id, look.now) is not None
        shift = _shift(crew, member, look.now)
        if shift is not None and not here:
            about = f"here {member.id} {shift.start:%d%H%M}"
            if about not in crew.tries:
                _say(crew, look, member.id, ComeIn, about)
        elif here and shift is None and member.id not in crew.roster.staying:
            _say(crew, look, member.id, GoHome, f"gone {member.id} {look.now:%d%H%M}")


def _shift(crew: People, member: CrewMember, now: datetime) -> Shift | None:
    """The shift somebody is on, breaks included; none while they are away."""
    away = crew.roster.away.get(member.id)
    if away is not None and away[0] <= now < away[1]:
        return None
    return next((shift for shift in member.shifts if shift.start <= now < shift.end), None)


def _say(crew: People, look: Look, who: CrewId, kind: type[ComeIn] | type[GoHome], about: str) -> None:
    """Said once: nothing in the kitchen hangs on it, so what is refused is not tried again."""
    crew.tries[about] = 1
    name = crew.command_id(look.now, "says", about)
    if isinstance(crew.gateway.submit(kind(command_id=name, person=who)), Accepted):
        crew.after_act()
        look.state = crew.gateway.snapshot().state
