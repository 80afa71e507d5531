"""The kitchen's files: taken over once, and afterwards only compared with what the log says."""

import asyncio
import logging
from pathlib import Path
from uuid import uuid4

from orchestrator.bootstrap.settings import Failure
from orchestrator.core.commands import ImportKitchen
from orchestrator.core.durations import as_written
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CommandId
from orchestrator.core.models import Kitchen
from orchestrator.engine import Engine
from orchestrator.kitchen import KitchenFaults, read_kitchen

LOG = logging.getLogger(__name__)


async def take_over(engine: Engine, folder: Path | None) -> None:
    """Import the folder if the log knows no kitchen yet; otherwise say what was edited since.

    Raises:
        Failure: there is no kitchen at all, its files have faults, or it was refused.
    """
    present = engine.picture.state.kitchen
    if present is None:
        if folder is None:
            raise Failure("no kitchen yet: name the folder with its files", 2)
        try:
            kitchen = await asyncio.to_thread(read_kitchen, folder)
        except KitchenFaults as faults:
            raise Failure(str(faults), 2) from faults
        answer = await engine.submit(ImportKitchen(command_id=CommandId(f"import-{uuid4().hex}"), kitchen=kitchen))
        if isinstance(answer, Refusal):
            raise Failure(f"{answer.thing}: {answer.status}; {answer.remedy}")
        LOG.info("%s taken over from %s", kitchen.name, folder)
    elif folder is not None:
        as_taken_over = as_written(present, engine.picture.state.adopted)
        await asyncio.to_thread(_say_what_was_edited, as_taken_over, folder)


def _say_what_was_edited(present: Kitchen, folder: Path) -> None:
    try:
        edited = edited_parts(present, read_kitchen(folder))
    except KitchenFaults as faults:
        LOG.warning("the kitchen's files have faults now; the kitchen on record goes on:\n%s", faults)
        return
    if edited:
        LOG.warning("edited in %s since it was taken over, and not in use: %s", folder, ", ".join(edited))


def edited_parts(present: Kitchen, other: Kitchen) -> list[str]:
    """Names of the kitchen's parts that differ, such as ``recipes: damson-puree``."""
    parts = []
    for name in Kitchen.model_fields:
        ours, theirs = getattr(present, name), getattr(other, name)
        if ours == theirs:
            continue
        if isinstance(ours, tuple) and all(hasattr(item, "id") for item in (*ours, *theirs)):
            before, after = {i.id: i for i in ours}, {i.id: i for i in theirs}
            ids = [i for i in {**before, **after} if before.get(i) != after.get(i)]
            parts.append(f"{name}: {', '.join(ids)}" if ids else f"{name}: order")
        else:
            parts.append(name)
    return parts
