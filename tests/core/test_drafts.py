"""Drafts, trials, their approval as the next revision, and who is here."""

from typing import Any

import pytest

from orchestrator.core.attendance import here, not_come
from orchestrator.core.errors import RefusalCode
from orchestrator.core.events import ReplanWanted
from orchestrator.core.ids import CrewId
from orchestrator.core.kitchen_events import KitchenChanged
from orchestrator.core.models import Recipe
from orchestrator.core.quantities import Quantity
from orchestrator.core.recipe_events import DraftPutAway, DraftWritten, PersonCame, TrialRecorded
from tests.core.script import Script, in_a_planned_kitchen
from tests.fakes.kitchens import at


def recipe_of(script: Script, name: str = "basil-custard") -> Recipe:
    assert script.state.kitchen is not None
    return next(one for one in script.state.kitchen.recipes if one.id == name)


def sweeter(recipe: Recipe, revision: int = 2) -> Recipe:
    """The first amount of the first step that takes anything, a tenth more."""
    index = next(i for i, step in enumerate(recipe.steps) if step.takes)
    step = recipe.steps[index]
    take = step.takes[0].model_copy(update={"amount": step.takes[0].amount.times(1.1)})
    changed = step.model_copy(update={"takes": (take, *step.takes[1:])})
    steps = (*recipe.steps[:index], changed, *recipe.steps[index + 1 :])
    return recipe.model_copy(update={"steps": steps, "revision": revision})


def first_take(recipe: Recipe) -> Quantity:
    return next(step.takes[0].amount for step in recipe.steps if step.takes)


def written(script: Script, **more: Any) -> tuple[Any, ...]:
    told = {"recipe": sweeter(recipe_of(script)), "of": "basil-custard", "person": "early-cook", **more}
    return script.give("Wed 07:00", "write_draft", **told)


def tried(script: Script, used: str = "", **more: Any) -> None:
    step = next(step for step in script.state.drafts.drafts[1].recipe.steps if step.takes)
    amounts = [{"step": step.id, "line": 0, "amount": used}] if used else []
    trial = {"factor": 0.5, "made": at("Wed 08:00"), "used": amounts, "brix": 28.5, "notes": "Rounder.", **more}
    script.give("Wed 09:00", "record_trial", draft=1, trial=trial, person="early-cook")


def approve(script: Script, recipe: Recipe, **more: Any) -> dict[str, Any]:
    change = {"change": "revise recipe", "recipe": recipe, "draft": 1, "trial": 1}
    return {"changes": [change], "person": "manager", "reason": "rounder", **more}


def test_draft_is_on_record_and_changes_nothing_that_is_made() -> None:
    script = in_a_planned_kitchen()
    before = script.state.kitchen
    events = written(script, note="less tart")
    assert [type(event) for event in events] == [DraftWritten]
    assert script.state.kitchen is before
    draft = script.state.drafts.drafts[1]
    assert (draft.of, draft.note, draft.by, draft.recipe.revision) == ("basil-custard", "less tart", "early-cook", 2)
    written(script)
    assert sorted(script.state.drafts.drafts) == [1, 2]


def test_draft_needs_a_named_person() -> None:
    script = in_a_planned_kitchen()
    told = script.refused("Wed 07:00", "write_draft", recipe=sweeter(recipe_of(script)), of="basil-custard")
    assert (told.code, told.remedy) == (RefusalCode.NOT_ALLOWED, "say who you are")


@pytest.mark.parametrize(
    ("update", "remedy"),
    [
        ({"equipment": "chrun", "station": None}, "did you mean churn?"),
        ({"station": "stoove"}, "did you mean stove?"),
        ({"skill": "juggling"}, "one of churn, counter, stove"),
        ({"takes": ({"component": "custard-bass", "amount": "1 L"},)}, "did you mean custard-base?"),
        ({"takes": ({"component": "custard-base", "amount": "1 kg"},)}, "an amount in L"),
        ({"after": ({"step": "wait"},)}, "one of "),
    ],
)
def test_draft_that_names_what_is_not_there_is_refused_with_what_is(update: dict[str, Any], remedy: str) -> None:
    script = in_a_planned_kitchen()
    recipe = sweeter(recipe_of(script))
    step = type(recipe.steps[0]).model_validate({**recipe.steps[0].model_dump(mode="json"), **update})
    wrong = recipe.model_copy(update={"steps": (step, *recipe.steps[1:])})
    told = script.refused("Wed 07:00", "write_draft", recipe=wrong, of="basil-custard", person="early-cook")
    assert told.remedy.startswith(remedy)


@pytest.mark.parametrize(
    ("more", "thing", "remedy"),
    [
        ({"of": "custard-base"}, "basil-custard", "the id custard-base"),
        ({"of": None}, "basil-custard", "another id, or a change of that recipe"),
        ({"of": "custard-bass"}, "custard-bass", "did you mean custard-base?"),
        ({"draft": 4}, "4", "there is no draft yet"),
    ],
)
def test_draft_that_is_a_change_of_another_recipe_than_it_says_is_refused(
    more: dict[str, Any], thing: str, remedy: str
) -> None:
    script = in_a_planned_kitchen()
    told = {"recipe": sweeter(recipe_of(script)), "of": "basil-custard", "person": "early-cook", **more}
    refusal = script.refused("Wed 07:00", "write_draft", **told)
    assert refusal.thing == thing
    assert refusal.remedy.startswith(remedy)


def test_recipe_that_would_go_into_itself_is_refused() -> None:
    script = in_a_planned_kitchen()
    base = recipe_of(script, "custard-base")
    step = base.steps[0].model_copy(update={"takes": ()})
    own = type(step).model_validate(
        {**step.model_dump(mode="json"), "takes": [{"component": "custard-base", "amount": "1 L"}]}
    )
    wrong = base.model_copy(update={"steps": (own, *base.steps[1:]), "revision": 2})
    told = script.refused("Wed 07:00", "write_draft", recipe=wrong, of="custard-base", person="early-cook")
    assert "go into itself" in told.status


def test_trials_stand_side_by_side_each_with_the_draft_as_it_was_written() -> None:
    script = in_a_planned_kitchen()
    written(script)
    tried(script)
    first = script.state.drafts.drafts[1].recipe
    script.give("Wed 10:00", "write_draft", draft=1, recipe=sweeter(first), of="basil-custard", person="late-cook")
    tried(script, notes="Too much.")
    trials = script.state.drafts.drafts[1].trials
    assert [one.number for one in trials] == [1, 2]
    assert trials[0].recipe == first
    assert trials[1].recipe == sweeter(first)
    assert (trials[0].trial.brix, trials[1].trial.notes) == (28.5, "Too much.")


def test_trial_in_the_future_or_in_another_unit_is_refused() -> None:
    script = in_a_planned_kitchen()
    written(script)
    trial = {"factor": 1, "made": at("Thu 08:00")}
    told = script.refused("Wed 09:00", "record_trial", draft=1, trial=trial, person="early-cook")
    assert told.remedy == "when it was made"
    step = next(step for step in script.state.drafts.drafts[1].recipe.steps if step.takes)
    unit = "each"
    trial = {"factor": 1, "made": at("Wed 08:00"), "used": [{"step": step.id, "line": 0, "amount": f"3 {unit}"}]}
    told = script.refused("Wed 09:00", "record_trial", draft=1, trial=trial, person="early-cook")
    assert told.remedy == f"an amount in {step.takes[0].amount.unit}"
    told = script.refused("Wed 09:00", "record_trial", draft=7, trial=trial, person="early-cook")
    assert told.code is RefusalCode.UNKNOWN


def test_approved_trial_is_the_next_revision_and_a_plan_is_asked_for() -> None:
    script = in_a_planned_kitchen()
    written(script)
    tried(script)
    recipe = script.state.drafts.drafts[1].trials[0].recipe
    events = script.give("Wed 10:00", "change_kitchen", **approve(script, recipe))
    assert [type(event) for event in events] == [KitchenChanged, ReplanWanted]
    assert recipe_of(script) == recipe
    assert script.state.kitchen is not None
    assert [one.revision for one in script.state.kitchen.former] == [1]
    approval = script.state.drafts.drafts[1].approvals[0]
    assert (approval.trial, approval.revision, approval.by) == (1, 2, "manager")


def test_trial_is_approved_with_the_amounts_really_used_at_the_recipes_own_size() -> None:
    script = in_a_planned_kitchen()
    written(script)
    unit = first_take(recipe_of(script)).unit
    tried(script, used=f"0.9 {unit}")
    recipe = script.state.drafts.drafts[1].trials[0].as_used()
    assert first_take(recipe) == Quantity(value=1.8, unit=unit)  # 0.9 at half size
    script.give("Wed 10:00", "change_kitchen", **approve(script, recipe))
    assert first_take(recipe_of(script)) == Quantity(value=1.8, unit=unit)


def test_approval_is_for_a_manager_with_a_reason_and_of_what_was_tried() -> None:
    script = in_a_planned_kitchen()
    written(script)
    tried(script)
    recipe = script.state.drafts.drafts[1].trials[0].recipe
    told = script.refused("Wed 10:00", "change_kitchen", **approve(script, recipe, person="early-cook"))
    assert told.remedy == "ask Manager"
    told = script.refused("Wed 10:00", "change_kitchen", **approve(script, recipe, reason=" "))
    assert told.remedy == "say why"
    told = script.refused("Wed 10:00", "change_kitchen", **approve(script, sweeter(recipe)))
    assert told.status == "it is not what was tried"
    told = script.refused("Wed 10:00", "change_kitchen", **approve(script, recipe.model_copy(update={"revision": 5})))
    assert told.remedy == "revision 2"


def test_trial_of_a_recipe_that_was_changed_meanwhile_is_not_approved_unseen() -> None:
    script = in_a_planned_kitchen()
    written(script)
    tried(script)
    recipe = script.state.drafts.drafts[1].trials[0].recipe
    first = recipe_of(script)
    index = next(i for i, step in enumerate(first.steps) if step.takes)
    take = first.steps[index].takes[0].model_copy(update={"allergens": ("soy",)})
    step = first.steps[index].model_copy(update={"takes": (take, *first.steps[index].takes[1:])})
    substitute = first.model_copy(
        update={"revision": 2, "steps": (*first.steps[:index], step, *first.steps[index + 1 :])}
    )
    change = {"change": "revise recipe", "recipe": substitute}
    events = script.give("Wed 09:30", "change_kitchen", changes=[change], person="manager", reason="none to be had")
    assert "brings soy" in events[1].reason  # type: ignore[union-attr]
    told = script.refused("Wed 10:00", "change_kitchen", **approve(script, recipe.model_copy(update={"revision": 3})))
    assert told.status == "was tried as a change of revision 1, and 2 is in use by now"
    script.give(
        "Wed 10:00", "write_draft", draft=1, recipe=sweeter(recipe_of(script), 3), of="basil-custard", person="manager"
    )
    tried(script)
    again = {"change": "revise recipe", "recipe": sweeter(recipe_of(script), 3), "draft": 1, "trial": 2}
    script.give("Wed 11:00", "change_kitchen", changes=[again], person="manager", reason="rounder")
    assert recipe_of(script).revision == 3


def test_former_revision_is_taken_up_again_as_the_next_one() -> None:
    script = in_a_planned_kitchen()
    first = recipe_of(script)
    for number, recipe in ((2, sweeter(first)), (3, first.model_copy(update={"revision": 3}))):
        change = {"change": "revise recipe", "recipe": recipe}
        script.give("Wed 10:00", "change_kitchen", changes=[change], person="manager", reason=f"number {number}")
    assert recipe_of(script) == first.model_copy(update={"revision": 3})
    assert script.state.kitchen is not None
    assert [one.revision for one in script.state.kitchen.former] == [1, 2]


def test_new_recipe_needs_an_id_and_a_code_of_its_own() -> None:
    script = in_a_planned_kitchen()
    plum = recipe_of(script).model_copy(update={"id": "plum-sorbet", "name": "Plum sorbet", "code": "PS"})
    written(script, recipe=plum, of=None)
    adds = {"person": "manager", "reason": "for Sunday"}
    for update, remedy in (({"code": "B"}, "another code"), ({"id": "basil-custard"}, "another id")):
        change = {"change": "add recipe", "recipe": plum.model_copy(update=update)}
        told = script.refused("Wed 10:00", "change_kitchen", changes=[change], **adds)
        assert told.remedy.startswith(remedy)
    change = {"change": "add recipe", "recipe": plum, "draft": 1}
    script.give("Wed 10:00", "change_kitchen", changes=[change], **adds)
    assert recipe_of(script, "plum-sorbet") == plum
    assert script.state.drafts.drafts[1].of == "plum-sorbet"


def test_draft_put_away_is_kept_and_can_be_taken_out_again() -> None:
    script = in_a_planned_kitchen()
    written(script)
    for away in (True, False):
        events = script.give("Wed 10:00", "put_draft_away", draft=1, away=away, person="manager")
        assert [type(event) for event in events] == [DraftPutAway]
        assert script.state.drafts.drafts[1].away is away
    assert script.give("Wed 10:00", "put_draft_away", draft=1, away=False, person="manager") == ()


def test_events_of_an_unknown_draft_are_read_and_change_nothing() -> None:
    script = in_a_planned_kitchen()
    trial = {"factor": 1, "made": at("Wed 08:00")}
    event = TrialRecorded.model_validate({"draft": 9, "at": at("Wed 09:00"), "person": "manager", "trial": trial})
    assert script.state.drafts.with_event(event) == script.state.drafts


def test_who_says_so_is_here_until_they_go() -> None:
    script = in_a_planned_kitchen()
    assert [type(e) for e in script.give("Wed 06:02", "come_in", person="early-cook")] == [PersonCame]
    assert script.give("Wed 06:03", "come_in", person="early-cook") == ()
    there = here(script.kitchen, script.state.attendance, at("Wed 07:00"))
    assert [(member.id, since) for member, since in there] == [("early-cook", at("Wed 06:02"))]
    script.give("Wed 14:00", "go_home", person="early-cook")
    assert here(script.kitchen, script.state.attendance, at("Wed 14:01")) == ()
    assert script.refused("Wed 14:02", "go_home", person="early-cook").remedy == "nothing to do"


def test_nobody_and_somebody_not_on_the_crew_list_are_refused() -> None:
    script = in_a_planned_kitchen()
    assert script.refused("Wed 06:02", "come_in").remedy == "say who you are"
    told = script.refused("Wed 06:02", "come_in", person="stranger")
    assert (told.code, told.status) == (RefusalCode.UNKNOWN, "not one of the crew")


def test_who_has_not_come_is_asked_about_only_after_the_shift_has_begun() -> None:
    script = in_a_planned_kitchen()

    def missing(when: str) -> set[CrewId]:
        return {member.id for member, _ in not_come(script.kitchen, script.state.attendance, at(when))}

    assert missing("Wed 06:05") == set()
    assert missing("Wed 06:15") == {"early-cook"}
    script.give("Wed 06:20", "come_in", person="early-cook")
    assert missing("Wed 06:25") == set()
    assert missing("Wed 08:15") == {"manager"}
    assert missing("Thu 06:15") == {"early-cook"}


def test_nobody_is_here_for_longer_than_a_screen_would_know_them() -> None:
    script = in_a_planned_kitchen()
    script.give("Wed 06:02", "come_in", person="early-cook")
    assert here(script.kitchen, script.state.attendance, at("Thu 06:00")) == ()
