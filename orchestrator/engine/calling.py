"""Sends the calls that are on record as made, and puts on record what became of them.

Which calls are on their way is read off the state, so a restart goes on with those whose end nobody knows, and repeats
none that is known to have been delivered. Nobody waits for a sender: each call is a task of its own.
"""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Sequence
from functools import partial
from typing import Final, Literal
from uuid import uuid4

from orchestrator.core.calls import calls_anybody
from orchestrator.core.commands import Command, RecordCall, RecordChannels
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CommandId
from orchestrator.core.models.calls import Call, Callee, CallFault, CallPlan, CallWhy, ChannelFault
from orchestrator.core.state import State
from orchestrator.engine.inbox import Answer
from orchestrator.ports.calling import Message, Notifier, Sent

LOG = logging.getLogger(__name__)
_RETRY_S: Final = 1.0
"""While the log cannot be written, an outcome is kept and tried again: sending anew would tell people twice."""

Compose = Callable[[Call], Message]
"""Puts a call into words; runs in a thread."""


class Caller:
    """Follows the state; all methods belong to the loop's thread."""

    def __init__(
        self,
        *,
        state: Callable[[], State],
        submit: Callable[[Command], Awaitable[Answer]],
        notifier: Notifier,
        compose: Compose,
    ) -> None:
        """Wire the parts; `changed` is to be called after every change of the state."""
        self._state = state
        self._submit = submit
        self._notifier = notifier
        self._compose = compose
        self._changed = asyncio.Event()
        self._sending: dict[int, asyncio.Task[None]] = {}
        self._checked: CallPlan | None = None

    def changed(self) -> None:
        """The state may have changed. Cheap."""
        self._changed.set()

    async def run(self) -> None:
        """Send until cancelled; what is then on its way is sent again after the next start."""
        try:
            while True:
                self._changed.clear()
                await self._check_channels()
                self._look()
                await self._changed.wait()
        finally:
            for task in self._sending.values():
                task.cancel()

    async def _check_channels(self) -> None:
        kitchen = self._state().kitchen
        if kitchen is None or kitchen.calls is self._checked:
            return
        self._checked = kitchen.calls
        names = [channel.secret for one in kitchen.calls.people for channel in one.channels]
        unset = await asyncio.to_thread(self._notifier.unset, names)
        if unset != self._state().calls.unset:
            await self._submit(RecordChannels(command_id=_new_id(), unset=tuple(sorted(unset))))

    def _look(self) -> None:
        state = self._state()
        on_their_way = {call.seq: call for call in state.calls.on_their_way()}
        for seq, call in on_their_way.items():
            if seq not in self._sending:
                task = asyncio.create_task(self._call(call), name=f"call {seq}")
                self._sending[seq] = task
                task.add_done_callback(partial(self._ended, seq))

    def _ended(self, seq: int, task: asyncio.Task[None]) -> None:
        self._sending.pop(seq, None)
        if not task.cancelled() and (error := task.exception()) is not None:
            LOG.error("call %d broke off: %r", seq, error)

    async def _call(self, call: Call) -> None:
        """One call from message to outcome; given up once nobody need be told any more."""
        kitchen = self._state().kitchen
        callee = kitchen.calls.callee(call.to) if kitchen is not None else None
        if callee is None or not wanted(self._state(), call):
            await self._record(call, "gave_up", faults=_over())
            return

        sent = await self._send(call, callee)
        if sent is None:
            await self._record(call, "gave_up", faults=_over())
        else:
            await self._record(call, "delivered" if sent.reached else "gave_up", sent.reached, sent.faults)

    async def _send(self, call: Call, callee: Callee) -> Sent | None:
        """What became of the message; nothing if it was not wanted any more before anybody was reached."""

        async def on_failed(faults: Sequence[ChannelFault]) -> None:
            await self._record(call, "failed", faults=tuple(faults))

        message = await self._message(call)
        sending = asyncio.ensure_future(self._notifier.send(message, callee.channels, on_failed))
        over = asyncio.ensure_future(self._until_over(call))
        try:
            await asyncio.wait((sending, over), return_when=asyncio.FIRST_COMPLETED)
            return sending.result() if sending.done() else None
        except Exception as error:  # a sender that breaks its promise must not be tried for ever
            LOG.error("call %d broke off: %s", call.seq, type(error).__name__)
            return Sent((), tuple(ChannelFault(channel=one.name, fault=CallFault.REFUSED) for one in callee.channels))
        finally:
            sending.cancel()
            over.cancel()

    async def _message(self, call: Call) -> Message:
        try:
            return await asyncio.to_thread(self._compose, call)
        except Exception as error:  # people are told, in whatever words there are
            LOG.error("call %d is told without its particulars: %r", call.seq, error)
            return Message("Coldwright", ", ".join(call.titles) or call.why)

    async def _until_over(self, call: Call) -> None:
        while wanted(self._state(), call):
            await asyncio.sleep(_RETRY_S)

    async def _record(
        self,
        call: Call,
        outcome: Literal["delivered", "failed", "gave_up"],
        reached: tuple[str, ...] = (),
        faults: tuple[ChannelFault, ...] = (),
    ) -> None:
        command = RecordCall(command_id=_new_id(), call=call.seq, outcome=outcome, reached=reached, faults=faults)
        while isinstance(answer := await self._submit(command), Refusal):
            if answer.code is not RefusalCode.UNAVAILABLE:
                LOG.info("the outcome of call %d was not recorded: %s", call.seq, answer.status)
                return
            await asyncio.sleep(_RETRY_S)


def wanted(state: State, call: Call) -> bool:
    """Whether somebody still has to be told: a test, or about an alarm that nobody has seen."""
    if call.why is CallWhy.TEST:
        return True
    plan = state.kitchen.calls if state.kitchen is not None else CallPlan()
    alarms = (state.alarms.get(alarm) for alarm in call.alarms)
    return any(alarm is not None and calls_anybody(alarm, plan) for alarm in alarms)


def _over() -> tuple[ChannelFault, ...]:
    return (ChannelFault(channel="", fault=CallFault.OVER),)


def _new_id() -> CommandId:
    return CommandId(f"call-{uuid4().hex}")
