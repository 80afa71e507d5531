"""Messages to people through Apprise, which speaks to mail, phones and messengers by URL; tried again with tenacity.

What Apprise says of a failure may name hosts, paths and tokens. Nothing of it leaves this module but a word of ours and
the number by which the other side refused.
"""

import asyncio
import logging
import re
import threading
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, Final

from orchestrator.adapters.secrets_file import Secrets
from orchestrator.core.models.calls import CallChannel, CallFault, ChannelFault
from orchestrator.ports.calling import Message, OnFailed, Sent

LOG = logging.getLogger(__name__)
_TALKATIVE: Final = ("urllib3", "requests_oauthlib", "oauthlib")
"""Loggers that write hosts, paths and tokens; they are silent."""
_CODE = re.compile(r"\berror=(\d{3})\b")
_HOPELESS: Final = {CallFault.NO_ADDRESS, CallFault.BAD_ADDRESS}
"""Trying again changes nothing."""


@dataclass(frozen=True, slots=True)
class Patience:
    """How long and how often it is tried; real seconds, figures of ours."""

    attempt_s: float = 20.0
    """One attempt by one channel."""
    first_pause_s: float = 2.0
    longest_pause_s: float = 30.0
    whole_s: float = 180.0
    """Then it is given up, and the next person's turn comes."""


class AppriseNotifier:
    """Implements `ports.calling.Notifier`. Each attempt runs in a thread of its own, which nobody waits for longer
    than the time of one attempt, not even the end of the program."""

    def __init__(self, secrets: Secrets | None = None, patience: Patience | None = None) -> None:
        """Addresses come from ``secrets``, looked up for each attempt."""
        self._secrets = secrets or Secrets()
        self._patience = patience or Patience()

    def unset(self, secrets: Iterable[str]) -> frozenset[str]:
        """Those of the names under which there is no address."""
        return frozenset(name for name in secrets if self._secrets.address(name) is None)

    async def send(self, message: Message, channels: Sequence[CallChannel], on_failed: OnFailed) -> Sent:
        """Try all channels until one takes the message, nothing can be hoped for, or the time is over."""
        import tenacity

        await asyncio.to_thread(_load)  # takes seconds, the first time
        patience = self._patience

        async def tell(state: tenacity.RetryCallState) -> None:
            assert state.outcome is not None  # an attempt lies behind
            await on_failed(state.outcome.result().faults)

        retrying = tenacity.AsyncRetrying(
            retry=tenacity.retry_if_result(_worth_trying_again),
            wait=tenacity.wait_exponential(multiplier=patience.first_pause_s, max=patience.longest_pause_s),
            stop=tenacity.stop_before_delay(patience.whole_s),
            before_sleep=tell,
            retry_error_callback=lambda state: state.outcome.result() if state.outcome is not None else None,
        )
        sent: Sent = await retrying(self._attempt, message, channels)
        return sent

    async def _attempt(self, message: Message, channels: Sequence[CallChannel]) -> Sent:
        """All channels once, side by side."""
        faults = await asyncio.gather(*(self._try(message, channel) for channel in channels))
        reached = tuple(c.name for c, fault in zip(channels, faults, strict=True) if fault is None)
        return Sent(reached, tuple(fault for fault in faults if fault is not None))

    async def _try(self, message: Message, channel: CallChannel) -> ChannelFault | None:
        address = await asyncio.to_thread(self._secrets.address, channel.secret)
        if address is None:
            return ChannelFault(channel=channel.name, fault=CallFault.NO_ADDRESS)
        try:
            async with asyncio.timeout(self._patience.attempt_s):
                fault, code = await _in_a_thread(partial(_deliver, address, message))
        except TimeoutError:
            fault, code = CallFault.NO_ANSWER, None
        return None if fault is None else ChannelFault(channel=channel.name, fault=fault, code=code)


def _worth_trying_again(sent: Sent) -> bool:
    return not sent.reached and not all(one.fault in _HOPELESS for one in sent.faults)


class _OnlyNumbers(logging.Filter):
    """Leaves of what Apprise says the number by which the other side refused, and nothing else."""

    def filter(self, record: logging.LogRecord) -> bool:
        codes = _CODE.findall(record.getMessage())
        if codes:
            record.msg, record.args, record.exc_info = f"refused: error={codes[-1]}", (), None
        return bool(codes)


_ONLY_NUMBERS: Final = _OnlyNumbers()


def _silence() -> None:
    """Before each use: whoever looks for a fault may have set these loggers to tell everything."""
    for name in _TALKATIVE:
        logging.getLogger(name).setLevel(logging.CRITICAL + 1)
    apprise = logging.getLogger("apprise")
    apprise.setLevel(logging.WARNING)
    apprise.addFilter(_ONLY_NUMBERS)  # once, however often


_Delivered = tuple[CallFault | None, int | None]


def _load() -> None:
    import apprise  # noqa: F401


def _deliver(address: str, message: Message) -> _Delivered:
    """Hand a message to one address. Returns: what went wrong, and the number the other side gave."""
    import apprise

    _silence()
    # Nothing is kept on disk, one call after the other in this thread, no picture from anybody's server.
    asset = apprise.AppriseAsset(
        storage_mode="memory", async_mode=False, app_id="Coldwright", app_desc="Coldwright", image_url_mask=""
    )
    sender = apprise.Apprise(asset=asset)
    if not sender.add(address) or len(sender) != 1:
        return CallFault.BAD_ADDRESS, None
    result: Any = sender.notify(
        title=message.title, body=message.body, body_format="text", notify_type="warning", log_level=logging.WARNING
    )
    if result:
        return None, None
    codes = [match for entry in result.logs() for match in _CODE.findall(str(entry))]
    return CallFault.REFUSED, int(codes[-1]) if codes else None


async def _in_a_thread(work: Callable[[], _Delivered]) -> _Delivered:
    """The result of work that may hang: in a thread that ends with the program, whatever it waits for."""
    loop = asyncio.get_running_loop()
    done: asyncio.Future[_Delivered] = loop.create_future()

    def settle(result: _Delivered) -> None:
        if not done.done():
            done.set_result(result)

    def run() -> None:
        try:
            result = work()
        except Exception as error:
            LOG.warning("a channel broke off: %s", type(error).__name__)  # its text may hold the address
            result = CallFault.REFUSED, None
        try:
            loop.call_soon_threadsafe(settle, result)
        except RuntimeError:
            return  # the loop has ended: nobody waits for it

    threading.Thread(target=run, name="call", daemon=True).start()
    return await done
