"""Each role against each route and each command: nothing is without a rule, and no rule is without its route."""

import re
from pathlib import Path
from typing import get_args

import pytest

from display.access.rules import COMMANDS, RULES, Need, may, need_of, need_of_command
from display.api.commands import PublicCommand
from display.views import CoreViews
from display.web import create_web
from orchestrator.core.commands import ImportKitchen
from orchestrator.core.kitchen_commands import ChangeKitchen
from orchestrator.ports.access import Caller, Role
from tests.browser.full_house import full_house

WEB = create_web(full_house(), CoreViews())
DISPLAY = Path(__file__).parents[2] / "display"
PUBLIC = {
    *("static", "shell.worker", "signing_in.pair_page", "signing_in.pair_state", "signing_in.use_spare"),
    *("signing_in.sign_in_page", "signing_in.sign_in"),
}


def test_every_route_has_a_rule_and_every_rule_a_route() -> None:
    assert {rule.endpoint for rule in WEB.url_map.iter_rules()} == set(RULES)


def test_no_endpoint_both_reads_and_acts() -> None:
    mixed = [
        rule.endpoint
        for rule in WEB.url_map.iter_rules()
        if {"GET", "POST"} <= (rule.methods or set()) or {"PUT", "PATCH", "DELETE"} & (rule.methods or set())
    ]
    assert mixed == []


def test_what_acts_is_never_for_who_only_looks() -> None:
    acting = {rule.endpoint for rule in WEB.url_map.iter_rules() if "POST" in (rule.methods or set())}
    for_viewers = {endpoint for endpoint in acting if RULES[endpoint] <= Need.LOOK}
    assert for_viewers == {"person.ways", "signing_in.sign_out"} | {one for one in acting if RULES[one] is Need.NOTHING}


def test_whoever_is_unknown_gets_the_way_in_and_nothing_else() -> None:
    assert {endpoint for endpoint in RULES if may(None, need_of(endpoint))} == PUBLIC


@pytest.mark.parametrize(
    ("role", "allowed"),
    [
        (Role.VIEWER, {Need.NOTHING, Need.LOOK}),
        (Role.STATION, {Need.NOTHING, Need.LOOK, Need.COOK}),
        (Role.MANAGER, set(Need)),
    ],
)
def test_each_role_may_what_its_needs_say_on_every_route(role: Role, allowed: set[Need]) -> None:
    caller = Caller("screen", "one", role)
    for endpoint, need in RULES.items():
        assert may(caller, need_of(endpoint)) == (need in allowed), endpoint


def test_route_without_a_rule_is_for_the_manager() -> None:
    assert need_of("new.page") is Need.MANAGE


def _kinds(union: object) -> set[str]:
    found: set[str] = set()
    for part in get_args(union):
        fields = getattr(part, "model_fields", None)
        found |= {fields["kind"].default} if fields else _kinds(part)
    return found


def test_every_command_from_outside_has_a_rule() -> None:
    kinds = _kinds(PublicCommand) | {ImportKitchen.model_fields["kind"].default}
    assert kinds == set(COMMANDS)


@pytest.mark.parametrize(
    ("change", "need"),
    [
        (
            {
                "change": "machine stopped",
                "equipment": "churn",
                "start": "2026-11-26T06:00Z",
                "end": "2026-11-26T08:00Z",
            },
            Need.COOK,
        ),
        ({"change": "drop order", "order": "SAT-STALL"}, Need.MANAGE),
    ],
)
def test_changes_by_hand_need_what_they_change(change: dict[str, str], need: Need) -> None:
    facts = {"change": "machine back", "equipment": "churn", "at": "2026-11-26T07:00Z"}
    for changes in ([change], [facts, change]):
        command = ChangeKitchen.model_validate({"command_id": "one", "person": "manager", "changes": changes})
        assert need_of_command(command) is need


def test_commands_are_handed_in_by_one_way_only() -> None:
    others = [
        str(path.relative_to(DISPLAY))
        for path in DISPLAY.rglob("*.py")
        if re.search(r"\.submit\(", path.read_text(encoding="utf-8")) and path.name != "signing.py"
    ]
    assert others == []
