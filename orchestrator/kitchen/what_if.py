"""Reads a file of scenarios, or tells everything that is wrong with it, with file and line."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from orchestrator.core.changes import apply
from orchestrator.core.errors import Refusal
from orchestrator.core.models import Kitchen, PlanRequest
from orchestrator.core.models.change import AllowBreak, Change, FreeTask, HoldTask
from orchestrator.core.models.questions import Scenario
from orchestrator.kitchen.change_files import CHANGES_IN_FILE, ScenarioInFile, WhatIfFile, to_core
from orchestrator.kitchen.documents import Document, Path_, read_document
from orchestrator.kitchen.faults import KitchenFaults, one_of
from orchestrator.kitchen.validation import validate

_OF_A_PLAN = (AllowBreak, HoldTask, FreeTask)
"""They name tasks: what tasks there are only a plan can tell."""


@dataclass(frozen=True, slots=True)
class ScenarioFile:
    """Scenarios, and where each of their changes stands."""

    document: Document
    scenarios: tuple[Scenario, ...]


def read_scenarios(file: Path, kitchen: Kitchen) -> ScenarioFile:
    """The scenarios of a file; that they name what is there is for `check_scenarios` to say.

    Args:
        file: YAML, see the schema ``what-if``.
        kitchen: On whose clock its times are.

    Raises:
        KitchenFaults: Everything that is wrong, at once.
    """
    document = read_document(file.parent, file.name)
    scenarios = tuple(_scenarios(document, ZoneInfo(kitchen.time_zone))) if document.readable else ()
    if document.faults:
        raise KitchenFaults(document.faults)
    return ScenarioFile(document, scenarios)


def check_scenarios(file: ScenarioFile, request: PlanRequest) -> None:
    """Every change can be carried out on the request, one after the other.

    Args:
        file: What was read.
        request: Without a previous plan, changes of single tasks are not looked at.

    Raises:
        KitchenFaults: Changes that name what is not there, or cannot be.
    """
    for number, scenario in enumerate(file.scenarios):
        told = request
        for index, change in enumerate(scenario.changes):
            if request.previous is None and isinstance(change, _OF_A_PLAN):
                continue
            after = apply(told, [change])
            if isinstance(after, Refusal):
                where: Path_ = ("scenarios", number, "changes", index)
                file.document.add(where, f"{after.thing}: {after.status}", after.remedy)
            else:
                told = after
    if file.document.faults:
        raise KitchenFaults(file.document.faults)


def _scenarios(document: Document, zone: ZoneInfo) -> list[Scenario]:
    """Each by itself, so that one that is wrong does not hide the faults of the others."""
    data = document.data
    listed = data.get("scenarios") if isinstance(data, dict) else None
    if not isinstance(listed, list) or not listed or not isinstance(data, dict) or set(data) != {"scenarios"}:
        validate(document, WhatIfFile, data, (), zone)
    found = []
    for number, raw in enumerate(listed if isinstance(listed, list) else []):
        where: Path_ = ("scenarios", number)
        entries = raw.get("changes") if isinstance(raw, dict) else None
        if not isinstance(entries, list):
            validate(document, ScenarioInFile, raw, where, zone)
            continue
        head = validate(document, ScenarioInFile, {**raw, "changes": []}, where, zone)
        changes = [_change(document, one, (*where, "changes", k), zone) for k, one in enumerate(entries)]
        if head is not None:
            found.append(Scenario(name=head.name, changes=tuple(c for c in changes if c is not None)))
    return found


def _change(document: Document, raw: Any, where: Path_, zone: ZoneInfo) -> Change | None:
    kind = raw.get("change") if isinstance(raw, dict) else None
    model = CHANGES_IN_FILE.get(kind) if isinstance(kind, str) else None
    if model is None:
        place = (*where, "change") if isinstance(raw, dict) and "change" in raw else where
        what = "'change' is missing" if kind is None else f"{kind!r} is no change"
        document.add(place, what, one_of(CHANGES_IN_FILE, kind))
        return None
    change = validate(document, model, raw, where, zone)
    return None if change is None else to_core(change)
