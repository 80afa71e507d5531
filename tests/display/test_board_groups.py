"""The board by batch, order and crew, and the details of a block, over the small kitchen's plan placed by hand."""

import re
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from display.app import create_app
from display.board_drawing import Axis
from display.board_groups import _held
from display.views import CoreViews
from orchestrator.core import views
from orchestrator.core.alarms import alarm_events
from orchestrator.core.ids import CrewId
from orchestrator.core.views.board_models import BlockView, HandsSpan
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing, planned

PARTS = (("08:00", "08:10"), ("09:00", "09:05"), ("11:50", "12:00"))


def board(path: str, now: str = "Wed 15:00") -> str:
    gateway = KitchenGateway(base_ageing(), at(now))
    return create_app(gateway, CoreViews()).web.test_client().get(path).text


def rows(html: str) -> dict[str, list[str]]:
    """Tasks of every row that stands for a batch, an order or somebody, in the order in which Tab reaches them."""
    found = {}
    for part in html.split('<div class="row ')[1:]:
        name = re.match(r'row-line row-group[^"]*" id="row-([^"]+)"', part)
        if name:
            found[name[1]] = re.findall(r'<a href="/task/([^"]+)" class="piece', part)
    return found


def test_board_by_batch_has_a_row_a_batch_with_its_steps_in_order_and_one_for_the_counter() -> None:
    found = rows(board("/board?by=batch"))
    assert found["batch-C1"] == ["C1.cook", "C1.chill", "C1.age.B1"]
    assert found["batch-S1"] == [
        "S1.simmer",
        "S1.chill",
        "S1.age",
        "churn.clean.S1",  # belongs to the run that it is done for
        "S1.churn",
        "S1.harden.SUN-CAFE",
    ]
    assert found["counter"] == [
        "SAT-STALL.B.temper",
        "SAT-STALL.B.hand-over",
        "SUN-CAFE.S.temper",
        "SUN-CAFE.S.hand-over",
    ]
    assert "upkeep" not in found  # nothing there belongs to no batch


def test_board_by_order_puts_batches_under_the_order_they_are_for() -> None:
    found = list(rows(board("/board?by=order")))
    assert found.index("order-SAT-STALL") < found.index("batch-C1") < found.index("order-SUN-CAFE")
    assert found.index("order-SUN-CAFE") < found.index("batch-S1")
    assert found.index("batch-S1") < found.index("counter-SUN-CAFE")


def test_board_by_crew_shows_who_has_what_in_hand_over_their_shifts() -> None:
    html = board("/board?by=crew")
    found = rows(html)
    assert "C1.cook" in found["crew-early-cook"]
    assert "SAT-STALL.B.hand-over" in found["crew-counter-hand"]
    assert 'class="shift"' in html
    assert not any(task.endswith(".age.B1") for tasks in found.values() for task in tasks)  # on its own


def test_flag_of_a_task_in_parts_stands_once_in_a_row() -> None:
    hands = [HandsSpan(start=at(f"Wed {a}"), end=at(f"Wed {b}"), crew=(CrewId("cook"),)) for a, b in PARTS]
    task = BlockView(
        task=None, label="C1", title="Simmer", start=at("Wed 08:00"), end=at("Wed 12:00"), done_until=None,
        status="planned", flag="at risk", spans=tuple(hands),
    )  # fmt: skip
    showing: Any = SimpleNamespace(words=lambda key: key)
    day = Axis(at("Wed 06:00"), at("Wed 18:00"), ())
    assert [part.flag for part in _held(showing, task, day, CrewId("cook"))] == ["at risk", "", ""]


def test_hands_of_a_begun_task_are_those_of_whoever_began_it() -> None:
    state = planned()
    record = replace(base_ageing().tasks["C1.cook"], started_by=CrewId("manager"))  # type: ignore[index]
    state = replace(state, tasks={"C1.cook": record})  # type: ignore[dict-item]
    block = next(b for b in views.board_view(state, {}, at("Wed 09:00")).tasks if b.task == "C1.cook")
    assert [span.crew for span in block.spans] == [("manager",)]


def test_late_task_says_so_and_is_dotted_from_where_it_was_planned() -> None:
    gateway = KitchenGateway(base_ageing(), at("Thu 09:20"))  # the churn should have begun at 09:00
    gateway.happen(*alarm_events(gateway.state, gateway.facts, gateway.now))
    found = views.board_view(gateway.state, {}, gateway.now)
    block = next(b for b in found.tasks if b.task == "B1.churn")
    assert (block.flag, block.planned) == ("late", at("Thu 09:00"))
    html = create_app(gateway, CoreViews()).web.test_client().get("/board?day=2026-11-26").text
    assert 'class="lag"' in html
    assert ">late</tspan>" in html


@pytest.mark.parametrize("by", ["place", "batch", "order", "crew"])
@pytest.mark.parametrize("span", ["all", "day", "half", "hour"])
def test_every_part_of_the_board_is_sound_html_with_ways_to_all_others(by: str, span: str) -> None:
    page = Page(board(f"/board?span={span}&by={by}&from=2026-11-26T08:00"))
    for word in ("Place", "Batch", "Order", "People", "All days", "One day", "Half a day", "One hour"):
        assert page.links[word].startswith("/board"), word
    assert ("Now" in page.links) == (span != "all")
    assert page.inline_styles == []


def test_details_of_a_block_tell_place_time_slack_orders_and_lead_on() -> None:
    page = Page(board("/board?open=B1.churn&by=batch"))
    for words in ("B1 Churn", "Thu 09:00", "Churn", "Early cook", "Sat 11:00 Market stall"):
        assert words in page.text, words
    assert page.links["Open the task"] == "/task/B1.churn"
    assert page.links["Close"] == "/board?by=batch"
    assert "Open the task" not in Page(board("/board?open=X9.churn")).links


def test_printed_head_says_kitchen_days_plan_and_when() -> None:
    text = Page(board("/board")).text
    assert "Wed 25 Nov – Sun 29 Nov · Grouped by: Place" in text
    assert "printed Wed 25 Nov 15:00" in text


def test_names_in_the_left_column_are_translated_one_by_one_and_others_stay_as_they_are() -> None:
    state = base_ageing()
    assert state.kitchen is not None
    stall = state.kitchen.orders[0].model_copy(update={"customer": "Sat 11:00 and 2.5 kg"})
    kitchen = state.kitchen.model_copy(update={"orders": (stall, *state.kitchen.orders[1:])})
    gateway = KitchenGateway(replace(state, kitchen=kitchen), at("Wed 15:00"))
    client = create_app(gateway, CoreViews()).web.test_client()
    client.set_cookie("language", "es")
    html = client.get("/board?by=order").text
    heads = [Page(found).text for found in re.findall(r'row-group[^"]*" id="[^"]+"><h2>(.*?)</h2>', html)]
    assert heads[0].endswith("Sat 11:00 and 2.5 kg")
