"""Another lot of an ingredient than the books took: the record follows what went in, and what may not go in is refused.

A trace is only worth what it says of lots: Regulation (EC) No 178/2002, article 18 (from memory).
"""

from typing import Any

import pytest

from orchestrator.core.errors import RefusalCode
from orchestrator.core.ids import CommandId, LotCode, SupplyLotId, TaskId
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.material import books
from orchestrator.core.stock_events import IngredientUsed
from tests.core.script import Script
from tests.core.stock_script import WHO, at_the_door
from tests.fakes.kitchens import at

COOK = TaskId("C1.cook")


def begun(**milk: Any) -> Script:
    """A second can of milk, in-3, was received; the base is cooking with what is to be used first, in-1."""
    script = at_the_door()
    told = {"ingredient": "whole milk", "quantity": "4 L", "keep": "cold", "celsius": 3.0, "use_by": at("Mon 12:00")}
    script.give("Wed 07:40", "receive_delivery", outcome="accepted", person=WHO, **{**told, **milk})
    script.give("Wed 08:00", "start_task", task=COOK, person=WHO)
    return script


def uses(script: Script) -> set[tuple[str, str, float]]:
    return {(use.ingredient, use.lot, use.quantity.value) for use in script.state.pantry.uses[COOK]}


def test_other_lot_takes_the_place_of_what_the_books_took_and_of_nothing_else() -> None:
    script = begun()
    assert uses(script) == {("whole milk", "in-1", 3.0), ("egg yolk", "in-2", 0.6)}
    (event,) = script.give("Wed 08:05", "use_lot", task=COOK, lot="in-3", person=WHO)
    assert isinstance(event, IngredientUsed)
    assert (event.task, event.person, event.ingredients) == (COOK, WHO, ("whole milk",))
    assert uses(script) == {("whole milk", "in-3", 3.0), ("egg yolk", "in-2", 0.6)}
    left = {lot: script.state.pantry.left(SupplyLotId(lot)) for lot in ("in-1", "in-3")}
    assert left == {"in-1": pytest.approx(6.0), "in-3": pytest.approx(1.0)}
    book = books(script.state)
    assert book.back("C1") == ("in-2", "in-3")
    assert (book.forward("in-1"), book.forward("in-3")) == ((), ("C1",))


def test_lot_with_less_than_it_gave_goes_below_nothing_until_it_is_counted() -> None:
    script = begun(quantity="2 L")
    script.give("Wed 08:05", "use_lot", task=COOK, lot="in-3", person=WHO)
    assert script.state.pantry.left(SupplyLotId("in-3")) == pytest.approx(-1.0)
    script.give("Wed 08:06", "count_stock", lot="in-3", counted="0.5 L", reason="more in the can", person=WHO)
    assert script.state.pantry.left(SupplyLotId("in-3")) == pytest.approx(0.5)


def test_lot_of_what_the_task_does_not_take_is_refused_with_what_it_takes() -> None:
    script = begun()
    script.give("Wed 08:05", "receive_delivery", outcome="accepted", person=WHO, ingredient="damsons", quantity="4 kg")
    refusal = script.refused("Wed 08:06", "use_lot", task=COOK, lot="in-4", person=WHO)
    assert (refusal.code, refusal.status) == (RefusalCode.BAD_VALUE, "it does not take damsons in kg")
    assert refusal.remedy == "a lot of whole milk, egg yolk"


def test_lot_past_its_date_as_the_task_began_is_refused_and_one_that_ran_out_since_is_not() -> None:
    script = begun(use_by=at("Wed 07:50"))
    refusal = script.refused("Wed 08:05", "use_lot", task=COOK, lot="in-3", person=WHO)
    assert (refusal.code, refusal.status) == (RefusalCode.NOT_ALLOWED, "lot in-3 was to be used by Wed 07:50")
    script = begun(use_by=at("Wed 08:03"))
    script.give("Wed 08:05", "use_lot", task=COOK, lot="in-3", person=WHO)
    assert ("whole milk", "in-3", 3.0) in uses(script)


@pytest.mark.parametrize(("decision", "status"), [(None, "on hold"), ("discard", "discarded")])
def test_lot_on_hold_or_thrown_away_is_refused(decision: str | None, status: str) -> None:
    script = begun()
    script.record(CommandId("hold"), (LotHeld(lot=LotCode("in-3"), at=script.now, reason="seal open"),))
    if decision is not None:
        script.give("Wed 08:04", "decide_lot", lot="in-3", decision=decision, reason="sour", person="manager")
    refusal = script.refused("Wed 08:05", "use_lot", task=COOK, lot="in-3", person=WHO)
    assert (refusal.code, refusal.status) == (RefusalCode.NOT_ALLOWED, f"lot in-3 is {status}")
    assert "in-3" not in {lot for _, lot, _ in uses(script)}


def test_books_take_nothing_of_a_lot_on_hold_by_themselves() -> None:
    script = at_the_door()
    script.record(CommandId("hold"), (LotHeld(lot=LotCode("in-1"), at=script.now, reason="seal open"),))
    script.give("Wed 08:00", "start_task", task=COOK, person=WHO)
    assert uses(script) == {("egg yolk", "in-2", 0.6)}
