"""Weights of what simmers down: estimate, refusals, undo."""

import math

import pytest

from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import WeightEntered
from orchestrator.core.ids import EquipmentId, RecipeId, StationId, StepId, TaskId
from orchestrator.core.models import Duration, Kitchen, Measure, PlannedTask, Process, Step
from orchestrator.core.models.recipe import Attended
from orchestrator.core.pace import expected_by_probes
from orchestrator.core.pace_events import ReductionLearned
from orchestrator.core.paces import earlier_reductions
from orchestrator.core.views.station import station_view
from orchestrator.core.weighing import reduced
from tests.core.script import Script, in_a_planned_kitchen
from tests.fakes.kitchens import at, small_kitchen

SIMMER = "S1.simmer"


def _step(reduce_to: float, process: Process = Process.REDUCE) -> Step:
    minutes = {"shortest": 30, "usual": 40, "longest": 60}
    fields = {"id": "reduce", "process": process, "title": "Reduce", "duration": minutes, "reduce_to": reduce_to}
    return Step.model_validate(fields)


def _reducing(**more: object) -> Script:
    """The small kitchen, whose damsons simmer down to three quarters."""
    return in_a_planned_kitchen(recipes=_to(small_kitchen(), 0.75, **more).recipes)


def _to(kitchen: Kitchen, share: float, **more: object) -> Kitchen:
    recipes = tuple(
        recipe.model_copy(
            update={
                "steps": tuple(
                    s.model_copy(update={"reduce_to": share, **more}) if s.process is Process.SIMMER else s
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


def test_last_weight_is_judged_by_the_first_one_where_the_recipe_tells_litres() -> None:
    script = _reducing(measure=Measure.WEIGHT_KG)
    script.give("Wed 08:00", "start_task", task=SIMMER, person="early-cook")
    script.give("Wed 08:02", "enter_weight", task=SIMMER, kilograms=4.0, person="early-cook")
    ending = {"task": SIMMER, "person": "early-cook"}
    slip = script.refused("Wed 08:40", "finish_task", measured={"weight_kg": 1.36}, **ending)  # 3 typed in pounds
    assert (slip.code, slip.status) == (RefusalCode.DOUBTFUL, "1.36 kg does not fit: it is done at 3.00 kg")
    script.give("Wed 08:40", "finish_task", measured={"weight_kg": 3.0}, **ending)


def test_step_that_is_followed_by_weight_needs_hands_until_its_first_one() -> None:
    script = _reducing(attended=(Attended(when="end", minutes=5),))
    script.give("Wed 08:00", "start_task", task=SIMMER, person="early-cook")

    def in_hand() -> list[str]:
        return [task.task for task in station_view(script.state, {}, at("Wed 08:12"), StationId("stove")).in_hand]

    assert SIMMER in in_hand()
    script.give("Wed 08:12", "enter_weight", task=SIMMER, kilograms=4.0, person="early-cook")
    assert SIMMER not in in_hand()


def _weights_of(script: Script, *weighed: tuple[str, float]) -> None:
    script.give("Wed 08:00", "start_task", task=SIMMER, person="early-cook")
    for clock, kilograms in weighed:
        script.give(f"Wed {clock}", "enter_weight", task=SIMMER, kilograms=kilograms, person="early-cook")


def test_run_that_was_weighed_to_its_end_teaches_the_next_one_and_is_forgotten_with_an_end_taken_back() -> None:
    script = _reducing()
    _weights_of(script, ("08:00", 4.0), ("08:15", 3.66), ("08:30", 3.33), ("08:45", 2.99))
    script.give("Wed 08:46", "finish_task", task=SIMMER, person="early-cook")
    ((key, (learned,)),) = script.state.reductions.items()
    task = _planned(script)
    assert key == (script.of(SIMMER).equipment, task.recipe, task.step)
    assert (learned.task, learned.reduce_to, learned.weights[-1]) == (SIMMER, 0.75, (45.0, 0.7475))
    assert earlier_reductions(script.state, task, 0.75) == ()
    other = task.model_copy(update={"id": "S9.simmer"})
    assert earlier_reductions(script.state, other, 0.75) == (learned,)
    assert earlier_reductions(script.state, other, 0.5) == ()
    script.give("Wed 08:47", "undo", act=script.state.acts[-1].seq, person="early-cook")
    assert earlier_reductions(script.state, other, 0.75) == ()


def test_run_that_was_not_weighed_down_to_its_end_teaches_nothing() -> None:
    script = _reducing()
    _weights_of(script, ("08:00", 4.0), ("08:30", 3.33))
    script.give("Wed 08:46", "finish_task", task=SIMMER, person="early-cook")
    assert script.state.reductions == {}


def _planned(script: Script) -> PlannedTask:
    assert script.state.plan is not None
    return script.state.plan.task(TaskId(SIMMER))


def _run(*weights: tuple[float, float], scale: float = 1.0) -> ReductionLearned:
    return ReductionLearned(
        task=TaskId("S9.simmer"), equipment=EquipmentId("hob-1"), recipe=RecipeId("damson"), step=StepId("reduce"),
        at=at("Wed 07:00"), scale=scale, reduce_to=0.75, weights=weights,
    )  # fmt: skip


@pytest.mark.parametrize(("scale", "minutes_longer"), [(1.0, 1.0), (2.0, 2.0)])
def test_first_weight_is_enough_where_the_kitchen_did_it_before(scale: float, minutes_longer: float) -> None:
    """Three runs took 50 minutes; a ring gives its heat, so twice the amount takes twice the time."""
    step, minutes = _step(0.75), Duration(shortest=20, usual=30, longest=40)
    earlier = [_run((0.0, 1.0), (20.0, 0.9), (35.0, 0.825), (50.0, 0.75))] * 3
    found = reduced(step, [(at("Wed 08:00"), 4.0)], minutes, earlier, scale)
    assert found is not None
    assert found.arrival is not None
    assert found.arrival.likely_min == pytest.approx(50.0 * minutes_longer, rel=0.1)
    assert found.arrival.soonest_min < 50.0 * minutes_longer < found.arrival.latest_min
    assert found.earlier_runs == 3


def test_more_trays_dry_side_by_side_and_a_slower_run_is_told_later() -> None:
    step, minutes = _step(0.75, Process.DEHYDRATE), Duration(shortest=20, usual=30, longest=40)
    earlier = [_run((0.0, 1.0), (100.0, 0.9), (300.0, 0.8), (500.0, 0.75))] * 6
    first = reduced(step, [(at("Wed 08:00"), 4.0)], minutes, earlier, 2.0)
    assert first is not None
    assert first.arrival is not None
    assert first.arrival.soonest_min < 500.0 < first.arrival.latest_min
    # Half as fast as usual until now: 150 minutes for what took 75.
    slow = reduced(step, [(at("Wed 08:00"), 4.0), (at("Wed 10:30"), 4.0 * 0.925)], minutes, earlier, 2.0)
    usual = reduced(step, [(at("Wed 08:00"), 4.0), (at("Wed 09:15"), 4.0 * 0.925)], minutes, earlier, 2.0)
    assert slow is not None
    assert usual is not None
    assert slow.arrival is not None
    assert usual.arrival is not None
    assert slow.arrival.likely_min > 1.2 * usual.arrival.likely_min  # type: ignore[operator]
