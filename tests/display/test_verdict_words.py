"""How the batch record tells a verdict: its text, margin, deciding readings, tolerance, and that it clears nothing."""

from datetime import UTC, datetime
from types import SimpleNamespace

import pytest
from jinja2 import Environment, PackageLoader

from display.words import Words
from orchestrator.core.models.limit import LimitId
from orchestrator.core.models.verdict import LimitVerdict

MET_AT = datetime(2026, 11, 25, 10, 0, 25, tzinfo=UTC)


def _told(verdict: LimitVerdict) -> str:
    environment = Environment(loader=PackageLoader("display"), autoescape=True)
    formats = SimpleNamespace(day=lambda at: at.strftime("%d %b"), clock=lambda at: at.strftime("%H:%M"))
    environment.globals.update(w=Words("en"), f=formats)
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
        "Limit: Pasteurise a mix, by Town of Example, Ordinance 12: <b>met</b> (25 Nov 10:00), margin +0.5 °C, "
        "+1.0 min. Decided by 25 Nov 10:00 80.5 °C. <b>A thermometer off by 1 °C could have turned this.</b> "
        "Local code decides; this is no legal clearance."
    )


@pytest.mark.parametrize("status", ["met", "not yet", "will not be met in time", "broken", "not judged"])
def test_every_status_has_words(status: str) -> None:
    assert Words("en")(f"verdict_{status}")
