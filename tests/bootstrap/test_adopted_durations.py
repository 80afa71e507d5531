"""Figures that a manager adopted outlive a restart, and are not mistaken for an edited file."""

import asyncio
import json
import logging
import urllib.request
from pathlib import Path

import pytest

from orchestrator.adapters.sql_event_log import SqlEventLog
from orchestrator.bootstrap import Hooks, Settings, build
from orchestrator.core.durations import figures_of, step_of
from orchestrator.core.events import DurationsAdopted, Event, KitchenImported, Recorded
from orchestrator.core.ids import CommandId, CrewId, RecipeId, StepId
from orchestrator.core.models import Duration
from orchestrator.kitchen import read_kitchen
from tests.fakes.planners import ScriptedPlanner

EXAMPLE = Path(__file__).parents[2] / "config"
CHURN = (RecipeId("basil-custard"), StepId("churn"))
FIGURES = Duration(shortest=30, usual=41, longest=52)


def _log(folder: Path, *events: Event) -> None:
    folder.mkdir()
    log = SqlEventLog(folder / "events.db")
    at = read_kitchen(EXAMPLE).planning_start
    log.append([Recorded(seq=i, at=at, command_id=CommandId(f"c{i}"), event=e) for i, e in enumerate(events, start=1)])
    log.close()


def _read(url: str) -> list[dict[str, object]]:
    with urllib.request.urlopen(f"{url}/api/v1/durations", timeout=5) as answer:
        told: list[dict[str, object]] = json.loads(answer.read())
        return told


async def test_adopted_figures_are_there_after_a_restart(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    kitchen = read_kitchen(EXAMPLE)
    step = step_of(kitchen, CHURN)
    assert step is not None
    written = figures_of(step)
    assert written is not None
    adopted = DurationsAdopted(
        recipe=CHURN[0], step=CHURN[1], figures=FIGURES, written=written, samples=9,
        at=kitchen.planning_start, person=CrewId("manager"),
    )  # fmt: skip
    _log(tmp_path / "data", KitchenImported(kitchen=kitchen), adopted)
    planner = ScriptedPlanner(lambda request: None)
    with caplog.at_level(logging.WARNING):
        system = build(Settings(data=tmp_path / "data", kitchen=EXAMPLE), Hooks(planner=planner))
        await system.start()
    try:
        churn = next(d for d in await asyncio.to_thread(_read, system.url) if (d["recipe"], d["step"]) == CHURN)
        assert (churn["present"], churn["adopted_from"]) == (FIGURES.model_dump(), 9)
        assert churn["written"] == written.model_dump()
    finally:
        await system.stop()
    assert [r.message for r in caplog.records if "edited in" in r.message] == []
