"""How the batch record tells a verdict: its text, margin, deciding readings, tolerance, and that it clears nothing."""

import html
from datetime import UTC, datetime, timedelta

import pytest
from jinja2 import Environment, PackageLoader

from display.app import create_app
from display.formats import Formats
from display.panels import named, told
from display.sentences import Sentences
from display.words import AsPrinted, Words
from orchestrator.core.models.limit import LimitId
from orchestrator.core.models.verdict import LegReached, LimitVerdict
from tests.display.page import Page
from tests.fakes import canned, canned_trouble
from tests.fakes.gateway import FakeGateway

MET_AT = datetime(2026, 11, 25, 10, 0, 25, tzinfo=UTC)


def _told(verdict: LimitVerdict) -> str:
    environment = Environment(loader=PackageLoader("display"), autoescape=True)
    words = Words("en")
    formats = Formats("UTC", "C", words)
    environment.globals.update(w=words, f=formats, s=Sentences(words, formats, MET_AT))
    environment.filters.update(told=told, named=named, printed=AsPrinted)
    template = environment.from_string(
        '{% from "macros/record.html" import verdict_words with context %}{{ verdict_words(v) }}'
    )
    return " ".join(template.render(v=verdict).split())


def test_verdict_on_record_names_text_margin_readings_tolerance_and_clears_nothing() -> None:
    verdict = LimitVerdict(
        limit=LimitId("frozen-dessert-mix"),
        title="Pasteurise a mix",
        applied="Town of Example, Ordinance 12",
        status="met",
        at=MET_AT,
        margin_degrees=0.5,
        margin_min=1.0,
        readings=((MET_AT, 80.5),),
        tolerance_degrees=1.0,
        within_tolerance=True,
    )
    assert _told(verdict) == (
        "Limit: Pasteurise a mix, by Town of Example, Ordinance 12: <b>met</b> (Wed 25 Nov 10:00), margin +0.5 °C, "
        "+1 min. Decided by 80.5 °C (Wed 25 Nov 10:00). <b>A thermometer off by 1 °C could have turned this.</b> "
        "Local code decides; this is no legal clearance."
    )


def test_record_of_a_cooling_in_two_legs_tells_both_whichever_decided() -> None:
    legs = (
        LegReached(degrees=21.0, at=MET_AT, by=MET_AT + timedelta(minutes=33)),
        LegReached(degrees=5.0, at=MET_AT + timedelta(hours=2), by=MET_AT + timedelta(hours=5)),
    )
    verdict = LimitVerdict(
        limit=LimitId("two-leg-cooling"), title="Cool", applied="a code", status="met", margin_min=33.0,
        tolerance_degrees=1.0, legs=legs,
    )  # fmt: skip
    assert (
        "+33 min. 21 °C: Wed 25 Nov 10:00, asked by Wed 25 Nov 10:33; "
        "5 °C: Wed 25 Nov 12:00, asked by Wed 25 Nov 15:00. Local code" in _told(verdict)
    )


@pytest.mark.parametrize("status", ["met", "not yet", "will not be met in time", "broken", "not judged"])
def test_every_status_has_words(status: str) -> None:
    assert Words("en")(f"verdict_{status}")


@pytest.mark.parametrize(
    ("verdict", "brief", "whole"),
    [
        ({"margin_degrees": -1.4}, "Limit: 1.4\u00a0°C to go", "not met so far, margin −1.4 °C."),
        (
            {"status": "will not be met in time", "margin_min": -12.0},
            "Limit will not be met in time, −12\u00a0min",
            "will not be met in time, −12 min.",
        ),
        (
            {"status": "met", "at": canned.later(-3), "margin_degrees": 0.3, "within_tolerance": True},
            "Limit met, within probe tolerance",
            "met (09:39), margin +0.3 °C. A thermometer off by 0.5 °C could have turned this.",
        ),
        ({"status": "not judged", "why": "a gap of 12 min"}, "Limit not judged", "not judged: a gap of 12 min."),
    ],
)
def test_verdict_on_the_step_in_hand_is_short_at_the_station_and_whole_on_its_page(
    verdict: dict[str, object], brief: str, whole: str
) -> None:
    gateway = FakeGateway(canned_trouble.judged_station(**verdict))
    client = create_app(gateway, gateway).web.test_client()
    text = html.unescape(client.get("/station/stove").text)
    assert brief in text
    assert "Ordinance 12" not in text
    told = Page(client.get("/task/C2.cook").text).text
    assert f"Limit: Pasteurise a mix, by Town of Example, Ordinance 12: {whole}" in told
    assert "Local code decides; this is no legal clearance." in told


def test_no_degrees_are_to_go_beside_a_target_that_is_reached_and_being_held() -> None:
    """The margin is that of the coldest reading of the best minutes so far, which the figure on the screen is not."""
    view = canned_trouble.judged_station(margin_degrees=-3.1)
    cook, *rest = view.in_hand
    held = canned.heating(celsius=82.0, reached_at=canned.later(-1), held_min=0.5, hold_min=1)
    gateway = FakeGateway(view.model_copy(update={"in_hand": (cook.model_copy(update={"temperature": held}), *rest)}))
    text = html.unescape(create_app(gateway, gateway).web.test_client().get("/station/stove").text)
    assert "Limit not met so far<" in text
    assert "to go" not in text
