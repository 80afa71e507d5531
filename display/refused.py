"""What is said of an act that was refused: why, what would be accepted, and that somebody else was quicker."""

from collections.abc import Mapping
from typing import Final
from urllib.parse import urlencode

from flask import request

from display.request import Message, back, person_id, showing
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import AlarmId, TaskId
from orchestrator.core.state import TaskStatus


def unanswered() -> Message:
    """That there is no answer yet: whether it was carried out, nobody knows."""
    w = showing().words
    return Message("late", w("late_answer"), w("late_remedy"))


def refused(refusal: Refusal) -> Message:
    """A refusal as a sentence with its remedy, and the page where more can be done about it."""
    state = showing().snapshot.state
    tell = showing().tell
    titles = {task.id: tell(task.title) for task in state.plan.tasks} if state.plan else {}
    is_task = refusal.thing in titles
    alarm = state.alarms.get(AlarmId(refusal.thing))
    if refusal.code in {RefusalCode.WRONG_STATE, RefusalCode.STALE} and is_task:
        already = _already(TaskId(refusal.thing), titles)
        if already is not None:
            return already
    if refusal.code is RefusalCode.UNKNOWN and not is_task and "." in refusal.thing and ":" not in refusal.thing:
        w = showing().words
        return Message("refused", w("gone_from_plan"), w("gone_from_plan_remedy"))
    title = showing().sentences.alarm_head(alarm.facts) if alarm else titles.get(TaskId(refusal.thing), refusal.thing)
    says, remedy = showing().sentences.refusal(refusal, title)
    helps = refusal.code in {RefusalCode.GATE_SHUT, RefusalCode.BAD_VALUE, RefusalCode.WRONG_STATE}
    more = f"/task/{refusal.thing}" if is_task and helps else ""
    if refusal.code is RefusalCode.NOT_ALLOWED and person_id() is None:
        more = f"/person?{urlencode({'back': back()})}"
    return Message("refused", says, remedy, more)


_MAKES_OF: Final = {"start": "started", "finish": "finished", "skip": "skipped", "tray": "tray", "extend": "finished"}
"""What makes an act needless: when it is on record already, somebody was quicker."""


def _already(task: TaskId, titles: Mapping[TaskId, str]) -> Message | None:
    """Who did the same before, and when; none when the act was refused for another reason."""
    picture = showing()
    did = _MAKES_OF.get(request.path.rpartition("/")[2], "")
    needless = {did, "finished", "skipped"} if did else set()
    acts = reversed(picture.snapshot.state.acts)
    last = next((act for act in acts if act.task == task and act.what in needless), None)
    if last is None or picture.snapshot.state.record(task).status is TaskStatus.WAITING:
        return None
    who = picture.name_of(last.person) or picture.words("somebody")
    when = picture.formats.when(last.at, picture.now)
    says = picture.words(f"already_{last.what}", who=who, time=when, thing=titles[task])
    return Message("done", says, picture.words("already_remedy"))
