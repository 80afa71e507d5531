"""The checker's rule of ingredients: none is taken before it is there, and no more than is on hand until then."""

from typing import Any

import pytest

from orchestrator.core.check import check
from orchestrator.core.models import Actual, PlanRequest
from tests.core.plan_changes import PLAN, REQUEST
from tests.fakes.kitchens import at, small_kitchen


def _asked(**supply: Any) -> PlanRequest:
    """The sorbet's simmering takes 4 kg of damsons on Wednesday at 10:30."""
    kitchen = small_kitchen(supplies=[{"ingredient": "damsons", **supply}])
    return REQUEST.model_copy(update={"kitchen": kitchen})


def _says(request: PlanRequest) -> list[str]:
    return [violation.says for violation in check(PLAN, request) if violation.rule == "supplies"]


@pytest.mark.parametrize(("why", "word"), [("delivery", "delivered"), ("ripe", "ripe")])
def test_check_ingredient_is_not_taken_before_it_is_there(why: str, word: str) -> None:
    assert _says(_asked(ready=at("Wed 10:30"), why=why)) == []
    says = f"S1.simmer takes damsons at Wed 25 Nov 10:30, which is {word} Wed 25 Nov 10:31"
    assert _says(_asked(ready=at("Wed 10:31"), why=why)) == [says]


def test_check_until_then_no_more_is_taken_than_is_on_hand() -> None:
    assert _says(_asked(ready=at("Thu 10:00"), on_hand="4 kg")) == []
    says = "work before Thu 26 Nov 10:00 takes 4 of damsons, 3.9 kg is there"
    assert _says(_asked(ready=at("Thu 10:00"), on_hand="3.9 kg")) == [says]


def test_check_what_had_begun_when_it_was_counted_took_what_it_has() -> None:
    begun = {"task": "S1.simmer", "status": "in hand", "start": at("Wed 10:30"), "end": at("Wed 11:00")}
    facts = {"now": at("Wed 10:40"), "actuals": (Actual.model_validate({**begun, "equipment": "hob-1"}),)}
    for supply in ({"ready": at("Thu 10:00")}, {"ready": at("Thu 10:00"), "on_hand": "0.1 kg"}):
        assert _says(_asked(**supply).model_copy(update=facts)) == []
