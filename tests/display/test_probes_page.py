"""The list of probes: which checks are due, and nothing said where nothing is known."""

import re
from dataclasses import replace
from datetime import timedelta

from display.app import create_app
from display.views import CoreViews
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing


def cards(days: int) -> list[str]:
    """Words of each card, so many days after the planning start."""
    state = base_ageing()
    assert state.kitchen is not None
    start = state.kitchen.planning_start - timedelta(days=days)
    gateway = KitchenGateway(replace(state, kitchen=state.kitchen.model_copy(update={"planning_start": start})), NOW)
    html = create_app(gateway, CoreViews()).web.test_client().get("/probes").text
    return [Page(found).text for found in re.findall(r"<article.*?</article>", html, re.DOTALL)]


NOW = at("Wed 15:00")


def test_every_card_says_when_its_probe_must_be_checked_next_and_which_is_overdue() -> None:
    fresh, old = cards(0), cards(60)
    assert len(fresh) > 1
    assert [("Next check due" in card, "Check overdue" in card) for card in fresh] == [(True, False)] * len(fresh)
    assert [("Next check due" in card, "Check overdue" in card) for card in old] == [(False, True)] * len(old)
