"""The kitchen's files: taken over once, then compared with what the log says; who is called, and what ingredients are
made of and cost, at every start."""

import asyncio
import logging
from pathlib import Path
from uuid import uuid4

from orchestrator.bootstrap.settings import Failure
from orchestrator.core.commands import ImportKitchen, TakeCallPlan
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CommandId
from orchestrator.core.kitchen_commands import TakeIngredients
from orchestrator.core.models import Kitchen
from orchestrator.core.tongue_commands import TakeTexts
from orchestrator.engine import Engine
from orchestrator.kitchen import KitchenFaults, read_kitchen

LOG = logging.getLogger(__name__)


async def take_over(engine: Engine, folder: Path | None) -> tuple[str, ...]:
    """Import the folder if the log knows no kitchen yet; otherwise say what was edited since.

    Returns:
        What was edited and is not in use, as `edited_parts` names it.

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
        as_taken_over = engine.picture.state.by_hand.imported or present
        edited = await asyncio.to_thread(_read_again, folder)
        if edited is not None:
            await _take_calls(engine, edited)
            await _take_ingredients(engine, edited)
            await _take_texts(engine, edited)
            return _not_in_use(as_taken_over, edited.model_copy(update=_read_anew(as_taken_over)), present, folder)
    return ()


async def _take_calls(engine: Engine, edited: Kitchen) -> None:
    """Who is called is taken from the file at every start: an old number must not outlive it."""
    command = TakeCallPlan(command_id=CommandId(f"call-plan-{uuid4().hex}"), plan=edited.calls)
    answer = await engine.submit(command)
    if isinstance(answer, Refusal):
        LOG.warning("who is called was not taken over: %s; %s", answer.status, answer.remedy)


async def _take_ingredients(engine: Engine, edited: Kitchen) -> None:
    """Rows and prices are taken from the file at every start: prices change weekly, and no plan depends on them."""
    id_ = CommandId(f"ingredients-{uuid4().hex}")
    command = TakeIngredients(command_id=id_, ingredients=edited.ingredients, currency=edited.currency)
    answer = await engine.submit(command)
    if isinstance(answer, Refusal):
        LOG.warning("the ingredient table was not taken over: %s; %s", answer.status, answer.remedy)


async def _take_texts(engine: Engine, edited: Kitchen) -> None:
    """Translations are taken from the files at every start, as they are written; no plan depends on them."""
    answer = await engine.submit(TakeTexts(command_id=CommandId(f"texts-{uuid4().hex}"), texts=edited.texts))
    if isinstance(answer, Refusal):
        LOG.warning("translations were not taken over: %s; %s", answer.status, answer.remedy)


def _read_anew(as_taken_over: Kitchen) -> dict[str, object]:
    """Parts that are no edit that waits: they have just been taken over."""
    return {name: getattr(as_taken_over, name) for name in ("calls", "ingredients", "currency", "texts")}


def _read_again(folder: Path) -> Kitchen | None:
    try:
        return read_kitchen(folder)
    except KitchenFaults as faults:
        LOG.warning("the kitchen's files have faults now; the kitchen on record goes on:\n%s", faults)
        return None


def _not_in_use(as_taken_over: Kitchen, other: Kitchen, present: Kitchen, folder: Path) -> tuple[str, ...]:
    edited = tuple(edited_parts(as_taken_over, other, present))
    if edited:
        LOG.warning("edited in %s since it was taken over, and not in use: %s", folder, ", ".join(edited))
    return edited


def edited_parts(as_taken_over: Kitchen, other: Kitchen, present: Kitchen | None = None) -> list[str]:
    """Names of the kitchen's parts that differ, such as ``recipes: damson-puree``.

    Args:
        as_taken_over: As the files had it then: what people changed by hand since is no edit of the files.
        other: As the files have it now.
        present: As it is now; what the files say just as it is in use, by hand, is not named.
    """
    parts = []
    for name in Kitchen.model_fields:
        ours, theirs = getattr(as_taken_over, name), getattr(other, name)
        used = getattr(present, name) if present is not None else ours
        if theirs in (ours, used):
            continue
        if isinstance(ours, tuple) and all(hasattr(item, "id") for item in (*ours, *theirs, *used)):
            before, after, now = ({i.id: i for i in some} for some in (ours, theirs, used))
            differ = [i for i in {**before, **after} if before.get(i) != after.get(i)]
            ids = [i for i in differ if present is None or now.get(i) != after.get(i)]
            if ids or not differ:
                parts.append(f"{name}: {', '.join(ids)}" if ids else f"{name}: order")
        else:
            parts.append(name)
    return parts
