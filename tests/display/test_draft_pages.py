"""Writing a draft by form and as text, trying it, and on to its approval."""

import io
import json
from dataclasses import dataclass, field
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.changing import unpacked
from display.views import CoreViews
from orchestrator.core.commands import COMMANDS
from orchestrator.core.models import Kitchen, PlanRequest
from orchestrator.core.models.change import AddRecipe, ReviseRecipe
from orchestrator.core.state import State
from orchestrator.kitchen.read import read_kitchen
from orchestrator.planner.plan import make_plan
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway

CONFIG = Path(__file__).parents[2] / "config"


@cache
def kitchen() -> Kitchen:
    return read_kitchen(CONFIG)


class Fields(HTMLParser):
    """What a browser without script would send of the form on a page, no button pressed."""

    def __init__(self, html: str, form: str = "draft") -> None:
        super().__init__()
        self.fields: dict[str, str] = {}
        self._mine, self._form, self._select, self._area, self._text = False, form, "", "", ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {key: value or "" for key, value in attrs}
        if tag == "form":
            self._mine = told.get("id") == self._form or told.get("action", "").endswith(self._form)
        if not self._mine:
            return
        name, kind = told.get("name", ""), told.get("type", "text")
        if tag == "input" and name and kind not in ("checkbox", "file"):
            self.fields[name] = told.get("value", "")
        if tag == "input" and kind == "checkbox" and "checked" in told:
            self.fields[name] = told["value"]
        if tag == "select":
            self._select = name
        if tag == "option" and self._select and ("selected" in told or self._select not in self.fields):
            self.fields[self._select] = told.get("value", "")
        if tag == "textarea":
            self._area, self._text = name, ""

    def handle_data(self, data: str) -> None:
        self._text += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea" and self._mine:
            self.fields[self._area] = self._text.removeprefix("\n")
        if tag == "select":
            self._select = ""


@dataclass
class House:
    """A kitchen with somebody at its screen."""

    gateway: KitchenGateway = field(
        default_factory=lambda: KitchenGateway(State(kitchen=kitchen()), kitchen().planning_start)
    )

    def __post_init__(self) -> None:
        self.client: FlaskClient = create_app(self.gateway, CoreViews()).web.test_client()
        self.client.set_cookie("person", "manager")

    def form(self, path: str) -> dict[str, str]:
        answer = self.client.get(path)
        assert answer.status_code == 200, path
        return Fields(answer.text).fields

    def press(self, fields: dict[str, str], do: str, status: int = 200) -> str:
        answer = self.client.post("/drafts/edit", data={**fields, "do": do})
        assert answer.status_code == status, answer.text[:2000]
        return answer.text

    def saved(self, fields: dict[str, str]) -> str:
        answer = self.client.post("/drafts/edit", data={**fields, "do": "save"})
        assert answer.status_code == 303, text(answer.text)
        return answer.headers["Location"]


def text(html: str) -> str:
    return Page(html.replace("<", " <")).text.replace("\u00a0", " ")


def sugar_at(fields: dict[str, str]) -> str:
    name = next(key for key, value in fields.items() if value == "Sugar" and key.endswith(".ingredient"))
    return name.replace(".ingredient", ".amount")


@pytest.mark.parametrize("recipe", [recipe.id for recipe in read_kitchen(CONFIG).recipes])
def test_form_sent_as_it_is_writes_the_same_recipe(recipe: str) -> None:
    house = House()
    assert house.saved(house.form(f"/drafts/new?of={recipe}")) == "/drafts/1"
    draft = house.gateway.state.drafts.drafts[1]
    present = next(one for one in kitchen().recipes if one.id == recipe)
    assert draft.recipe == present.model_copy(update={"revision": 2})
    assert draft.by == "manager"


def test_amount_changed_in_the_form_is_on_record_and_shown_as_what_differs() -> None:
    house = House()
    fields = house.form("/drafts/new?of=damson-sorbet")
    fields[sugar_at(fields)] = "600 g"
    assert house.saved({**fields, "note": "rounder"}) == "/drafts/1"
    shown = text(house.client.get("/drafts/1").text)
    assert "Mix the damson sorbet Takes · Sugar · amount 550 g 600 g" in shown
    assert "rounder" in shown


def test_steps_are_added_moved_and_taken_out_without_losing_what_was_typed() -> None:
    house = House()
    fields = house.form("/drafts/new?of=damson-sorbet")
    fields[sugar_at(fields)] = "six hundred"
    titles = [fields[f"f:steps.{n}.title"] for n in range(6)]
    fields = Fields(house.press(fields, "add:0")).fields
    assert (fields["f:steps.1.title"], fields["f:steps.2.title"]) == ("", titles[1])
    fields["f:steps.1.title"] = "Rest it"
    fields = Fields(house.press(fields, "down:1")).fields
    assert [fields[f"f:steps.{n}.title"] for n in range(3)] == [titles[0], titles[1], "Rest it"]
    fields = Fields(house.press(fields, "up:2")).fields
    fields = Fields(house.press(fields, "out:1")).fields
    assert [fields[f"f:steps.{n}.title"] for n in range(6)] == titles
    assert fields[sugar_at(fields)] == "six hundred"


def test_every_fault_of_a_form_stands_at_its_field_with_a_remedy_and_nothing_is_lost() -> None:
    house = House()
    fields = house.form("/drafts/new?of=damson-sorbet")
    fields |= {sugar_at(fields): "lots", "f:steps.1.duration.usual": "35", "f:batch.most": ""}
    html = house.press(fields, "save", 422)
    shown = text(html)
    assert "Step 1: Mix the damson sorbet › Takes › 2 › amount" in shown
    assert "Step 2: Churn the damson sorbet › Minutes › usual" in shown
    assert "write '45 min', '12 h'" in shown
    again = Fields(html).fields
    assert again[sugar_at(fields)] == "lots"
    assert again["f:steps.1.duration.usual"] == "35"
    assert "One batch : 'most' is missing" in shown
    assert html.count('aria-invalid="true"') == 2  # what is missing has no field of its own to be wrong
    assert house.gateway.state.drafts.drafts == {}


def test_form_and_text_lead_to_each_other_with_all_that_was_typed() -> None:
    house = House()
    fields = house.form("/drafts/new?of=damson-sorbet")
    fields[sugar_at(fields)] = "lots"
    written = Fields(house.press(fields, "as-text")).fields
    assert "amount: lots" in written["text"]
    again = Fields(house.press(written, "as-form")).fields
    assert again[sugar_at(again)] == "lots"


def test_text_with_faults_names_the_lines_and_keeps_the_text() -> None:
    house = House()
    fields = house.form("/drafts/new?as=text")
    fields["text"] = "id: plum\nname: Plum\n  code: P\n"
    html = house.press(fields, "save", 422)
    assert "line 3" in text(html)
    assert Fields(html).fields["text"] == fields["text"].strip() or Fields(html).fields["text"] == fields["text"]


def test_file_is_imported_and_exported_as_the_kitchens_own() -> None:
    house = House()
    raw = (CONFIG / "recipes" / "damson-sorbet.yaml").read_text(encoding="utf-8")
    fresh = raw.replace("id: damson-sorbet", "id: plum-sorbet").replace("code: S", "code: PS")
    fields = {**house.form("/drafts/new?as=text"), "text": "", "do": "save"}
    sent = {**fields, "file": (io.BytesIO(fresh.encode()), "plum-sorbet.yaml")}
    answer = house.client.post("/drafts/edit", data=sent, content_type="multipart/form-data")
    assert answer.status_code == 303, text(answer.text)
    exported = house.client.get("/drafts/1.yaml")
    assert exported.mimetype == "application/yaml"
    read = house.gateway.recipe_texts.read(exported.text, kitchen(), None)
    assert read.recipe == house.gateway.state.drafts.drafts[1].recipe


def test_draft_without_a_name_is_asked_for_one_and_kept() -> None:
    house = House()
    fields = {**house.form("/drafts/new?of=damson-sorbet"), "person": "", "note": "keep me"}
    html = house.press(fields, "save", 422)
    assert "keep me" in html
    assert "Who" in text(html)


@pytest.mark.parametrize("data", ["", "[]", '{"steps": 3}', '{"steps": [1, null, {"takes": 4}]}', "{", "9" * 5000])
def test_form_with_a_damaged_whole_is_answered(data: str) -> None:
    house = House()
    fields = {
        "data": data,
        "mode": "form",
        "f:steps.0.takes.0.amount": "1 kg",
        "f:steps.99999.title": "x",
        "f:__x__": "y",
    }
    for do in ("check", "up:1", "add:x", "out:900", "as-text", "save"):
        assert house.client.post("/drafts/edit", data={**fields, "do": do}).status_code in (200, 422)


def a_draft(house: House) -> None:
    fields = house.form("/drafts/new?of=damson-sorbet")
    fields[sugar_at(fields)] = "600 g"
    house.saved(fields)


def a_trial(house: House, **more: str) -> int:
    answer = house.client.get("/drafts/1?amount=2.3")
    fields = Fields(answer.text, "/drafts/1/trials").fields
    assert fields["factor"] == "0.5"  # 2.3 L and 0.2 L in the churn are half of 5 L
    assert "Sugar" in answer.text
    told = {"brix": "28,5", "weight": "2.2", "notes": "Rounder.\nMore damson.", "made": "2026-11-25T06:00", **more}
    return house.client.post("/drafts/1/trials", data={**fields, **told}).status_code


def test_trial_is_weighed_out_entered_and_compared_with_others() -> None:
    house = House()
    a_draft(house)
    assert a_trial(house, **{"used:mix:1": "310 g"}) == 303
    assert a_trial(house, notes="Too sweet.") == 303
    shown = text(house.client.get("/drafts/1").text)
    assert "Trial 1 Trial 2" in shown
    assert "°Brix 28.5 28.5" in shown
    assert "Sugar 620 g asked 600 g 600 g" in shown  # 310 g at half size
    trials = house.gateway.state.drafts.drafts[1].trials
    assert [one.trial.notes for one in trials] == ["Rounder.\nMore damson.", "Too sweet."]


@pytest.mark.parametrize(
    ("field", "typed"), [("brix", "200"), ("used:mix:1", "much"), ("made", ""), ("person", ""), ("weight", "-1")]
)
def test_trial_that_cannot_be_says_so_and_keeps_what_was_typed(field: str, typed: str) -> None:
    house = House()
    a_draft(house)
    fields = Fields(house.client.get("/drafts/1?amount=2.3").text, "/drafts/1/trials").fields
    told = {**fields, "notes": "Keep these notes", "made": "2026-11-25T06:00", field: typed}
    answer = house.client.post("/drafts/1/trials", data=told)
    assert answer.status_code == 400
    assert "Keep these notes" in answer.text
    assert 'name="factor" value="0.5"' in answer.text
    assert house.gateway.state.drafts.drafts[1].trials == ()


def test_approval_leads_to_the_page_that_shows_what_it_does() -> None:
    house = House()
    a_draft(house)
    a_trial(house, **{"used:mix:1": "310 g"})
    for query, sugar in (("", "0.6 kg"), ("?used=yes", "0.62 kg")):
        answer = house.client.get(f"/drafts/1/trials/1/approve{query}")
        assert answer.status_code == 303
        address = parse_qs(urlsplit(answer.headers["Location"]).query)
        (change,) = unpacked(address["c"][0])
        assert isinstance(change, ReviseRecipe)
        assert (change.draft, change.trial, change.recipe.revision) == (1, 1, 2)
        assert json.loads(change.recipe.model_dump_json())["steps"][0]["takes"][1]["amount"] == sugar
        assert address["back"] == ["/drafts/1"]
        shown = text(house.client.get(answer.headers["Location"]).text)
        assert "Damson sorbet made by revision 2 (draft 1, trial 1)" in shown


def test_new_recipe_is_approved_as_one_more() -> None:
    house = House()
    fields = house.form("/drafts/new?copy=damson-sorbet")
    assert fields["f:id"] == "damson-sorbet-2"
    house.saved({**fields, "f:code": "PS", "f:name": "Plum sorbet"})
    a_trial(house)
    answer = house.client.get("/drafts/1/trials/1/approve")
    (change,) = unpacked(parse_qs(urlsplit(answer.headers["Location"]).query)["c"][0])
    assert isinstance(change, AddRecipe)
    assert change.recipe.revision == 1


def test_approval_is_not_carried_out_before_it_is_known_what_it_does_to_the_orders() -> None:
    """There is a plan, and nobody answers what would come of the change: it is kept back."""
    plan = make_plan(PlanRequest(kitchen=kitchen(), now=kitchen().planning_start), effort="repair", seconds=1).plan
    gateway = KitchenGateway(State(kitchen=kitchen(), plan=plan), kitchen().planning_start)
    house = House(gateway)
    house.saved(house.form("/drafts/new?of=basil-custard"))
    trial = {"factor": 1, "made": gateway.now}
    told = {"kind": "record_trial", "command_id": "t", "draft": 1, "trial": trial, "person": "manager"}
    gateway.submit(COMMANDS.validate_python(told))
    where = house.client.get("/drafts/1/trials/1/approve").headers["Location"]
    fields = Fields(house.client.get(where).text, "/changes").fields
    answer = house.client.post("/changes", data={**fields, "person": "manager", "reason": "rounder"})
    assert answer.status_code == 303
    assert "still being worked out" in text(house.client.get(where).text)
    assert gateway.state.kitchen is not None
    assert gateway.state.kitchen.former == ()


def test_draft_is_put_away_and_taken_out_again() -> None:
    house = House()
    a_draft(house)
    for away, word in (("yes", "Put away"), ("no", "In work")):
        assert house.client.post("/drafts/1/away", data={"away": away}).status_code == 303
        assert word in text(house.client.get("/drafts").text)
    assert not house.gateway.state.drafts.drafts[1].away


@pytest.mark.parametrize(
    "path", ["/drafts/9", "/drafts/9/edit", "/drafts/9.yaml", "/drafts/9/trials/1/approve", "/drafts/new?of=x"]
)
def test_draft_that_is_not_there_says_where_to_look(path: str) -> None:
    assert House().client.get(path).status_code == 404


def swapped(house: House) -> None:
    swap = {"change": "swap ingredient", "ingredient": "Sugar", "by": "Cane sugar", "allergens": ["soy"]}
    told = {"kind": "change_kitchen", "command_id": "swap", "person": "manager", "changes": [swap]}
    house.gateway.submit(COMMANDS.validate_python(told))


def test_draft_shows_what_came_into_use_since_it_was_written() -> None:
    house = House()
    a_draft(house)
    swapped(house)
    for path in ("/drafts/1", "/drafts/1/edit"):
        shown = text(house.client.get(path).text)
        assert "Revision 2 has come into use since this was written" in shown
        assert "Cane sugar" in shown
    house.saved(house.form("/drafts/1/edit"))
    assert house.gateway.state.drafts.drafts[1].recipe.revision == 3


def test_revision_that_comes_while_somebody_writes_is_shown_before_anything_goes_on_record() -> None:
    house = House()
    fields = house.form("/drafts/new?of=damson-sorbet")
    swapped(house)
    shown = text(house.press(fields, "save", 422))
    assert "Revision 2 has come into use since this was written" in shown
    assert "Cane sugar" in shown
    assert house.gateway.state.drafts.drafts == {}
    again = Fields(house.press(fields, "save", 422)).fields
    house.saved(again)
    assert house.gateway.state.drafts.drafts[1].recipe.revision == 3
