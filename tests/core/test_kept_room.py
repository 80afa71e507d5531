"""Room in the fridge for what steps leave over: from when to when, how much, and never at the cost of the plan."""

from dataclasses import replace

import pytest

from orchestrator.core.ids import EquipmentId, LotCode, TaskId
from orchestrator.core.lot_events import LotDecided
from orchestrator.core.models import KeptRoom
from orchestrator.core.planning import plan_request
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.state import LotStatus
from tests.core.script import Script, in_a_planned_kitchen
from tests.core.test_by_products import WHITES, WHO, cooked, leaving
from tests.fakes.kitchens import at, small_kitchen, with_machine


def kept(script: Script, when: str) -> list[tuple[str, float, str, str, bool]]:
    """Store, room, and the ends on the kitchen's clock."""
    found = plan_request(script.state, at(when)).kept
    return [(one.equipment, one.room, f"{one.start:%a %H:%M}", f"{one.end:%a %H:%M}", one.sure) for one in found]


def test_what_the_plan_will_leave_has_its_room_from_the_end_of_the_step_for_as_long_as_it_keeps() -> None:
    script = in_a_planned_kitchen(recipes=[r.model_dump(mode="json") for r in leaving(small_kitchen(), WHITES)])
    cook = script.state.plan.task(TaskId("C1.cook"))  # type: ignore[union-attr]
    assert f"{cook.end:%a %H:%M}" == "Wed 08:40"
    batch = next(b for b in script.state.plan.batches if b.lot == "C1")  # type: ignore[union-attr]
    assert kept(script, "Wed 07:00") == [("fridge", batch.scale * 1.0, "Wed 08:40", "Fri 08:40", False)]
    # Late: it is left late.
    assert kept(script, "Wed 09:00")[0][2:4] == ("Wed 09:40", "Fri 09:40")


def test_what_stands_there_has_its_room_until_its_date_or_until_it_is_thrown_away_or_eaten() -> None:
    script = cooked()
    assert kept(script, "Wed 09:00") == [("fridge", 1.0, "Wed 09:00", "Fri 07:00", True)]
    script.give("Wed 10:00", "count_stock", lot="C1-left-1", counted="450 g", reason="a meringue", person=WHO)
    assert kept(script, "Wed 10:00") == [("fridge", 0.5, "Wed 10:00", "Fri 07:00", True)]
    assert kept(script, "Fri 07:00") == []
    script.give("Wed 10:10", "decide_lot", lot="C1-left-1", decision="discard", reason="smells", person=WHO)
    decided = [r.event for r in script.log if isinstance(r.event, LotDecided)]
    assert [event.lot for event in decided] == ["C1-left-1"]
    assert script.state.lots[LotCode("C1-left-1")].status is LotStatus.DISCARDED
    assert kept(script, "Wed 10:10") == []


@pytest.mark.parametrize(("free", "room"), [(0.4, 0.4), (0.0, None), (5.0, 1.0)])
def test_only_what_the_plan_so_far_leaves_free_is_kept(free: float, room: float | None) -> None:
    state = cooked().state
    assert state.plan is not None
    assert state.kitchen is not None
    stay = next(task for task in state.plan.tasks if task.id == "C1.age.B1")
    kitchen = with_machine(state.kitchen, "fridge", capacity=Quantity(value=stay.load + free, unit=Unit.LITRE))
    found = plan_request(replace(state, kitchen=kitchen), at("Wed 09:00")).kept
    while_it_ages = [one for one in found if one.start < stay.end and one.end > stay.start]
    assert [one.room for one in while_it_ages] == ([] if room is None else [room])


def test_kitchen_without_by_products_keeps_nothing_free() -> None:
    assert plan_request(in_a_planned_kitchen().state, at("Wed 07:00")).kept == ()
    assert KeptRoom(equipment=EquipmentId("fridge"), start=at("Wed 07:00"), end=at("Wed 08:00"), room=1.0).sure
