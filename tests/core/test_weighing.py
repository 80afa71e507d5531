"""Weights of what simmers down: estimate, refusals, undo."""

import math

import pytest

from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import WeightEntered
from orchestrator.core.models import Duration, Kitchen, Process, Step
from orchestrator.core.pace import expected_by_probes
from orchestrator.core.weighing import reduced
from tests.core.script import Script, in_a_planned_kitchen
from tests.fakes.kitchens import at, small_kitchen

SIMMER = "S1.simmer"


def _step(reduce_to: float, process: Process = Process.REDUCE) -> Step:
    minutes = {"shortest": 30, "usual": 40, "longest": 60}
    fields = {"id": "reduce", "process": process, "title": "Reduce", "duration": minutes, "reduce_to": reduce_to}
    return Step.model_validate(fields)


def _reducing() -> Script:
    """The small kitchen, whose damsons simmer down to three quarters."""
    return in_a_planned_kitchen(recipes=_to(small_kitchen(), 0.75).recipes)


def _to(kitchen: Kitchen, share: float) -> Kitchen:
    recipes = tuple(
        recipe.model_copy(
            update={
                "steps": tuple(
                    s.model_copy(update={"reduce_to": share}) if s.process is Process.SIMMER else s
                    for s in recipe.steps
                )
            }
        )
        for recipe in kitchen.recipes
    )
    return kitchen.model_copy(update={"recipes": recipes})


def test_solids_of_the_exercise_give_the_share_at_which_it_is_done() -> None:
    # Course exercise: 12 to 42 % solids by simmering takes 0.7143 kg of water from each kg, so 0.2857 kg are left.
    share = 12 / 42
    assert share == pytest.approx(1 - 0.7143, abs=5e-5)
    step, minutes = _step(share), Duration(shortest=60, usual=90, longest=150)
    weights = [(at("Wed 08:00"), 7.0), (at("Wed 09:00"), 2.01)]
    found = reduced(step, weights, minutes)
    assert found is not None
    assert (found.wanted_kg, found.reached) == (pytest.approx(2.0), False)
    done = reduced(step, [*weights, (at("Wed 09:02"), 2.0)], minutes)
    assert done is not None
    assert (done.reached, done.arrival) == (True, None)


def test_dried_grain_of_the_exercise_is_reached_at_872_kg() -> None:
    # IRRI Rice Knowledge Bank: 1000 kg at 25 % moisture (wet basis) are 872 kg at 14 %.
    step, minutes = _step(0.75 / 0.86, Process.DEHYDRATE), Duration(shortest=300, usual=480, longest=720)
    wanted = reduced(step, [(at("Wed 08:00"), 1000.0)], minutes)
    assert wanted is not None
    assert math.isclose(wanted.wanted_kg, 872.0, abs_tol=0.1)


def test_one_weight_says_nothing_and_two_give_an_interval() -> None:
    step, minutes = _step(0.75), Duration(shortest=30, usual=40, longest=60)
    weights = [(at("Wed 08:00"), 4.0), (at("Wed 08:15"), 3.66), (at("Wed 08:25"), 3.42)]
    first = reduced(step, weights[:1], minutes)
    assert first is not None
    assert (first.arrival, first.why_none) == (None, "too few readings")
    second, third = reduced(step, weights[:2], minutes), reduced(step, weights, minutes)
    assert second is not None
    assert third is not None
    assert second.arrival is not None
    assert third.arrival is not None
    # 0.42 kg are left, and went at about 23 g a minute: 18 min.
    assert third.arrival.soonest_min < 0.42 / 0.0233 < third.arrival.latest_min
    assert third.arrival.latest_min - third.arrival.soonest_min < second.arrival.latest_min - second.arrival.soonest_min


def test_weight_is_recorded_with_what_it_lets_expect_and_can_be_taken_back() -> None:
    script = _reducing()
    script.give("Wed 08:00", "start_task", task=SIMMER, person="early-cook")
    script.give("Wed 08:02", "enter_weight", task=SIMMER, kilograms=4.0, person="early-cook")
    assert script.of(SIMMER).weight_expected is not None
    assert script.of(SIMMER).weight_expected.likely is None
    events = script.give("Wed 08:20", "enter_weight", task=SIMMER, kilograms=3.9, person="early-cook")
    entered = next(event for event in events if isinstance(event, WeightEntered))
    plan = script.state.plan
    assert plan is not None
    assert expected_by_probes(script.state, plan.task(SIMMER)) == entered.expected_end  # type: ignore[arg-type]
    script.give("Wed 08:21", "undo", act=script.state.acts[-1].seq, person="early-cook")
    assert script.of(SIMMER).weighings == ((at("Wed 08:02"), 4.0),)


def test_weight_that_cannot_be_is_refused() -> None:
    script = _reducing()
    early = script.refused("Wed 07:59", "enter_weight", task=SIMMER, kilograms=4.0, person="early-cook")
    assert (early.code, early.remedy) == (RefusalCode.WRONG_STATE, "start it first")
    script.give("Wed 08:00", "start_task", task=SIMMER, person="early-cook")
    script.give("Wed 08:02", "enter_weight", task=SIMMER, kilograms=4.0, person="early-cook")
    heavier = script.refused("Wed 08:10", "enter_weight", task=SIMMER, kilograms=4.2, person="early-cook")
    assert (heavier.code, heavier.status) == (RefusalCode.BAD_VALUE, "4.2 kg is more than it weighed first, 4 kg")
    script.give("Wed 08:30", "finish_task", task=SIMMER, person="early-cook")
    script.give("Wed 08:31", "start_task", task="C1.cook", person="early-cook")
    other = script.refused("Wed 08:40", "enter_weight", task="C1.cook", kilograms=4.0, person="early-cook")
    assert other.status == "it is not followed by weight"


def test_weight_far_below_where_the_step_is_done_is_asked_about_and_taken_when_somebody_is_sure() -> None:
    script = _reducing()
    script.give("Wed 08:00", "start_task", task=SIMMER, person="early-cook")
    script.give("Wed 08:02", "enter_weight", task=SIMMER, kilograms=4.0, person="early-cook")
    slip = script.refused("Wed 08:20", "enter_weight", task=SIMMER, kilograms=0.39, person="early-cook")
    assert (slip.code, slip.status) == (RefusalCode.DOUBTFUL, "0.39 kg does not fit: it is done at 3.00 kg")
    script.give("Wed 08:20", "enter_weight", task=SIMMER, kilograms=0.39, person="early-cook", sure=True)
    assert script.of(SIMMER).weighings[-1][1] == 0.39
