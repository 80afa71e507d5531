"""The writer's side of the relay: acts that display processes put down are carried out here, and answered."""

import asyncio
import json
import logging
from collections.abc import Awaitable, Callable
from typing import Final

from pydantic import ValidationError

from orchestrator.core.commands import COMMANDS, Command
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.engine.inbox import Answer
from orchestrator.ports.event_log import LogUnavailable
from orchestrator.ports.relay import Relay, WriterSays

LOG = logging.getLogger(__name__)
_LOOKS_EVERY_S: Final = 0.1
_SAYS_EVERY_S: Final = 1.0
_AWAY_S: Final = 2.0


def outcome_json(answer: Answer) -> str:
    """An answer as it crosses."""
    if isinstance(answer, Refusal):
        return json.dumps({"refusal": answer.model_dump(mode="json")})
    return json.dumps({"seq": answer})


def outcome_of(text: str) -> Answer:
    """The inverse of `outcome_json`."""
    told = json.loads(text)
    return Refusal.model_validate(told["refusal"]) if "refusal" in told else int(told["seq"])


class Relayed:
    """Takes acts from elsewhere, one after the other as they came, and says once a second how the writer does."""

    def __init__(
        self, relay: Relay, submit: Callable[[Command], Awaitable[Answer]], says: Callable[[], WriterSays]
    ) -> None:
        """Nothing is taken yet.

        Args:
            relay: Where they are put down.
            submit: Carries one out; a repeat of an id gets the same answer.
            says: What the writer says of itself.
        """
        self._relay, self._submit, self._says = relay, submit, says

    async def run(self) -> None:
        """Until cancelled; a database that is away is waited for."""
        said_at = -_SAYS_EVERY_S
        loop = asyncio.get_running_loop()
        while True:
            try:
                if loop.time() - said_at >= _SAYS_EVERY_S:
                    said_at = loop.time()
                    await asyncio.to_thread(self._relay.say, self._says())
                for command_id, body in await asyncio.to_thread(self._relay.waiting):
                    answer = await self._carry_out(body)
                    await asyncio.to_thread(self._relay.answer, command_id, outcome_json(answer))
            except LogUnavailable as error:
                LOG.warning("acts from other displays wait: %s", error)
                await asyncio.sleep(_AWAY_S)
            await asyncio.sleep(_LOOKS_EVERY_S)

    async def _carry_out(self, body: str) -> Answer:
        try:
            command = COMMANDS.validate_json(body)
        except ValidationError as error:
            return Refusal(
                code=RefusalCode.BAD_VALUE,
                thing="act",
                status=f"cannot be understood ({error.errors()[0]['msg']})",
                remedy="run the same version in every process of the kitchen",
            )
        return await self._submit(command)
