"""How somebody reads is theirs at every screen; translations are taken over like prices: nothing is planned anew."""

from typing import Any

from orchestrator.core.models.tongue import Texts, Ways
from orchestrator.core.tongue_events import TextsTaken, WaysChosen
from tests.core.script import Script, in_a_planned_kitchen
from tests.fakes.kitchens import at

WAYS: dict[str, Any] = {"language": "es", "clock": "12"}


def test_choice_of_a_person_is_on_record_once_and_theirs_alone() -> None:
    script = in_a_planned_kitchen()
    events = script.give("Wed 07:00", "choose_ways", person="early-cook", ways=WAYS)
    assert events == (WaysChosen(person="early-cook", ways=Ways(**WAYS), at=at("Wed 07:00")),)
    assert script.give("Wed 07:01", "choose_ways", person="early-cook", ways=WAYS) == ()
    assert script.state.kitchen is not None
    assert {m.id: m.ways for m in script.state.kitchen.crew if m.ways != Ways()} == {"early-cook": Ways(**WAYS)}


def test_nobody_in_particular_cannot_choose_for_a_person() -> None:
    assert in_a_planned_kitchen().refused("Wed 07:00", "choose_ways", ways=WAYS).remedy == "say who you are"


def test_translations_are_taken_over_once_and_ask_for_no_plan() -> None:
    script: Script = in_a_planned_kitchen()
    texts = (Texts(language="es", texts={"Fridge": "Nevera"}),)
    told = [one.model_dump() for one in texts]
    assert script.give("Wed 07:00", "take_texts", texts=told) == (TextsTaken(texts=texts, at=at("Wed 07:00")),)
    assert script.last.effects == ()
    assert script.give("Wed 07:01", "take_texts", texts=told) == ()
    assert script.state.kitchen is not None
    assert script.state.kitchen.texts == texts
