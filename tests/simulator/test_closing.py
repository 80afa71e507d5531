"""The closing count of simulated people."""

from dataclasses import replace
from datetime import timedelta

from orchestrator.core.kitchen_commands import ChangeKitchen
from orchestrator.core.models.change import CloseCounter
from orchestrator.core.models.demand import ParLevel
from tests.fakes.kitchens import at
from tests.simulator.test_crew import crew_at, door_at, go_through

PARS = [
    {"station": "counter", "product": "basil-custard", "quantity": "6 L", "by": "10:00"},
    {"station": "counter", "product": "damson-sorbet", "quantity": "4 L", "by": "10:00"},
]


def test_last_to_go_counts_once_before_they_go_and_leaves_less_than_the_par() -> None:
    door = door_at("Wed 19:00")
    kitchen = door.state.kitchen
    assert kitchen is not None
    door.state = replace(
        door.state, kitchen=kitchen.model_copy(update={"par_levels": tuple(map(ParLevel.model_validate, PARS))})
    )
    ends = max(s.end for m in kitchen.crew for s in m.shifts if s.start.date() == door.now.date())
    go_through(door, crew_at(door), ends + timedelta(hours=1))
    (told,) = door.of(ChangeKitchen)
    assert told.person in {m.id for m in kitchen.crew for s in m.shifts if s.end == ends}
    (count,) = told.changes
    assert isinstance(count, CloseCounter)
    assert [one.product for one in count.counts] == ["basil-custard", "damson-sorbet"]
    for one, par in zip(count.counts, (6.0, 4.0), strict=True):
        assert 0.2 * par - 0.05 <= one.quantity.value <= 0.7 * par + 0.05


def test_kitchen_without_par_levels_counts_nothing() -> None:
    door = door_at("Wed 19:00")
    go_through(door, crew_at(door), at("Thu 06:00"))
    assert door.of(ChangeKitchen) == []
