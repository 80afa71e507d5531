"""Drafts of recipes: all of them, and the form and the text in which one is written."""

from collections.abc import Mapping
from typing import Any, Final

from flask import Blueprint, Response, make_response, redirect, request
from werkzeug.wrappers import Response as WerkzeugResponse

from display.access.signing import hand_in
from display.draft_data import DraftData
from display.draft_units import DraftUnits
from display.forms import FormFault, Tapped
from display.recipe_words import RecipeWords
from display.request import Message, doors, page, person_id, say, showing
from orchestrator.core.draft_book import DraftRecord
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CrewId, RecipeId
from orchestrator.core.models import Kitchen, Process
from orchestrator.core.models.recipe import Colour, Measure
from orchestrator.core.models.recipe_text import RecipeFault, RecipeRead
from orchestrator.core.recipe_commands import WriteDraft
from orchestrator.core.recipe_differences import Difference, differences

pages = Blueprint("drafts", __name__)

_BARE: Final = {
    "id": "",
    "name": "",
    "code": "",
    "makes": "product",
    "yields": "",
    "batch": {"least": "", "most": ""},
    "steps": [{"id": "weigh", "process": "weigh", "title": ""}],
}
_LONGEST_TEXT: Final = 50_000


@pages.get("/drafts")
def drafts_page() -> str:
    """Those in work, and those put away."""
    picture = showing()
    drafts = sorted(picture.snapshot.state.drafts.drafts.values(), key=lambda one: one.at, reverse=True)
    names = {recipe.id: recipe.name for recipe in picture.kitchen.recipes}
    groups = [("drafts_in_work", [d for d in drafts if not d.away]), ("drafts_away", [d for d in drafts if d.away])]
    return page("drafts.html", groups=groups, names=names)


@pages.get("/drafts/new")
def new_page() -> str | tuple[str, int]:
    """A change of a recipe (``?of=``), a copy of one (``?copy=``), or a blank."""
    picture = showing()
    of, copy = request.args.get("of", ""), request.args.get("copy", "")
    source = picture.kitchen.made_by(RecipeId(of or copy), None)
    if (of or copy) and source is None:
        return page("fault.html", title=picture.words("recipe_gone"), remedy=picture.words("recipe_gone_remedy")), 404
    data: Mapping[str, Any] = _BARE
    if source is not None:
        texts = picture.gateway.recipe_texts
        data = dict(texts.read(texts.write(source, picture.kitchen), picture.kitchen, source.id).data)
        data = {key: value for key, value in data.items() if key != "revision"}
        if copy:
            data = {**data, "id": f"{source.id}-2"[:60], "name": f"{source.name} 2", "code": ""}
    return editing(
        DraftData(data, units=_units()), RecipeId(of) if of else None, None, mode=request.args.get("as", "form")
    )


@pages.get("/drafts/<int:number>/edit")
def edit_page(number: int) -> str | tuple[str, int]:
    """A draft written anew; its trials stay as they were tried."""
    picture = showing()
    draft = picture.snapshot.state.drafts.drafts.get(number)
    if draft is None:
        return draft_gone()
    texts = picture.gateway.recipe_texts
    data = texts.read(texts.write(draft.recipe, picture.kitchen), picture.kitchen, draft.of).data
    told = {key: value for key, value in data.items() if key != "revision"}
    held = DraftData(told, units=_units())
    return editing(held, draft.of, draft, mode=request.args.get("as", "form"), note=draft.note)


def _units() -> DraftUnits:
    """As the reader measures."""
    f = showing().formats
    return DraftUnits(us=f.us, fahrenheit=f.unit == "°F")


def draft_gone() -> tuple[str, int]:
    """There is no draft of that number."""
    w = showing().words
    return page("fault.html", title=w("draft_gone"), remedy=w("draft_gone_remedy")), 404


@pages.post("/drafts/edit")
def edited() -> WerkzeugResponse | tuple[str, int]:
    """Steps added, moved or taken out; form to text and back; checked; or put on record."""
    picture = showing()
    form = request.form
    of = RecipeId(form["of"]) if form.get("of") else None
    number = form.get("draft", "")
    draft = picture.snapshot.state.drafts.drafts.get(int(number)) if number.isdigit() and len(number) < 9 else None
    act, mode, note = form.get("do", "check"), form.get("mode", "form"), form.get("note", "")[:500]
    if mode == "text":
        text = _uploaded() or form.get("text", "")[:_LONGEST_TEXT]
        held = None
    else:
        units = DraftUnits(us=form.get("typed_in") == "us", fahrenheit=form.get("degrees") == "F")
        held = DraftData.of_form(form, units)
        if ":" in act:
            return make_response(editing(held, of, draft, note=note, opened=held.change(act)))
        text = picture.gateway.recipe_texts.write_data(held.data)
    read = picture.gateway.recipe_texts.read(text, picture.kitchen, of)
    shown = DraftData(held.data if held is not None else read.data, read.faults, _units())
    if act == "as-text":
        return make_response(editing(shown, of, draft, mode="text", text=text, note=note, read=read))
    if act == "as-form" and read.data:
        return make_response(editing(shown, of, draft, note=note, read=read))
    if act == "save" and read.recipe is not None:
        told = _overtaken(of, draft) or _saved(read, of, draft, note)
        if isinstance(told, int):
            return redirect(f"/drafts/{told}", 303)
        return make_response(editing(shown, of, draft, mode=mode, text=text, note=note, read=read, refused=told), 422)
    status = 422 if act == "save" else 200
    return make_response(editing(shown, of, draft, mode=mode, text=text, note=note, read=read), status)


def since(of: RecipeId | None, draft: DraftRecord | None, shown: str = "") -> tuple[int, tuple[Difference, ...]]:
    """Which revision is in use by now, and in what it differs from the one that was before the eyes of whoever writes.

    Args:
        of: The recipe that would be changed; none: a new one.
        draft: What is written on; none: something that is not yet on record.
        shown: The revision that the form was shown beside, as it says itself.
    """
    kitchen = showing().kitchen
    present = kitchen.made_by(of, None) if of is not None else None
    if present is None or of is None:
        return 0, ()
    known = int(shown) if shown.isdigit() and len(shown) < 9 else draft.recipe.revision - 1 if draft is not None else 0
    before = kitchen.made_by(of, known)
    return present.revision, differences(before, present) if before is not None and before is not present else ()


def _overtaken(of: RecipeId | None, draft: DraftRecord | None) -> tuple[str, str] | None:
    """Another revision came while it was written: it is shown once before anything goes on record."""
    number, other = since(of, draft, request.form.get("seen", ""))
    return (showing().words("draft_since", number=number), showing().words("draft_since_save")) if other else None


def _uploaded() -> str:
    """A file that was sent, as text; bytes that are no UTF-8 become marks that the reader complains of."""
    sent = request.files.get("file")
    return sent.stream.read(_LONGEST_TEXT).decode("utf-8-sig", "replace") if sent is not None and sent.filename else ""


def _saved(read: RecipeRead, of: RecipeId | None, draft: DraftRecord | None, note: str) -> int | tuple[str, str]:
    """Its number; or why it is not on record, and what would be accepted."""
    picture = showing()
    assert read.recipe is not None
    form = Tapped(request.form, picture, person_id())
    try:
        told = form.base() | {"person": CrewId(form.need("person"))}
    except FormFault as fault:
        return fault.says, fault.remedy
    number = draft.number if draft is not None else None
    command = WriteDraft(**told, draft=number, recipe=read.recipe, of=of, note=note)
    try:
        outcome = hand_in(doors()[0], command)
    except TimeoutError:
        return picture.words("late_answer"), picture.words("late_remedy")
    if isinstance(outcome, Refusal):
        return picture.sentences.refusal(outcome, outcome.thing)
    say(Message("done", picture.words("done_draft")))
    book = doors()[0].snapshot().state.drafts.drafts
    mine = [n for n, one in book.items() if one.recipe == read.recipe and one.by == told["person"]]
    return number or max(mine, default=max(book, default=1))


def editing(
    held: DraftData,
    of: RecipeId | None,
    draft: DraftRecord | None,
    *,
    mode: str = "form",
    text: str = "",
    note: str = "",
    read: RecipeRead | None = None,
    refused: tuple[str, str] | None = None,
    opened: int | None = None,
) -> str:
    """The page on which it is written."""
    picture = showing()
    texts = picture.gateway.recipe_texts
    context = {
        "d": held,
        "of": of,
        "draft": draft,
        "mode": "text" if mode == "text" else "form",
        "text": text or texts.write_data(held.data),
        "note": note,
        "read": read,
        "faults": [(_place(held, fault), fault) for fault in read.faults] if read is not None else [],
        "refused": refused,
        "opened": {opened}
        | {f.where[1] for f in (read.faults if read else ()) if f.where[:1] == ("steps",) and f.where[1:]},
        "crew": picture.kitchen.crew,
        "since": since(of, draft, "" if draft is not None else request.form.get("seen", "")),
        "said": RecipeWords(picture),
        "request_person": request.form.get("person", ""),
        **_choices(picture.kitchen),
    }
    return page("draft_edit.html", **context)


def _place(held: DraftData, fault: RecipeFault) -> str:
    """Where a fault is, in words of the form."""
    w, where = showing().words, list(fault.where)
    parts = []
    if where[:1] == ["steps"] and len(where) > 1 and isinstance(where[1], int):
        parts.append(w("draft_step_number", number=where[1] + 1, title=held.text(f"steps.{where[1]}.title") or "–"))
        where = where[2:]
    for part in where:
        key = f"recipe_key_{part}"
        parts.append(str(part + 1) if isinstance(part, int) else w(key) if w.has(key) else str(part))
    return " › ".join(parts) or w("recipe_differs_whole")


def _choices(kitchen: Kitchen) -> dict[str, object]:
    return {
        "processes": [process.value for process in Process],
        "kinds": sorted({machine.kind for machine in kitchen.equipment}),
        "stores": sorted({machine.kind for machine in kitchen.equipment if machine.store}),
        "skills": sorted({skill for member in kitchen.crew for skill in member.skills}),
        "measures_at_end": [measure.value for measure in Measure],
        "colours": [colour.value for colour in Colour],
        "components": [recipe for recipe in kitchen.recipes if recipe.makes == "component"],
        "known_ingredients": sorted(
            {row.name for row in kitchen.ingredients}
            | {t.ingredient for r in kitchen.recipes for s in r.steps for t in s.takes if t.ingredient}
        ),
        "limits": [limit.id for limit in kitchen.limits],
        "stations": kitchen.stations,
    }


@pages.get("/drafts/<int:number>.yaml")
def draft_text(number: int) -> Response | tuple[str, int]:
    """As YAML, the same as a file of the kitchen's folder."""
    picture = showing()
    draft = picture.snapshot.state.drafts.drafts.get(number)
    if draft is None:
        return draft_gone()
    response = make_response(picture.gateway.recipe_texts.write(draft.recipe, picture.kitchen))
    response.mimetype = "application/yaml"
    response.headers["Content-Disposition"] = f'attachment; filename="{draft.recipe.id}.yaml"'
    return response
