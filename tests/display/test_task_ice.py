"""How much ice a chill melts, on the details of its task."""

import re

import pytest

from tests.display.test_desk_pages import example, page_of, text_of
from tests.fakes.kitchen_gateway import KitchenGateway


def test_details_of_a_chill_say_how_much_ice_its_batch_melts() -> None:
    state = example()
    assert state.plan is not None
    gateway = KitchenGateway(state, state.plan.start)
    chill = next(t for t in state.plan.tasks if t.step == "chill" and t.recipe == "custard-base")
    scale = next(batch.scale for batch in state.plan.batches if batch.lot == chill.lot)
    # At scale 1: 6.42 kg from 82 to 5 °C melt 4.83 kg, by hand in test_mix_work.
    said = re.search(
        r"([\d.]+) kg of ice melt: ([\d.]+) kg from 82 °C to 5 °C", text_of(page_of(gateway, f"/task/{chill.id}"))
    )
    assert said is not None
    assert [float(number) for number in said.groups()] == pytest.approx([4.83 * scale, 6.418 * scale], rel=0.01)
    weigh = next(t for t in state.plan.tasks if t.step == "weigh")
    assert "ice melt" not in text_of(page_of(gateway, f"/task/{weigh.id}"))
