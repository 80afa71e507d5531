"""Durations learned from finished tasks: robust figures, samples as acts come and go, adopted by a manager alone."""

from dataclasses import replace
from datetime import datetime, timedelta
from statistics import median
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from orchestrator.core import durations
from orchestrator.core.durations import LEAST_SAMPLES, MOST_SAMPLES, capped, learned
from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import DurationsAdopted, DurationsRestored, ReplanWanted
from orchestrator.core.evolve import evolve
from orchestrator.core.ids import EquipmentId, RecipeId, StepId, TaskId
from orchestrator.core.models import Duration, Step
from orchestrator.core.models.durations import Learned, Sample
from orchestrator.core.state import State
from tests.core.script import Script, cook, in_a_planned_kitchen, with_base_chilling
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

MANAGER = "manager"
CHURN = (RecipeId("basil-custard"), StepId("churn"))
CHILL = (RecipeId("custard-base"), StepId("chill"))
WRITTEN = Duration(shortest=25, usual=30, longest=45)
STEP = next(s for r in small_kitchen().recipes if r.id == CHURN[0] for s in r.steps if s.id == CHURN[1])


def sample(minutes: float, task: str = "B9.churn", when: datetime | None = None) -> Sample:
    return Sample(task=TaskId(task), minutes=minutes, at=when or at("Wed 09:00"))


def samples(*minutes: float) -> tuple[Sample, ...]:
    return tuple(sample(m, f"B{i}.churn") for i, m in enumerate(minutes))


def said(*minutes: float, step: Step = STEP, written: Duration = WRITTEN) -> Learned:
    told = learned(samples(*minutes), step, written)
    assert told is not None
    return told


NINE = (31.0, 32.0, 33.0, 34.0, 35.0, 36.0, 37.0, 38.0, 39.0)


def test_nine_samples_reach_to_one_in_ten_on_both_sides_and_eight_tell_nothing() -> None:
    assert len(NINE) == LEAST_SAMPLES
    told = said(*NINE)
    assert (told.low_min, told.median_min, told.high_min, told.samples) == (31.0, 35.0, 39.0, 9)
    assert learned(samples(*NINE[:8]), STEP, WRITTEN) is None


def test_quantiles_are_scipys_at_the_same_plotting_positions() -> None:
    minutes = [28.0, 31.5, 30.0, 44.0, 29.0, 33.0, 36.5, 30.5, 32.0, 35.0, 31.0]
    told = said(*minutes)
    # i / (n + 1): alphap = betap = 0 in scipy.stats.mstats.
    theirs = stats.mstats.mquantiles(capped(minutes), [0.1, 0.5, 0.9], alphap=0, betap=0)
    assert (told.low_min, told.median_min, told.high_min) == pytest.approx(tuple(theirs))


def test_one_in_ten_of_a_symmetric_pert_length_lies_outside_the_reach() -> None:
    # Exponents of PERT with its peak in the middle: 1 + 4 / 2 on both sides.
    beta = stats.beta(3, 3, loc=-1, scale=2)
    assert pytest.approx(float(beta.ppf(0.9)), abs=5e-4) == durations._REACH


def test_figures_of_a_pert_length_come_back_from_its_own_runs() -> None:
    """Shortest 20, usual 30, longest 40: what is learned from very many runs is within a minute or two of that."""
    chance = stats.beta(3, 3, loc=20, scale=20)
    runs = [float(chance.ppf((i + 0.5) / 500)) for i in range(500)]
    told = said(*runs)
    assert told.figures.usual == 30
    assert abs(told.figures.shortest - 20) <= 1
    assert abs(told.figures.longest - 40) <= 1


@given(st.lists(st.floats(20, 60), min_size=9, max_size=40), st.floats(0, 100_000))
def test_one_wild_sample_moves_the_median_no_further_than_to_its_neighbours(minutes: list[float], wild: float) -> None:
    calm, bent = said(*minutes), said(*minutes, wild)
    ordered = sorted(minutes)
    middle = len(ordered) // 2
    # Of an even count the neighbours are one further on each side.
    low, high = ordered[max(0, middle - 1)], ordered[min(len(ordered) - 1, middle + 1)]
    assert min(low, calm.median_min) - 1e-9 <= bent.median_min <= max(high, calm.median_min) + 1e-9


@given(st.lists(st.floats(20, 60), min_size=9, max_size=40), st.floats(300, 100_000))
def test_how_wild_a_sample_is_makes_no_difference_to_any_figure(minutes: list[float], wild: float) -> None:
    assert said(*minutes, wild) == said(*minutes, 300.0)


@given(st.lists(st.floats(1, 500), min_size=9, max_size=60))
def test_figures_are_ordered_and_whole_whatever_is_measured(minutes: list[float]) -> None:
    told = said(*minutes)
    assert told.low_min <= told.median_min <= told.high_min
    assert 1 <= told.figures.shortest <= told.figures.usual <= told.figures.longest
    assert abs(told.figures.usual - median(minutes)) <= 1.01


def test_samples_all_alike_leave_no_spread() -> None:
    assert said(*[30.0] * 12).figures == Duration(shortest=30, usual=30, longest=30)


def test_critical_step_keeps_within_what_its_recipe_allows() -> None:
    critical = STEP.model_copy(update={"critical": True})
    quick = said(*(m - 20 for m in NINE), step=critical)
    assert (quick.figures, quick.held_back) == (Duration(shortest=25, usual=25, longest=25), True)
    assert said(*(m - 20 for m in NINE)).figures.usual == 15
    assert not said(*NINE, step=critical, written=Duration(shortest=20, usual=30, longest=60)).held_back


def test_finished_step_of_work_is_a_sample_and_a_stay_is_none() -> None:
    script = with_base_chilling(in_a_planned_kitchen())
    found = script.state.samples
    assert list(found) == [(RecipeId("custard-base"), StepId("cook"))]
    (one,) = found[RecipeId("custard-base"), StepId("cook")]
    assert (one.task, one.minutes, one.equipment, one.at) == ("C1.cook", 40.0, "hob-1", at("Wed 08:40"))


def test_needs_longer_counts_with_what_it_took_in_the_end() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 10:30", "start_task", task="S1.simmer", person="early-cook")
    script.give("Wed 10:50", "extend_task", task="S1.simmer", minutes=20, person="early-cook")
    script.give("Wed 11:17", "finish_task", task="S1.simmer", person="early-cook")
    ((one,),) = script.state.samples.values()
    assert one.minutes == 47.0


def test_skipped_step_and_one_entered_all_at_once_are_no_samples() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 10:30", "skip_task", task="S1.simmer", reason="bought in", person="early-cook")
    assert script.state.samples == {}
    other = in_a_planned_kitchen()
    cook(other, "S1.simmer", "Wed 11:00", "Wed 11:00")
    assert other.state.samples == {}


def test_finish_that_is_taken_back_is_no_sample_and_the_next_one_is() -> None:
    script = in_a_planned_kitchen()
    cook(script, "S1.simmer", "Wed 10:30", "Wed 10:45")
    assert len(script.state.samples) == 1
    script.give("Wed 10:46", "undo", act=script.state.acts[-1].seq, person="early-cook")
    assert [*script.state.samples.values()] == [()]
    script.give("Wed 11:02", "finish_task", task="S1.simmer", person="early-cook")
    ((one,),) = script.state.samples.values()
    assert one.minutes == 32.0


def test_slow_machine_gives_the_minutes_of_one_at_full_speed() -> None:
    slow = small_kitchen()
    machines = tuple(m.model_copy(update={"speed": 0.5}) if m.id == "hob-1" else m for m in slow.equipment)
    script = in_a_planned_kitchen(equipment=[m.model_dump(mode="json") for m in machines])
    cook(script, "S1.simmer", "Wed 10:30", "Wed 11:30")
    ((one,),) = script.state.samples.values()
    assert (one.minutes, one.equipment) == (30.0, EquipmentId("hob-1"))


def with_samples(script: Script, *minutes: float, key: tuple[RecipeId, StepId] = CHURN) -> Script:
    script.state = replace(script.state, samples={key: samples(*minutes)})
    return script


def adopt(script: Script, when: str = "Wed 07:00", figures: Any = None, **who: Any) -> Any:
    told = figures or said(*NINE).figures
    what = {"recipe": CHURN[0], "step": CHURN[1], "figures": told.model_dump()}
    return script.try_(when, "adopt_durations", **what, **(who or {"person": MANAGER}))


def figures_in(state: State) -> Duration:
    assert state.kitchen is not None
    step = durations.step_of(state.kitchen, CHURN)
    assert step is not None
    figures = durations.figures_of(step)
    assert figures is not None
    return figures


def test_manager_adopts_and_the_kitchen_has_the_figures_and_a_plan_is_asked_for() -> None:
    script = with_samples(in_a_planned_kitchen(), *NINE)
    adopt(script)
    adopted, wanted = script.last.events[:2]
    assert isinstance(adopted, DurationsAdopted)
    assert (adopted.figures, adopted.written, adopted.samples) == (said(*NINE).figures, WRITTEN, 9)
    assert isinstance(wanted, ReplanWanted)
    assert wanted.reason == "basil-custard.churn takes 35 min from now on"
    assert figures_in(script.state) == said(*NINE).figures
    assert script.state.adopted[CHURN].person == MANAGER
    assert script.kitchen != script.state.kitchen
    assert script.state.kitchen is not None
    assert script.state.by_hand.imported == script.kitchen


def test_figures_are_taken_back_to_what_the_recipe_says_even_after_two_adoptions() -> None:
    script = with_samples(in_a_planned_kitchen(), *NINE)
    adopt(script)
    with_samples(script, *(m + 5 for m in NINE))
    adopt(script, "Wed 07:10", said(*(m + 5 for m in NINE)).figures)
    assert figures_in(script.state).usual == 40
    events = script.give("Wed 07:20", "restore_durations", recipe=CHURN[0], step=CHURN[1], person=MANAGER)
    assert isinstance(events[0], DurationsRestored)
    assert (figures_in(script.state), script.state.adopted) == (WRITTEN, {})
    again = script.refused("Wed 07:21", "restore_durations", recipe=CHURN[0], step=CHURN[1], person=MANAGER)
    assert again.code is RefusalCode.WRONG_STATE


@pytest.mark.parametrize(
    ("minutes", "who", "figures", "code", "status"),
    [
        (NINE[:8], MANAGER, None, RefusalCode.WRONG_STATE, "8 finished tasks are too few to learn from"),
        (NINE, "early-cook", None, RefusalCode.NOT_ALLOWED, "Early cook does not decide about figures"),
        (NINE, None, None, RefusalCode.NOT_ALLOWED, "nobody is named to decide about its figures"),
        (NINE, MANAGER, WRITTEN, RefusalCode.STALE, "the figures are 27, 35 and 43 min by now"),
    ],
)
def test_adopting_is_refused(
    minutes: tuple[float, ...], who: str | None, figures: Duration | None, code: RefusalCode, status: str
) -> None:
    script = with_samples(in_a_planned_kitchen(), *minutes)
    what = {"recipe": CHURN[0], "step": CHURN[1], "figures": (figures or said(*NINE).figures).model_dump()}
    refusal = script.refused("Wed 07:00", "adopt_durations", **what, person=who)
    assert (refusal.code, refusal.thing, refusal.status) == (code, "basil-custard.churn", status)


def test_stay_has_no_minutes_to_adopt() -> None:
    what = {"recipe": "custard-base", "step": "age", "figures": WRITTEN.model_dump()}
    refusal = in_a_planned_kitchen().refused("Wed 07:00", "adopt_durations", **what, person=MANAGER)
    assert refusal.code is RefusalCode.UNKNOWN


def test_adopting_what_is_there_already_is_refused() -> None:
    script = with_samples(in_a_planned_kitchen(), *NINE)
    adopt(script)
    what = {"recipe": CHURN[0], "step": CHURN[1], "figures": said(*NINE).figures.model_dump()}
    assert script.refused("Wed 07:05", "adopt_durations", **what, person=MANAGER).code is RefusalCode.WRONG_STATE


def test_replay_leads_to_the_same_samples_and_figures() -> None:
    script = with_base_chilling(in_a_planned_kitchen())
    cook(script, "S1.simmer", "Wed 10:30", "Wed 10:45")
    script.give("Wed 10:46", "undo", act=script.state.acts[-1].seq, person="early-cook")
    event = DurationsAdopted(
        recipe=CHURN[0], step=CHURN[1], figures=Duration(shortest=28, usual=34, longest=44), written=WRITTEN,
        samples=9, at=script.now, person=script.kitchen.crew[3].id,
    )  # fmt: skip
    script.record(script.log[-1].command_id, (event,))
    state = State()
    for recorded in script.log:
        state = evolve(state, recorded)
    assert state == script.state
    assert figures_in(state).usual == 34
    assert state.samples


def test_only_the_newest_samples_are_kept() -> None:
    script = in_a_planned_kitchen()
    old = tuple(sample(30, f"S{i}.simmer", at("Wed 06:00") - timedelta(days=1)) for i in range(MOST_SAMPLES + 5))
    key = (RecipeId("damson-sorbet"), StepId("simmer"))
    script.state = replace(script.state, samples={key: old})
    cook(script, "S1.simmer", "Wed 10:30", "Wed 11:01")
    kept = script.state.samples[key]
    assert (len(kept), kept[-1].task, kept[-1].minutes) == (MOST_SAMPLES, "S1.simmer", 31.0)


def test_short_cycle_work_is_learned_and_adopted_by_the_tray() -> None:
    kitchen = small_kitchen()
    data = kitchen.model_dump(mode="json")
    simmer = next(s for r in data["recipes"] if r["id"] == "damson-sorbet" for s in r["steps"] if s["id"] == "simmer")
    simmer |= {"duration": None, "cycle": {"pieces": 2, "each": 10}}
    script = in_a_planned_kitchen(small_plan(), recipes=data["recipes"])
    # The task is 5 L of which a tray holds 2: three trays.
    cook(script, "S1.simmer", "Wed 10:30", "Wed 11:06")
    key = (RecipeId("damson-sorbet"), StepId("simmer"))
    assert [one.minutes for one in script.state.samples[key]] == [12.0]
    with_samples(script, *(m - 20 for m in NINE), key=key)
    assert script.state.kitchen is not None
    step = durations.step_of(script.state.kitchen, key)
    assert step is not None
    told = learned(script.state.samples[key], step, Duration(shortest=10, usual=10, longest=10))
    assert told is not None
    assert told.figures == Duration(shortest=15, usual=15, longest=15)
    what = {"recipe": key[0], "step": key[1], "figures": told.figures.model_dump()}
    script.give("Wed 11:10", "adopt_durations", **what, person=MANAGER)
    assert script.state.kitchen is not None
    changed = durations.step_of(script.state.kitchen, key)
    assert changed is not None
    assert changed.cycle is not None
    assert (changed.cycle.each, changed.cycle.pieces, changed.duration) == (15, 2, None)
