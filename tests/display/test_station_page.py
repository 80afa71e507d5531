"""The station screen as rendered: what stands on it, which forms it has, and what it must not have."""

from zoneinfo import ZoneInfo

import pytest
from flask.testing import FlaskClient

from display import panels
from display.app import create_app
from display.panels import Showing
from display.reader import Reader
from orchestrator.core.views.models import StationView
from tests.display.page import Page
from tests.fakes import canned, canned_trouble
from tests.fakes.gateway import FakeGateway

VIEWS = {
    "busy": canned.busy_station,
    "trouble": canned.troubled_station,
    "idle": canned.idle_station,
    "due": canned.due_station,
    "followed": canned_trouble.followed_station,
}


def client_of(view: StationView, **more: bool) -> FlaskClient:
    gateway = FakeGateway(view, **more)  # type: ignore[arg-type]
    return create_app(gateway, gateway).web.test_client()


def station(view: StationView) -> Page:
    answer = client_of(view).get("/station/stove")
    assert answer.status_code == 200
    return Page(answer.text)


@pytest.mark.parametrize("kind", VIEWS)
def test_every_state_is_well_formed_without_inline_style_or_script(kind: str) -> None:
    page = station(VIEWS[kind]())
    assert (page.inline_styles, page.inline_scripts) == ([], [])
    assert len(page.ids) == len(set(page.ids))
    assert "PRACTICE" in page.text
    assert "Local codes and licensed practice decide." in page.text


def test_busy_station_shows_figures_arrival_and_three_actions_in_order() -> None:
    answer = client_of(canned.busy_station()).get("/station/stove").text
    page = Page(answer)
    for words in (
        "Cook custard base to 82 °C",
        "74.6 °C",
        "rising 1.6° a minute",
        "4–6 min",
        "09:46–09:48",
        "C2 · step 4 of 6",
        "W1 · tray 4 of 9",
        "27",
        "of 80",
    ):
        assert words.replace(" ", " ") in page.text.replace("\u00a0", " "), words
    assert answer.index("Finish step") < answer.index("Add time") < answer.index("Report problem")
    assert page.links["Finish step"] == "/task/C2.cook#finish"  # it asks for a volume
    assert page.form("/acts/tray").fields["pieces"] == "9"


def test_target_met_shows_when_and_how_long_it_was_held() -> None:
    held = canned.heating(celsius=82.6, reached_at=canned.later(-6), met_at=canned.later(-5), held_min=6.0)
    cook = canned.COOK.model_copy(update={"temperature": held})
    text = station(canned.busy_station(in_hand=(cook,))).text.replace("\u00a0", " ")
    assert "82 °C reached09:36held 6 min, 1 min asked" in text
    assert "Target met: finish the step." in text
    assert "4–6 min" not in text


def test_target_reached_but_not_held_counts_the_minutes() -> None:
    held = canned.heating(celsius=82.6, reached_at=canned.later(-2), held_min=2.4, hold_min=5)
    cook = canned.COOK.model_copy(update={"temperature": held})
    text = station(canned.busy_station(in_hand=(cook,))).text.replace("\u00a0", " ")
    assert "82 °C reached 09:402 of 5 minheld" in text
    assert "Target met" not in text
    spanish = client_of(canned.busy_station(in_hand=(cook,)))
    spanish.set_cookie("language", "es")
    assert "2 de 5 minmantenido" in Page(spanish.get("/station/stove").text).text.replace("\u00a0", " ")


@pytest.mark.parametrize(("age_min", "says"), [(0, "0 s ago"), (1.4, "84 s ago"), (3.2, "3 min ago")])
def test_reading_says_how_old_it_is(age_min: float, says: str) -> None:
    heating = canned.heating(measured_at=canned.later(-age_min))
    cook = canned.COOK.model_copy(update={"temperature": heating})
    text = station(canned.busy_station(in_hand=(cook,))).text.replace("\u00a0", " ")
    assert f"rising 1.6° a minute · {says}" in text


def test_allergens_and_cautions_stand_where_the_work_is_done_each_once() -> None:
    said = ("Hot steam", "Hot steam: dry cloths", "Allergens: milk, egg")
    cook = canned.COOK.model_copy(update={"cautions": said})
    text = station(canned.busy_station(in_hand=(cook,))).text.replace("\u00a0", " ")
    assert "Contains egg, milkNever above 85 °C · Hot steam: dry cloths Finish step" in text
    assert "Allergens:" not in text


def test_step_over_its_usual_end_says_by_how_much() -> None:
    late = canned.COOK.model_copy(update={"started_at": canned.later(-40), "planned_end": canned.later(0)})
    text = station(canned.busy_station(in_hand=(late,))).text.replace("\u00a0", " ")
    assert "15 min over its usual end." in text
    mix = canned.task("C2.mix", "Mix", status="in hand", started_at=canned.later(-33), planned_end=canned.later(0))
    text = station(canned.busy_station(in_hand=(mix,))).text.replace("\u00a0", " ")
    assert "+8:00 over its planned end, 09:34" in text  # the live plan's end moves on with the clock


def test_clean_down_says_for_whom_it_is_what_must_be_gone_and_what_to_beware_of() -> None:
    clean = canned.task(
        "churn.clean.S1",
        "Clean the churn fully",
        kind="clean",
        lot="S1",
        recipe_name="Damson sorbet",
        step_number=0,
        step_count=0,
        quantity=None,
        equipment_name="Churn",
        after_lot="H2",
        removes=("egg", "hazelnut", "milk"),
        removes_colour="medium",
        cautions=("Turning blade: guard shut",),
        start=-2,
    )
    text = station(canned.busy_station(in_hand=(clean,))).text.replace("\u00a0", " ")
    for words in (
        "After H2, before S1 (damson sorbet).",
        "Must be gone: egg, hazelnut, milk.",
        "No trace of the medium colour before may show.",
        "Turning blade: guard shut",
        "forS1Damson sorbet",
    ):
        assert words in text, words
    assert "step 0" not in text


def test_next_here_says_what_comes_after_a_day() -> None:
    later = canned.busy_station(later_here=31, later_from=canned.later(26 * 60))
    assert "Later here: 31, from Fri 11:42" in station(later).text
    assert "Later here" not in station(canned.busy_station()).text


def test_last_tray_is_only_what_is_left() -> None:
    bake = canned.BAKE.model_copy(update={"pieces_made": 72})
    page = station(canned.busy_station(in_hand=(bake,)))
    assert page.form("/acts/tray").fields["pieces"] == "8"
    done = canned.BAKE.model_copy(update={"pieces_made": 80})
    assert station(canned.busy_station(in_hand=(done,))).links["Finish step"] == "/task/W1.bake#finish"


def test_horizon_words_windows_like_their_bars() -> None:
    text = station(canned.busy_station()).text.replace("\u00a0", " ")
    for words in (
        "Opens in 6 min",
        "plan 10:00 · by 11:40",
        "Open now",
        "plan 10:30 · by Fri 17:30",
        "Opens 10:21–10:34",
        "to 5 °C · by 12:10",
        "Opens in 3 h 18",
    ):
        assert words in text, words


def test_trouble_replaces_stores_by_the_alarm_and_keeps_undo() -> None:
    page = station(canned.troubled_station())
    text = page.text.replace("\u00a0", " ")
    assert "Freezer too warm: −12.4 °C" in text
    # Beside the button for the other alarm: what still helps comes first, and nothing is cut.
    assert "Limit −15 °C. Check the door first. Move the lots to another place. Since 09:22 (20 min)." in text
    assert "and 1 more" in text
    assert "Fridge 2.8" not in text
    assert page.form("/acts/seen").fields["alarm"] == "store_warm:freezer"
    assert page.form("/acts/undo").fields["act"] == "41"
    for words in (
        "At risk: 40 min late",
        "Missed by 12 min",
        "was due 09:30",
        "Shuts in 21 min",
    ):
        assert words in text, words


def test_silent_probe_shows_no_reading_no_arrival_and_asks_for_a_hand_reading() -> None:
    page = station(canned.troubled_station())
    assert "No reading" in page.text
    assert "74.6" not in page.text
    assert "4–6" not in page.text
    assert page.form("/acts/temperature").buttons == ["Enter temperature"]


def test_probe_that_does_not_count_since_the_clock_was_set_back_says_from_when_and_asks_for_a_hand_probe() -> None:
    waits = canned.COOK.model_copy(update={"temperature": canned.heating(counts_from=canned.later(48))})
    text = station(canned.busy_station(in_hand=(waits, canned.BAKE))).text.replace("\u00a0", " ")
    assert "Use the hand probe until 10:30. The clock was set back." in text
    assert "set back" not in station(canned.busy_station()).text


def test_due_task_offers_start_and_says_which_gates_still_fail() -> None:
    page = station(canned.due_station())
    text = page.text.replace("\u00a0", " ")
    assert "Not yet: Base at most 4 °C: now 6.2 °C" in text
    assert "I checked: Churn pre-cooled" in text  # no probe can tell
    assert page.form("/acts/start").fields["task"] == "B1.churn"
    assert "+4:00" in text


def test_idle_station_says_how_long_what_next_and_how_the_night_went() -> None:
    page = station(canned.idle_station())
    text = page.text.replace("\u00a0", " ")
    for words in (
        "nothing in hand for",
        "28 min ",
        "Next: Weigh custard base, 10:10",
        "You may start now",
        "Last 12 hours: no alarm.",
        "All probes heard: 5.",
    ):
        assert words in text, words
    assert page.form("/acts/start").buttons == ["Start now"]


def test_forms_of_a_page_load_carry_their_own_command_ids() -> None:
    page = station(canned.busy_station())
    # Forms without a task stand in sheets that only a script opens: it makes their ids.
    acts = [form for form in page.forms if form.action.startswith("/acts/") and form.fields.get("task") != ""]
    ids = [form.fields.get("command_id", "") for form in acts]
    assert len(ids) == len(set(ids)) > 0
    assert "" not in ids
    assert all(ids)


def test_streamed_panels_carry_no_command_id_and_nothing_of_the_person() -> None:
    gateway = FakeGateway()
    app = create_app(gateway, gateway)
    showing = Showing(gateway, gateway, gateway.snapshot(), Reader(), app.web.jinja_env)
    for name in ("station-sill", "station-hand", "station-horizon"):
        assert "command_id" not in panels.render_panel(showing, f"{name}:stove")


def test_practice_is_not_said_in_a_real_kitchen() -> None:
    assert "PRACTICE" not in client_of(canned.busy_station(), practice=False).get("/station/stove").text


def test_details_page_has_method_cautions_allergens_and_every_act() -> None:
    page = Page(client_of(canned.busy_station()).get("/task/C2.cook").text)
    for words in ("Strain into a clean pan.", "Hot sugar and milk burn", "egg, milk", "licensed practice", "640"):
        assert words in page.text, words
    actions = {form.action for form in page.forms}
    assert actions == {"/acts/finish", "/acts/extend", "/acts/temperature", "/acts/problem"}
    assert page.form("/acts/finish").fields["measure"] == "volume_l"


def test_details_of_a_waiting_task_offer_start_and_override_with_a_reason() -> None:
    page = Page(client_of(canned.busy_station()).get("/task/B1.churn").text)
    starts = [form for form in page.forms if form.action == "/acts/start"]
    assert [("override_reason" in form.fields) for form in starts] == [False, True]
    assert "not met" in page.text


@pytest.mark.parametrize("path", ["/station/nowhere", "/task/nothing", "/nowhere"])
def test_unknown_page_says_where_to_go(path: str) -> None:
    answer = client_of(canned.busy_station()).get(path)
    assert answer.status_code == 404
    assert "to the station" in Page(answer.text).text


def test_pages_forbid_scripts_and_styles_from_elsewhere() -> None:
    policy = client_of(canned.busy_station()).get("/station/stove").headers["Content-Security-Policy"]
    assert "script-src 'self'" in policy
    assert "unsafe" not in policy


@pytest.mark.parametrize(
    ("kind", "status", "skips", "starts"),
    [
        ("work", "waiting", True, True),
        ("work", "in hand", False, False),
        ("clean", "waiting", False, True),
        ("stay", "in hand", False, False),
        ("stay", "waiting", False, False),
    ],
)
def test_details_page_offers_only_what_would_be_taken(kind: str, status: str, skips: bool, starts: bool) -> None:
    task = canned.task("C9.x", "Something", kind=kind, status=status, started_at=canned.later(-3))
    page = Page(client_of(canned.busy_station(next_here=(task,))).get("/task/C9.x").text)
    actions = {form.action for form in page.forms}
    assert ("/acts/skip" in actions, "/acts/start" in actions) == (skips, starts)
    assert ("It begins and ends by itself" in page.text) == (kind == "stay")


def test_lot_on_hold_leads_to_its_decision() -> None:
    held = canned.COOK.model_copy(update={"lot_on_hold": True})
    page = station(canned.busy_station(in_hand=(held,)))
    assert "C2 is on hold: a named person decides." in page.text
    assert page.links["Decide about C2"] == "/lots"


def test_measured_temperature_says_what_it_must_be_on_keys_that_have_a_minus() -> None:
    harden = canned.task(
        "H9.harden",
        "Harden",
        status="in hand",
        measure="temperature_c",
        target={"at_most": -15.0},
        started_at=canned.NOW,
    )
    text = client_of(canned.busy_station(next_here=(harden,))).get("/task/H9.harden").text
    assert "(must be at most \u221215\u00a0°C)" in text
    assert 'id="measured" inputmode="text"' in text
    assert "expected 5" not in text


def test_plan_that_waits_for_a_decision_is_said_at_the_station() -> None:
    assert "A new plan waits on the board" in station(canned.busy_station(proposal_waits=True)).text
    assert "A new plan waits" not in station(canned.busy_station()).text


def test_task_page_says_until_when_a_waiting_task_can_wait() -> None:
    later = canned.later(40)

    def says(**known: object) -> str:
        task = canned.task("C9.x", "Something", status="waiting", **known)
        return Page(client_of(canned.busy_station(next_here=(task,))).get("/task/C9.x").text).text

    when = f"{later.astimezone(ZoneInfo('Europe/London')):%H:%M}"
    assert f"latest start {when}" in says(latest_start=later, latest_is_exact=True)
    assert f"can wait until {when}, perhaps longer" in says(latest_start=later)
    assert [part for part in ("latest start", "can wait") if part in says()] == []


@pytest.mark.parametrize(
    ("told", "says", "says_not"),
    [
        pytest.param(
            {"upkeep": "pre-cool", "lot": "B1", "recipe_name": "Basil custard"},
            "It cools on its own; B1 (basil custard) follows at once.",
            "allergen",
            id="a pre-cool",
        ),
        pytest.param(
            {"upkeep": "day-end clean", "lot": None, "recipe_name": "", "after_lot": "H2", "removes": ("egg", "milk")},
            "After H2, the last run of the day: clean for whatever comes tomorrow.",
            "before (",
            id="a clean for the night",
        ),
    ],
)
def test_upkeep_says_what_it_is_for(told: dict[str, object], says: str, says_not: str) -> None:
    plain = {"kind": "clean", "step_number": 0, "step_count": 0, "quantity": None, "equipment_name": "Churn"}
    task = canned.task("churn.upkeep", "The churn", **plain, **told, start=-2)
    text = station(canned.busy_station(in_hand=(task,))).text.replace("\u00a0", " ")
    assert says in text
    assert says_not not in text


def test_step_done_at_a_weight_asks_for_it_and_says_when_it_is_expected() -> None:
    answer = client_of(canned.reducing_station(last_kg=None)).get("/station/stove").text
    assert "Weigh it now: done at 75 % of this first weight." in Page(answer).text
    assert Page(answer).form("/acts/weight").fields["task"] == "D1.reduce"
    later = Page(client_of(canned.reducing_station()).get("/station/stove").text)
    for words in ("3.42 kg", "done at 3 kg.", "Expected"):
        assert words in later.text
    assert (
        "Done: take it off." in Page(client_of(canned.reducing_station(last_kg=2.98)).get("/station/stove").text).text
    )


@pytest.mark.parametrize(
    ("window", "sooner"),
    [("safety", "Sooner it is refused: the lot would go past its safety limit"), ("quality", "Sooner only by a named")],
)
def test_step_whose_follower_would_find_no_machine_says_so_before_the_tap(window: str, sooner: str) -> None:
    view = canned_trouble.followed_station(window)
    says = "start from 09:46 on. Ice bath is free at 10:30, Chill the custard base must follow by 10:26"
    page = station(view)
    assert f"Not yet: {says}" in page.text
    assert "Whole milk" not in page.text  # the sentence has the room of the amounts: nothing of it is cut
    details = Page(client_of(view).get("/task/C2.cook").text).text
    assert f"Not yet: {says}. {sooner}" in details
    assert "Whole milk" in details


def test_step_that_would_take_the_machine_of_what_follows_says_who_needs_it() -> None:
    view = canned_trouble.followed_station(in_the_way=True)
    says = "start from 09:46 on. Chill the custard base needs Ice bath by 10:26, this would keep it to 10:30"
    assert f"Not yet: {says}" in station(view).text
    details = Page(client_of(view).get("/task/C2.cook").text).text
    assert f"{says}. Sooner only by a named person with a reason: what follows there" in details
