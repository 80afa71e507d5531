"""A recipe approved through the interface for programs: the planner is asked before the door opens, as on the page."""

import asyncio
from collections.abc import AsyncIterator
from typing import Any

import pytest
from flask.testing import FlaskClient

from display.app import create_app
from display.views import CoreViews
from orchestrator.bootstrap.hooks import core_rules
from orchestrator.core.commands import ImportKitchen
from orchestrator.core.ids import CommandId
from orchestrator.core.kitchen_events import KitchenChanged
from orchestrator.core.models import Duration, PlanRequest, Recipe
from orchestrator.core.models.questions import Answer, Question, WhatIfQuestion
from orchestrator.engine import DeskSettings, Engine
from orchestrator.gateway.local import LocalGateway
from orchestrator.kitchen.recipe_text import YamlRecipes
from orchestrator.planner.answers import answer
from orchestrator.planner.plan import make_plan
from orchestrator.ports.planning import OnBetter
from tests.fakes.clocks import HandClock
from tests.fakes.event_logs import MemoryEventLog, MemoryReadings
from tests.fakes.kitchens import small_kitchen
from tests.fakes.planners import ScriptedPlanner


class Planner(ScriptedPlanner):
    """Plans by construction; what-ifs are answered by the planner's own code, with no time to search."""

    def __init__(self) -> None:
        super().__init__(lambda request: make_plan(request, effort="repair", seconds=1).plan)

    async def ask(self, question: Question, on_better: OnBetter | None = None) -> Answer:
        if not isinstance(question, WhatIfQuestion):
            return await super().ask(question)
        self.questions.append(question)
        return await asyncio.to_thread(answer, question.model_copy(update={"seconds": 0.0}))


class House:
    def __init__(self) -> None:
        self.log, self.clock, self.planner = MemoryEventLog(), HandClock(small_kitchen().planning_start), Planner()
        self.engine = Engine(
            rules=core_rules(),
            log=self.log,
            readings=MemoryReadings(),
            clock=self.clock,
            timers=self.clock.timers,
            planner=self.planner,
            desk=DeskSettings(debounce_s=0.0, instants=False),
        )
        loop = asyncio.get_running_loop()
        self.gateway = LocalGateway(self.engine, self.log, MemoryReadings(), loop, recipe_texts=YamlRecipes())
        self.client: FlaskClient = create_app(self.gateway, CoreViews()).web.test_client()

    async def approve(self, recipe: Recipe, **more: Any) -> Any:
        change = {"change": "revise recipe", "recipe": recipe.model_dump(mode="json")}
        told = {"kind": "change_kitchen", "command_id": "a1", "person": "manager", "reason": "tasted"}
        body = {**told, "changes": [change], **more}
        return await asyncio.to_thread(self.client.post, "/api/v1/commands", json=body)

    def what_ifs(self) -> list[float]:
        return [q.seconds for q in self.planner.questions if isinstance(q, WhatIfQuestion)]

    def changed(self) -> list[KitchenChanged]:
        return [r.event for r in self.log.records if isinstance(r.event, KitchenChanged)]


@pytest.fixture
async def house() -> AsyncIterator[House]:
    made = House()
    await made.engine.start()
    await made.engine.submit(ImportKitchen(command_id=CommandId("import"), kitchen=small_kitchen()))
    async with asyncio.timeout(10):
        while made.engine.picture.state.plan is None:
            await asyncio.sleep(0.01)
    yield made
    await made.engine.stop()


def sorbet(minutes: int) -> Recipe:
    """The next revision of the sorbet, its first step so long."""
    recipe = next(one for one in small_kitchen().recipes if one.id == "damson-sorbet")
    lasts = Duration(shortest=minutes, usual=minutes, longest=minutes)
    steps = (recipe.steps[0].model_copy(update={"duration": lasts}), *recipe.steps[1:])
    return recipe.model_copy(update={"steps": steps, "revision": 2})


async def test_revision_that_would_lose_an_order_is_refused_with_the_order_named(house: House) -> None:
    plan = make_plan(PlanRequest(kitchen=small_kitchen(), now=house.clock.now()), effort="repair", seconds=1).plan
    assert plan is not None
    assert all(outlook.met for outlook in plan.outlooks)
    told = await house.approve(sorbet(7 * 24 * 60))
    assert (told.status_code, told.mimetype) == (409, "application/problem+json")
    assert told.json["thing"] == "Damson sorbet"
    assert "SUN-CAFE could no longer be made" in told.json["present_status"]
    assert "drop these orders first" in told.json["remedy"]
    assert house.changed() == []
    # A quick plan first, and as that loses the order, one that is looked for.
    assert house.what_ifs() == [0.0, 8.0]


async def test_revision_that_keeps_every_order_is_carried_out_and_bound_to_what_was_asked(house: House) -> None:
    usual = next(one for one in small_kitchen().recipes if one.id == "damson-sorbet").steps[0].duration
    assert usual is not None
    told = await house.approve(sorbet(usual.usual))
    assert told.status_code == 200, told.json
    assert house.what_ifs() == [0.0]
    (event,) = house.changed()
    assert event.person == "manager"
    # Sent again: carried out before, and the planner is not asked.
    assert (await house.approve(sorbet(usual.usual))).json == told.json
    assert house.what_ifs() == [0.0]


async def test_revision_that_is_refused_anyway_is_not_planned_first(house: House) -> None:
    told = await house.approve(sorbet(30), person="early-cook")
    assert told.status_code == 403
    assert house.what_ifs() == []


async def test_revision_that_only_an_older_picture_refuses_is_not_taken_unasked(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As at a display that lags behind whoever writes."""
    older = house.gateway.snapshot()
    usual = next(one for one in small_kitchen().recipes if one.id == "damson-sorbet").steps[0].duration
    assert usual is not None
    assert (await house.approve(sorbet(usual.usual))).status_code == 200
    third = sorbet(7 * 24 * 60).model_copy(update={"revision": 3})
    asked = len(house.what_ifs())
    with monkeypatch.context() as lagging:
        lagging.setattr(house.gateway, "snapshot", lambda: older)
        told = await house.approve(third, command_id="a2")
    assert (told.status_code, len(house.changed()), len(house.what_ifs())) == (422, 1, asked), told.json
    assert (await house.approve(third, command_id="a2")).json["thing"] == "Damson sorbet", "nor now, but asked"
    assert len(house.what_ifs()) == asked + 2


async def test_planner_without_an_answer_keeps_the_door_shut(house: House) -> None:
    async def nothing(question: Question, on_better: object = None) -> Answer:
        return await ScriptedPlanner.ask(house.planner, question)

    house.planner.ask = nothing  # type: ignore[method-assign]
    told = await house.approve(sorbet(30))
    assert told.status_code == 503
    assert house.changed() == []
