"""Drafts of recipes and their trials, and who comes and goes."""

from collections.abc import Mapping

from orchestrator.core.changes_recipes import cannot_be_made
from orchestrator.core.changes_refusals import bad, unknown
from orchestrator.core.decide.case import Case, Decision, named
from orchestrator.core.draft_book import DraftRecord, TrialRecord
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CrewId, RecipeId
from orchestrator.core.models import Kitchen, Recipe
from orchestrator.core.models.change import AddRecipe, ReviseRecipe
from orchestrator.core.models.trial import AmountUsed
from orchestrator.core.recipe_commands import ComeIn, GoHome, PutDraftAway, RecipeCommand, RecordTrial, WriteDraft
from orchestrator.core.recipe_events import DraftPutAway, DraftWritten, PersonCame, PersonWent, TrialRecorded


def on_recipes(case: Case, command: RecipeCommand) -> Decision | Refusal:
    """Whoever is named may write, try and put away; nothing that is made or planned changes by it."""
    why = {"come_in": "to be here", "go_home": "to leave"}.get(command.kind, "who writes or tries it")
    who = named(case, "shift" if isinstance(command, ComeIn | GoHome) else "draft", why)
    if isinstance(who, Refusal):
        return who
    match command:
        case ComeIn():
            return _come(case, who)
        case GoHome():
            return _go(case, who)
        case WriteDraft():
            return _write(case, command, who)
        case RecordTrial():
            return _try(case, command, who)
        case PutDraftAway():
            return _put_away(case, command, who)


def _come(case: Case, who: CrewId) -> Decision | Refusal:
    if case.state.attendance.since(who, case.at) is not None:
        return Decision()
    return Decision((PersonCame(person=who, at=case.at),))


def _go(case: Case, who: CrewId) -> Decision | Refusal:
    if case.state.attendance.since(who, case.at) is None:
        status = "has not said that they are here"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=who, status=status, remedy="nothing to do")
    return Decision((PersonWent(person=who, at=case.at),))


def _write(case: Case, command: WriteDraft, who: CrewId) -> Decision | Refusal:
    book = case.state.drafts
    if command.draft is not None and command.draft not in book.drafts:
        return _no_draft(case, command.draft)
    known = {one.id: one for one in case.kitchen.recipes}
    if command.of is not None and command.of not in known:
        return unknown("recipe", command.of, known)
    if command.of is not None and command.recipe.id != command.of:
        return bad(command.recipe.id, f"it would be the next revision of {command.of}", f"the id {command.of}")
    if command.of is None and command.recipe.id in known:
        return bad(command.recipe.id, "there is a recipe of that id already", "another id, or a change of that recipe")
    refused = _written_from(known, command) or cannot_be_made(_as_if(case.kitchen, command.recipe), command.recipe)
    if refused is not None:
        return refused
    number = command.draft or book.next_number
    written = DraftWritten(
        draft=number, at=case.at, person=who, recipe=command.recipe, of=command.of, note=command.note.strip()
    )
    return Decision((written,))


def _written_from(known: Mapping[RecipeId, Recipe], command: WriteDraft) -> Refusal | None:
    """Why a change of an older revision is not put down as one of the present: it could undo unseen what came between,
    such as another ingredient with other allergens."""
    present = known[command.of] if command.of is not None else None
    if present is None or command.recipe.revision == present.revision + 1:
        return None
    status = (
        f"is written as a change of revision {command.recipe.revision - 1}, and {present.revision} is in use by now"
    )
    remedy = f"compare both, then write it as revision {present.revision + 1}"
    return Refusal(code=RefusalCode.STALE, thing=command.recipe.name, status=status, remedy=remedy)


def _as_if(kitchen: Kitchen, recipe: Recipe) -> Kitchen:
    others = tuple(known for known in kitchen.recipes if known.id != recipe.id)
    return kitchen.model_copy(update={"recipes": (*others, recipe)})


def _try(case: Case, command: RecordTrial, who: CrewId) -> Decision | Refusal:
    draft = case.state.drafts.drafts.get(command.draft)
    if draft is None:
        return _no_draft(case, command.draft)
    if command.trial.made > case.now:
        return bad(f"draft {draft.number}", "its trial lies in the future", "when it was made")
    refused = next((told for one in command.trial.used if (told := _not_used(draft, one)) is not None), None)
    return refused or Decision((TrialRecorded(draft=draft.number, at=case.at, person=who, trial=command.trial),))


def _not_used(draft: DraftRecord, used: AmountUsed) -> Refusal | None:
    step = next((one for one in draft.recipe.steps if one.id == used.step), None)
    if step is None or used.line >= len(step.takes):
        return bad(f"draft {draft.number}", "has become another since this was shown", "look at it again")
    wanted = step.takes[used.line].amount.unit
    name = step.takes[used.line].ingredient or str(step.takes[used.line].component)
    if used.amount.unit is not wanted or used.amount.value < 0:
        return bad(name, f"the draft writes it in {wanted}", f"an amount in {wanted}")
    return None


def _put_away(case: Case, command: PutDraftAway, who: CrewId) -> Decision | Refusal:
    draft = case.state.drafts.drafts.get(command.draft)
    if draft is None:
        return _no_draft(case, command.draft)
    if draft.away is command.away:
        return Decision()
    return Decision((DraftPutAway(draft=draft.number, at=case.at, person=who, away=command.away),))


def _no_draft(case: Case, number: int) -> Refusal:
    return unknown("draft", str(number), (str(one) for one in case.state.drafts.drafts))


def not_from_a_trial(case: Case, change: ReviseRecipe | AddRecipe) -> Refusal | None:
    """Why a recipe does not come from the trial that it names; none when it names none."""
    if change.draft is None:
        return None
    draft = case.state.drafts.drafts.get(change.draft)
    if draft is None:
        return _no_draft(case, change.draft)
    if change.trial is None:
        return None
    if not 1 <= change.trial <= len(draft.trials):
        return unknown(f"trial of draft {draft.number}", str(change.trial), (str(one.number) for one in draft.trials))
    return _not_tried(case, change, draft.trials[change.trial - 1])


def _not_tried(case: Case, change: ReviseRecipe | AddRecipe, trial: TrialRecord) -> Refusal | None:
    present = next((one.revision for one in case.kitchen.recipes if one.id == change.recipe.id), 0)
    if trial.recipe.revision != present + 1:
        # What came between may be a substitute with other allergens: it must not go unseen.
        status = f"was tried as a change of revision {trial.recipe.revision - 1}, and {present} is in use by now"
        remedy = "compare both, write the draft on and try it again"
        return Refusal(code=RefusalCode.WRONG_STATE, thing=change.recipe.name, status=status, remedy=remedy)
    told = {"revision": change.recipe.revision}
    if change.recipe not in (trial.recipe.model_copy(update=told), trial.as_used().model_copy(update=told)):
        return bad(change.recipe.name, "it is not what was tried", "the recipe as written or as used in that trial")
    return None
