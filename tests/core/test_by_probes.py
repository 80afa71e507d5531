"""Several probes in one food: which of them decides, by facts written by hand."""

from typing import Any

import pytest

from orchestrator.core.by_probes import deciding, heard, met_by_all, worst, worst_verdict
from orchestrator.core.ids import EquipmentId, ProbeId, TaskId
from orchestrator.core.models import ProbeFact
from orchestrator.core.models.limit import LimitId
from orchestrator.core.models.verdict import Kept, LimitVerdict
from tests.fakes.kitchens import at

TASK, BEGUN = TaskId("C1.cook"), at("Wed 08:00")
MET = {"met_at": at("Wed 08:30")}


def said(status: str, degrees: float | None = None, minutes: float | None = None, of: str = "food") -> LimitVerdict:
    return LimitVerdict.model_validate(
        {
            "limit": LimitId("cold-holding"),
            "title": "Keep cold",
            "applied": "FDA Food Code 2022",
            "status": status,
            "of": of,
            "margin_degrees": degrees,
            "margin_min": minutes,
            "tolerance_degrees": 1.0,
        }
    )


def fact(probe: str, **more: Any) -> ProbeFact:
    told = {"equipment": EquipmentId("hob-1"), "task": TASK, "measured_at": at("Wed 08:20"), **more}
    return ProbeFact(probe=ProbeId(probe), **told)


CEILING = {"ceiling_broken_at": at("Wed 08:25")}


@pytest.mark.parametrize(
    ("first", "others"),
    [
        # What is broken decides, also where its target was met, and whatever the verdicts of the others are.
        (CEILING | MET, [MET, {}, {"verdict": said("will not be met in time", -1.0)}]),
        ({"cooling": "first leg missed"}, [{"cooling": "on course"}, {"verdict": said("not judged")}]),
        ({"cooling": "second leg missed", **MET}, [{"cooling": "met", **MET}, {}]),
        # Then the worst verdict, the narrower of two alike, and a target that is not met before one that is.
        ({"verdict": said("not judged")}, [{"verdict": said("not yet")}, {"verdict": said("met")}]),
        ({"verdict": said("not yet", -3.0)}, [{"verdict": said("not yet", -1.0)}, {}]),
        ({}, [MET, {"verdict": said("not yet", -9.0)} | MET]),
    ],
)
def test_probe_with_the_worst_news_decides_in_whatever_order_they_come(
    first: dict[str, Any], others: list[dict[str, Any]]
) -> None:
    facts = [fact("z-worst", **first), *(fact(f"a-{number}", **told) for number, told in enumerate(others))]
    for one in (facts, facts[::-1]):
        found = deciding(one, TASK, BEGUN)
        assert found is not None
        assert found.probe == "z-worst"


def test_of_two_alike_the_first_by_name_decides_so_that_it_does_not_waver() -> None:
    for names in (["a", "b"], ["b", "a"]):
        found = deciding([fact(name) for name in names], TASK, BEGUN)
        assert found is not None
        assert found.probe == "a"


def test_probe_in_other_food_or_not_heard_since_the_start_says_nothing() -> None:
    elsewhere, old = fact("a", task=TaskId("S1.simmer"), **MET), fact("b", measured_at=at("Wed 07:59"))
    silent = fact("c", measured_at=None)
    assert [one.probe for one in heard([elsewhere, old, silent], TASK, BEGUN)] == ["c"]
    assert deciding([elsewhere, old], TASK, BEGUN) is None
    # One that has met its target and fell silent before a start taken back keeps what it said.
    met = fact("b", measured_at=at("Wed 07:59"), **MET)
    assert heard([met], TASK, BEGUN) == [met]


def test_target_is_met_once_every_probe_in_the_food_says_so_and_never_by_none() -> None:
    assert met_by_all([fact("a", **MET), fact("b", **MET)], TASK, BEGUN)
    assert not met_by_all([fact("a", **MET), fact("b")], TASK, BEGUN)
    assert not met_by_all([], TASK, BEGUN)
    assert met_by_all([fact("a", **MET), fact("b", task=TaskId("S1.simmer"))], TASK, BEGUN)


def test_verdict_on_food_comes_before_one_on_air_and_of_several_the_worst() -> None:
    air = said("broken", -4.0, of="air")
    assert worst([]) is None
    assert worst([air]) == air
    assert worst([air, said("met", 1.0)]) == said("met", 1.0)
    kept = [said("broken", -0.5), said("broken", -2.0), said("broken", -2.0, -30.0), said("met", 3.0)]
    assert worst(kept) == kept[2]
    assert worst(kept[::-1]) == kept[2]


def test_verdicts_of_stays_count_beside_those_of_targets() -> None:
    stay = Kept(task=TASK, verdict=said("broken", -1.0))
    other = Kept(task=TaskId("S1.age"), verdict=said("broken", -9.0))
    facts = [fact("a", verdict=said("met", 1.0)), fact("b", task=None, kept=(other, stay))]
    assert worst_verdict(facts, TASK) == stay.verdict
    assert worst_verdict(facts, TaskId("B1.churn")) is None
