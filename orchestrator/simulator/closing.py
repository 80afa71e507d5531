"""The closing count: whoever is the last to go counts what is left at each counter that has par levels."""

from datetime import datetime, timedelta
from typing import Final

from orchestrator.core.ids import CrewId, StationId
from orchestrator.core.kitchen_commands import ChangeKitchen
from orchestrator.core.models import Kitchen
from orchestrator.core.models.change import CloseCounter
from orchestrator.core.models.demand import Counted
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.simulator.people import Look, People

_BEFORE_GOING: Final = timedelta(minutes=20)
_LEAST_LEFT: Final = 0.2
_MOST_LEFT: Final = 0.7
"""Of the par: what a day at a counter leaves; figures of ours."""
_STEPS: Final = {Unit.LITRE: 0.1, Unit.KILOGRAM: 0.1}
"""To what people read a tub; pieces and trays are counted."""


def closing_count(crew: People, look: Look) -> None:
    """Once an evening and counter. What is missing is for a manager to order: nobody is asked to make it yet."""
    kitchen = look.state.kitchen
    last = _last_to_go(kitchen, look.now) if kitchen is not None and kitchen.par_levels else None
    if kitchen is None or last is None:
        return
    who, leaves = last
    if look.now < leaves - _BEFORE_GOING:
        look.wake(leaves - _BEFORE_GOING)
        return
    if who not in [member.id for member in crew.roster.there(look.now)]:
        return
    for station in dict.fromkeys(par.station for par in kitchen.par_levels):
        about = f"closing count {station} {leaves:%d}"
        if about in crew.tries or crew.left_alone(look, about):
            continue
        counts = _left(crew, kitchen, station, about)
        name = crew.command_id(look.now, "counts", str(station))
        count = CloseCounter(station=station, counts=counts)
        crew.submit(look, ChangeKitchen(command_id=name, person=who, changes=(count,)), about)
        crew.tries[about] = 1


def _last_to_go(kitchen: Kitchen, now: datetime) -> tuple[CrewId, datetime] | None:
    """Who goes last on this day of the kitchen's clock, and when; none on a day off, or once they have gone."""
    day = kitchen.local(now).date()
    shifts = [(s.end, m.id) for m in kitchen.crew for s in m.shifts if kitchen.local(s.start).date() == day]
    end, who = max(shifts, default=(now, None))
    return None if who is None or end <= now else (who, end)


def _left(crew: People, kitchen: Kitchen, station: StationId, about: str) -> tuple[Counted, ...]:
    found = []
    for par in kitchen.par_levels:
        if par.station == station:
            share = crew.draw(f"{about} {par.product}").uniform(_LEAST_LEFT, _MOST_LEFT)
            step = _STEPS.get(par.quantity.unit, 1.0)
            left = Quantity(value=round(par.quantity.value * share / step) * step, unit=par.quantity.unit)
            found.append(Counted(product=par.product, quantity=left))
    return tuple(found)
