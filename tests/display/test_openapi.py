"""The OpenAPI document, against the validator of the OpenAPI project's own schema."""

from typing import Any

import pytest
from openapi_spec_validator import OpenAPIV31SpecValidator

from display.access.rules import RULES, Need
from display.api.openapi import document
from display.api.postings import POSTINGS
from display.api.resources import RESOURCES


def test_document_is_valid_openapi_3_1() -> None:
    OpenAPIV31SpecValidator(document("1.2.3")).validate()


def test_document_names_every_resource_and_every_act() -> None:
    doc = document("1.2.3")
    assert set(doc["paths"]) == {one.path for one in (*RESOURCES, *POSTINGS)} | {"/commands", "/what-if", "/changes"}
    body = doc["paths"]["/commands"]["post"]["requestBody"]["content"]["application/json"]["schema"]
    assert set(body["discriminator"]["mapping"]) == {
        "start_task", "finish_task", "finish_tray", "extend_task", "report_problem", "skip_task", "enter_temperature",
        "acknowledge_alarm", "undo", "stop_machine", "machine_back", "decide_lot", "decide_plan", "ask_replan",
        "hold_in_place", "let_move", "enter_weight",
        "shelve_alarm", "unshelve_alarm", "power_cut", "answer_lot", "take_action", "close_deviation",
        "adopt_durations", "restore_durations",
        "check_probe", "apply_offset", "assign_probe", "confirm_washed",
        "send_test_call", "change_kitchen", "hand_over", "take_over", "look_through",
        "write_draft", "record_trial", "put_draft_away", "come_in", "go_home", "receive_delivery", "use_lot",
        "judge_ripeness", "replace_ingredient", "count_stock", "rework_into", "start_drill", "mark_drill", "end_drill",
        "choose_ways", "weigh_by_product", "measure_ingredient",
    }  # fmt: skip


def test_document_does_not_offer_what_only_the_kitchen_itself_may_do() -> None:
    schemas = document("1.2.3")["components"]["schemas"]
    assert not {"Tick", "RecordFact", "OfferPlan", "ImportKitchen"} & set(schemas)


def test_every_route_says_how_it_turns_callers_away() -> None:
    answers: list[tuple[str, dict[str, Any]]] = [
        (f"{method} {path}", operation["responses"])
        for path, item in document("1.2.3")["paths"].items()
        for method, operation in item.items()
    ]
    assert {name for name, told in answers if not {"401", "403"} <= set(told)} == set()
    by_name = dict(answers)
    assert "scope orders or manage" in by_name["post /orders"]["403"]["description"]
    assert "scope act or manage" in by_name["post /commands"]["403"]["description"]
    assert "role is viewer or station or manager" in by_name["get /now"]["403"]["description"]


def test_a_route_that_is_open_to_everybody_says_nothing_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(RULES, "api.now", Need.NOTHING)  # type: ignore[arg-type]
    told = document("1.2.3")["paths"]["/now"]["get"]["responses"]
    assert set(told) == {"200", "default"}
