"""Chances on screens: words before figures, nothing made to look better, and nothing said that no longer holds."""

from dataclasses import replace
from datetime import datetime

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.odds import odds
from display.views import CoreViews
from display.words import Words
from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import Outlook, Plan, WindowClass
from orchestrator.core.models.questions import RiskAnswer, RiskQuestion
from orchestrator.core.models.risk import ASSUMES, Cause, OrderChance, Risk, WindowChance
from orchestrator.core.state import MachineStop, Proposal, State
from tests.display.page import Page
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.plans import small_plan
from tests.fakes.states import base_ageing, begun

TEMPER = Cause(task=TaskId("SAT-STALL.B.temper"), title="Temper", chance_if_usual=0.97)
CHURN = WindowChance(
    task=TaskId("B1.churn"), title="Churn basil custard", after=TaskId("C1.age.B1"), window=WindowClass.SAFETY,
    chance=0.84, low=0.82, high=0.86,
    causes=(Cause(task=TaskId("C1.cook"), title="Cook the custard base", chance_if_usual=0.93),),
)  # fmt: skip


@pytest.mark.parametrize(
    ("chance", "says"),
    [
        (1.0, "as good as certain"),
        (0.995, "as good as certain"),
        (0.994, "very likely, 19 in 20"),
        (0.949, "likely, 9 in 10"),
        (0.9, "likely, 9 in 10"),
        (0.899, "likely, 8 in 10"),
        (0.7, "likely, 7 in 10"),
        (0.699, "about even, 6 in 10"),
        (0.4, "about even, 4 in 10"),
        (0.399, "unlikely, 3 in 10"),
        (0.1, "unlikely, 1 in 10"),
        (0.099, "hardly, less than 1 in 10"),
        (0.0, "hardly, less than 1 in 10"),
    ],
)
def test_odds_round_down_and_say_the_word_first(chance: float, says: str) -> None:
    assert odds(Words(), chance) == says


def with_chance(chance: float, plan: Plan | None = None) -> Plan:
    plan = plan or small_plan()
    told = {"chance": chance, "chance_low": chance - 0.02, "chance_high": min(1.0, chance + 0.02), "causes": (TEMPER,)}
    first = plan.outlooks[0].model_copy(update=told)
    outlooks: tuple[Outlook, ...] = (first, *plan.outlooks[1:])
    return plan.model_copy(update={"outlooks": outlooks, "shaky": (CHURN,), "simulated_runs": 2000})


def client_of(state: State, clock: str = "Wed 15:00") -> FlaskClient:
    return create_app(KitchenGateway(state, at(clock)), CoreViews()).web.test_client()


def text(client: FlaskClient, path: str) -> str:
    return Page(client.get(path).text).text.replace("\u00a0", " ")


def test_order_tells_its_chance_and_what_it_hangs_on() -> None:
    client = client_of(replace(base_ageing(), plan=with_chance(0.914)))
    board, orders = text(client, "/board"), text(client, "/orders")
    assert "On time · 10 min spare · likely, 9 in 10" in board
    assert "On time in 91 % of 2,000 simulated runs (95 % interval 89 % to 93 %)." in orders
    assert "Temper (SAT-STALL.B.temper): very likely, 19 in 20 if it takes its usual minutes or less" in orders
    assert "nobody re-plans" in orders


def test_order_that_is_unlikely_is_trouble_though_the_plan_has_it_on_time() -> None:
    orders = client_of(replace(base_ageing(), plan=with_chance(0.3))).get("/orders").text
    assert '<b class="caution-text">At risk · unlikely, 3 in 10</b>' in orders


@pytest.mark.parametrize(
    ("until", "says"),
    [
        # Nobody said until when: taken to be back two hours from now, 15:00, as `UNKNOWN_STOP` states.
        (None, "Counts on Churn being back 17:00; nobody has said so."),
        (at("Wed 16:00"), "Counts on Churn being back 16:00, as was said."),
        (at("Wed 12:10"), ""),  # it is back
    ],
)
def test_chance_says_when_it_takes_a_stopped_machine_to_be_back(until: datetime | None, says: str) -> None:
    stops = {EquipmentId("churn"): MachineStop(at("Wed 12:05"), until, "no drive", None)}
    orders = client_of(replace(base_ageing(), plan=with_chance(0.914), machines=stops)).get("/orders").text
    assert says in orders
    assert ("Counts on Churn" in orders) == bool(says)


def test_order_without_simulation_says_nothing_of_chances() -> None:
    orders = text(client_of(base_ageing()), "/orders")
    assert "simulated" not in orders.replace("What a chance assumes", "")
    assert "in 10" not in orders


def test_chance_is_not_told_once_the_course_of_things_has_left_the_plan() -> None:
    late = replace(base_ageing(), plan=with_chance(0.914))
    # At 10:45 tempering has not begun: the order would be ready 25 minutes later than planned.
    assert "in 10" not in text(client_of(late, "Sat 10:45"), "/orders")


def test_board_names_windows_that_long_steps_would_break_while_they_are_open() -> None:
    state = replace(base_ageing(), plan=with_chance(0.914))
    board = text(client_of(state), "/board")
    assert "Windows that long steps would break (1)" in board
    assert "Churn basil custard (B1.churn): window kept: likely, 8 in 10" in board
    assert "Cook the custard base (C1.cook): likely, 9 in 10 if it takes its usual minutes or less" in board
    churning = begun(state, "B1.churn", "Thu 09:00")
    assert "Windows that long steps" not in text(client_of(churning, "Thu 09:10"), "/board")


def test_interface_simulates_from_the_present_and_says_what_that_assumes() -> None:
    gateway = KitchenGateway(base_ageing(), at("Wed 15:00"))
    order = OrderChance(order=small_plan().outlooks[0].order, chance=0.9, low=0.88, high=0.92, causes=(TEMPER,))
    told = Risk(runs=500, seed=3, orders=(order,), windows=(CHURN,), assumes=ASSUMES)
    gateway.answers = {"risk": RiskAnswer(risk=told)}
    client = create_app(gateway, CoreViews()).web.test_client()
    answer = client.get("/api/v1/risk?runs=500&seed=3")
    assert Risk.model_validate(answer.json) == told
    asked = gateway.questions[-1]
    assert isinstance(asked, RiskQuestion)
    assert (asked.runs, asked.seed, asked.request.now) == (500, 3, gateway.now)
    assert client.get("/api/v1/risk?runs=0").status_code == 422
    assert client.get("/api/v1/risk?runs=many").status_code == 422


def test_interface_tells_the_chance_of_each_order() -> None:
    client = client_of(replace(base_ageing(), plan=with_chance(0.914)))
    orders = client.get("/api/v1/orders").json
    assert [(o["outlook"]["chance"], o["simulated_runs"]) for o in orders] == [(0.914, 2000), (None, 2000)]
    assert client.get("/api/v1/board").json["shaky"][0]["task"] == "B1.churn"


def test_plan_that_waits_tells_its_chances_beside_those_of_the_present_one() -> None:
    state = replace(base_ageing(), plan=with_chance(0.914))
    waits = Proposal(9, with_chance(0.55), (), ("SUN-CAFE would be 15 min late",), at("Wed 15:30"))
    board = text(client_of(replace(state, proposal=waits)), "/board")
    assert "Market stall: likely, 9 in 10 → about even, 5 in 10" in board
    quick = replace(base_ageing(), proposal=waits)
    assert "with this one: Market stall: about even, 5 in 10" in text(client_of(quick), "/board")
    certain = replace(state, plan=with_chance(1.0), proposal=replace(waits, plan=with_chance(0.996)))
    assert "with this one" not in text(client_of(certain), "/board")
