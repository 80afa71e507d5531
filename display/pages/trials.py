"""One draft: what it changes, a trial to weigh out and to enter, trials side by side, and on to its approval."""

from typing import Final
from urllib.parse import urlencode

from flask import Blueprint, make_response, redirect, request
from werkzeug.wrappers import Response as WerkzeugResponse

from display.access.signing import hand_in
from display.changing import address
from display.forms import FormFault, Tapped
from display.pages.drafts import draft_gone, since
from display.pages.recipes import not_found
from display.recipe_amounts import Amounts
from display.recipe_words import RecipeWords
from display.refused import unanswered
from display.request import Message, doors, page, person_id, say, showing
from orchestrator.core.draft_book import DraftRecord, TrialRecord
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CrewId, RecipeId
from orchestrator.core.models import Recipe
from orchestrator.core.models.change import AddRecipe, ReviseRecipe
from orchestrator.core.models.trial import AmountUsed, Trial
from orchestrator.core.quantities import Quantity, Unit
from orchestrator.core.recipe_commands import PutDraftAway, RecordTrial
from orchestrator.core.recipe_differences import differences
from orchestrator.core.recipe_scaling import by_yield, comes_out, scaled

pages = Blueprint("trials", __name__)
LONGEST_NOTES: Final = 4000


@pages.get("/drafts/<int:number>")
def draft_page(number: int) -> str | tuple[str, int]:
    """The draft; ``?amount=`` sizes the trial to be weighed out."""
    draft = _draft(number)
    return draft_gone() if draft is None else _shown(draft)


def _draft(number: int) -> DraftRecord | None:
    return showing().snapshot.state.drafts.drafts.get(number)


def _shown(draft: DraftRecord, refused: tuple[str, str] | None = None) -> str:
    picture = showing()
    kitchen, factor = picture.kitchen, 1.0
    typed = request.form if request.method == "POST" else request.args
    if request.method == "POST":
        factor = _factor_of(request.form.get("factor", ""))
    elif request.args.get("amount"):
        try:
            unit = draft.recipe.yields.unit
            wanted = Tapped(request.args, picture, person_id()).amount("amount", unit, least=0.001)
        except FormFault as fault:
            refused = fault.says, fault.remedy
        else:
            told = by_yield(draft.recipe, Quantity(value=wanted, unit=draft.recipe.yields.unit))
            refused = picture.sentences.refusal(told, told.thing) if isinstance(told, Refusal) else refused
            factor = 1.0 if isinstance(told, Refusal) else told
    present = kitchen.made_by(draft.of, None) if draft.of is not None else None
    context = {
        "draft": draft,
        "recipe": draft.recipe,
        "present": present,
        "since": since(draft.of, draft),
        "differs": differences(present, draft.recipe) if present is not None else (),
        "said": RecipeWords(picture),
        "amounts": Amounts(picture.formats, picture.reader.amounts),
        "factor": factor,
        "comes_out": comes_out(draft.recipe, factor),
        "at_size": scaled(draft.recipe, factor),
        "names": {recipe.id: recipe.name for recipe in kitchen.recipes},
        "rows": _rows(draft),
        "present_number": present.revision if present is not None else 0,
        "typed": typed,
        "refused": refused,
        "crew": kitchen.crew,
        "request_person": request.form.get("person", ""),
        "made_now": picture.formats.local(picture.now).strftime("%Y-%m-%dT%H:%M"),
    }
    return page("draft.html", **context)


def _rows(draft: DraftRecord) -> list[tuple[str, list[tuple[Quantity, Quantity] | None]]]:
    """What went in, name by name: of each trial what was asked and what was used, both at the recipe's own size."""
    names = {recipe.id: recipe.name for recipe in showing().kitchen.recipes}
    columns: list[dict[tuple[str, str], tuple[Quantity, Quantity]]] = []
    for trial in draft.trials:
        used = trial.as_used()
        columns.append(
            {
                (step.title, take.ingredient or names.get(RecipeId(take.component or ""), str(take.component))): (
                    take.amount,
                    really.amount,
                )
                for step, after in zip(trial.recipe.steps, used.steps, strict=True)
                for take, really in zip(step.takes, after.takes, strict=True)
            }
        )
    keys = dict.fromkeys(key for column in columns for key in column)
    return [(name, [column.get((step, name)) for column in columns]) for step, name in keys]


def _factor_of(text: str) -> float:
    try:
        factor = float(text)
    except ValueError:
        return 1.0
    return factor if 0.001 <= factor <= 1000 else 1.0


@pages.post("/drafts/<int:number>/trials")
def tried(number: int) -> WerkzeugResponse | tuple[str, int]:
    """A trial is put on record; what was typed stays on the page until it is."""
    picture, draft = showing(), _draft(number)
    if draft is None:
        return draft_gone()
    form = Tapped(request.form, picture, person_id())
    try:
        told = form.base() | {"person": CrewId(form.need("person"))}
        command = RecordTrial(**told, draft=number, trial=_trial(form, draft))
        outcome = hand_in(doors()[0], command)
    except FormFault as fault:
        return make_response(_shown(draft, (fault.says, fault.remedy)), 400)
    except TimeoutError:
        return make_response(_shown(draft, (picture.words("late_answer"), picture.words("late_remedy"))), 504)
    if isinstance(outcome, Refusal):
        return make_response(_shown(draft, picture.sentences.refusal(outcome, outcome.thing)), 409)
    say(Message("done", picture.words("done_trial")))
    return redirect(f"/drafts/{number}#trials", 303)


def _trial(form: Tapped, draft: DraftRecord) -> Trial:
    made = form.instant("made")
    if made is None:
        raise form.fault("missing", "made")
    used = []
    for step in draft.recipe.steps:
        for line, take in enumerate(step.takes):
            field = f"used:{step.id}:{line}"
            if form.text(field):
                amount = form.amount(field, take.amount.unit, food=take.ingredient or "")
                used.append(AmountUsed(step=step.id, line=line, amount=Quantity(value=amount, unit=take.amount.unit)))
    return Trial(
        factor=_factor_of(form.text("factor")),
        made=made,
        used=tuple(used),
        brix=form.number("brix", 0, 100, example="28.5") if form.text("brix") else None,
        weight_kg=form.amount("weight", Unit.KILOGRAM, least=0.001, most=10_000) if form.text("weight") else None,
        notes=request.form.get("notes", "").strip().replace("\r\n", "\n")[:LONGEST_NOTES],
    )


@pages.post("/drafts/<int:number>/away")
def put_away(number: int) -> WerkzeugResponse | tuple[str, int]:
    """Put away, or taken out again."""
    picture = showing()
    form = Tapped(request.form, picture, person_id())
    away = request.form.get("away") == "yes"
    try:
        outcome = hand_in(doors()[0], PutDraftAway(**form.base(), draft=max(number, 1), away=away))
    except FormFault as fault:
        say(Message("refused", fault.says, fault.remedy))
    except TimeoutError:
        say(unanswered())
    else:
        if isinstance(outcome, Refusal):
            says, remedy = picture.sentences.refusal(outcome, outcome.thing)
            say(Message("refused", says, remedy, f"/person?{urlencode({'back': f'/drafts/{number}'})}"))
        else:
            say(Message("done", picture.words("done_draft_away" if away else "done_draft_back")))
    return redirect(f"/drafts/{number}", 303)


@pages.get("/drafts/<int:number>/trials/<int:trial>/approve")
def approve(number: int, trial: int) -> WerkzeugResponse | tuple[str, int]:
    """On to the page that shows what it does to the plan, and carries it out; nothing is changed by this."""
    draft = _draft(number)
    if draft is None or not 1 <= trial <= len(draft.trials):
        return draft_gone()
    record = draft.trials[trial - 1]
    recipe = record.as_used() if request.args.get("used") == "yes" else record.recipe
    return redirect(f"/changes?{urlencode(address((_change(draft, record, recipe),), f'/drafts/{number}'))}", 303)


def _change(draft: DraftRecord, trial: TrialRecord, recipe: Recipe) -> ReviseRecipe | AddRecipe:
    present = showing().kitchen.made_by(recipe.id, None)
    revision = present.revision + 1 if present is not None else 1
    kind = AddRecipe if present is None else ReviseRecipe
    told = recipe.model_copy(update={"revision": revision})
    return kind(recipe=told, draft=draft.number, trial=trial.number)


@pages.get("/recipes/<recipe>/take-up")
def take_up(recipe: str) -> WerkzeugResponse | tuple[str, int]:
    """A former revision as the next one: on to the page that shows what it does to the plan."""
    kitchen, text = showing().kitchen, request.args.get("revision", "")
    former = kitchen.made_by(RecipeId(recipe), int(text) if text.isdigit() and len(text) < 9 else 0)
    present = kitchen.made_by(RecipeId(recipe), None)
    if former is None or present is None:
        return not_found()
    change = ReviseRecipe(recipe=former.model_copy(update={"revision": present.revision + 1}))
    return redirect(f"/changes?{urlencode(address((change,), f'/recipes/{recipe}'))}", 303)
