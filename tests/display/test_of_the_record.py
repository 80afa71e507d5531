"""The board is not drawn anew for readings, and is for whatever it shows."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from display.app import Display, create_app
from display.hub import Wanted
from display.reader import Reader
from display.views import CoreViews
from orchestrator.core.ids import ProbeId
from orchestrator.core.models import ProbeFact
from orchestrator.ports.event_log import Reading
from tests.browser.full_house import full_house
from tests.fakes.kitchen_gateway import KitchenGateway

BOARD = {(Reader(role="manager"), panel) for panel in ("board", "board-needs", "board-list", "board-task:C1.cook")}


@pytest.fixture
def house() -> tuple[KitchenGateway, Display]:
    gateway = full_house()
    return gateway, create_app(gateway, CoreViews())


def test_reading_alone_changes_nothing_that_the_board_shows(house: tuple[KitchenGateway, Display]) -> None:
    """What is kept for a while must be what would be drawn: so it is drawn anew here, by a second display."""
    gateway, display = house
    drawn, _ = display._render_all(BOARD)
    for probe, fact in list(gateway.facts.items()):
        gateway.facts[probe] = fact.model_copy(update=_warmer(fact))
    gateway.now += timedelta(seconds=20)  # still the same minute
    kept, _ = display._render_all(BOARD)
    anew, _ = create_app(gateway, CoreViews())._render_all(BOARD)
    assert all(kept[one] is drawn[one] for one in BOARD)
    assert _without_seconds(anew) == _without_seconds(kept)


def _warmer(fact: ProbeFact) -> dict[str, object]:
    return {} if fact.celsius is None else {"celsius": fact.celsius + 0.3}


def _without_seconds(rendered: Mapping[Wanted, str]) -> dict[str, str]:
    """Places on the time axis move with every second."""
    return {panel: re.sub(r"\d+\.\d+", "#", html) for (_, panel), html in rendered.items()}


def test_event_minute_and_planner_draw_the_board_anew(house: tuple[KitchenGateway, Display]) -> None:
    gateway, display = house
    last, _ = display._render_all(BOARD)

    def anew() -> bool:
        nonlocal last
        before, (last, _) = last, display._render_all(BOARD)
        return all(last[one] is not before[one] for one in BOARD)

    assert not anew()
    gateway.state = replace(gateway.state, seq=gateway.state.seq + 1)
    assert anew()
    assert not anew()
    gateway.now += timedelta(minutes=1)
    assert anew()


def test_panel_of_readings_is_rendered_for_every_reading(house: tuple[KitchenGateway, Display]) -> None:
    gateway, display = house
    hand = {(Reader(), "station-hand:stove")}
    before, _ = display._render_all(hand)
    for probe, fact in list(gateway.facts.items()):
        gateway.facts[probe] = fact.model_copy(update=_warmer(fact))
    after, _ = display._render_all(hand)
    assert before != after


def test_stored_readings_are_read_once_for_all_who_look(
    house: tuple[KitchenGateway, Display], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The stove in two languages and the probes in one: each probe's latest hours are asked for once a picture."""
    gateway, display = house
    asked: list[tuple[str, object]] = []
    read = gateway.readings

    def counted(probe: ProbeId, since: datetime, until: datetime) -> Sequence[Reading]:
        asked.append((probe, since))
        return read(probe, since, until)

    monkeypatch.setattr(gateway, "readings", counted)
    wanted = {(Reader(language), "station-hand:stove") for language in ("en", "es")} | {(Reader(), "probes")}
    display._render_all(wanted)
    assert len(asked) == len(set(asked)) > len(gateway.facts) / 2
    before = len(asked)
    display._render_all(wanted)
    assert len(asked) == 2 * before
