"""An asyncio loop whose time is simulated: it waits for nothing, runs "threads" in its own turn, and can be dropped.

The engine runs on it unchanged. Everything that would depend on the machine's speed or on its scheduler of threads is
decided here, by the seed: the same seed gives the same order of everything.
"""

import asyncio
from asyncio import base_events
from collections.abc import Callable
from typing import Any


class MachineGone(KeyboardInterrupt):
    """The machine is gone at this instant. Passes through asyncio, which lets this kind alone through."""


class _NoSelector:
    """Waits for no file; passes the time instead."""

    def __init__(self, wait: Callable[[float | None], None]) -> None:
        self._wait = wait

    def select(self, timeout: float | None = None) -> list[Any]:
        """Time passes at once."""
        self._wait(timeout)
        return []


class VirtualLoop(base_events.BaseEventLoop):
    """Use `run_to` and `run_job` from outside; inside, it is a loop like any other.

    Args:
        now_s: Where its time begins.
        latency: Seconds that a piece of work in a thread takes, asked anew for each.
    """

    def __init__(self, now_s: float, latency: Callable[[], float]) -> None:
        super().__init__()
        self._now_s = now_s
        self._latency = latency
        self._selector = _NoSelector(self._pass)
        self._free_at_s: dict[int, float] = {}
        self.dead = False
        self.complaints: list[str] = []
        """What was reported to nobody, such as an exception in a callback."""
        self.set_exception_handler(self._complain)

    def time(self) -> float:
        """Simulated seconds."""
        return self._now_s

    def _pass(self, seconds: float | None) -> None:
        assert seconds is not None, "the loop would wait for ever"
        self._now_s += seconds

    def _process_events(self, event_list: list[Any]) -> None:
        """There are none."""

    def _write_to_self(self) -> None:
        """Nobody sleeps."""

    def _complain(self, _loop: asyncio.AbstractEventLoop, context: dict[str, Any]) -> None:
        if not self.dead:
            self.complaints.append(f"{context.get('message')}: {context.get('exception')!r}")

    def call_soon(self, callback: Any, *args: Any, context: Any = None) -> asyncio.Handle:
        """As ever; what a dropped machine's leavings ask for is let fall."""
        if self.dead:
            return asyncio.Handle(callback, args, self, context)
        return super().call_soon(callback, *args, context=context)

    def call_soon_threadsafe(self, callback: Any, *args: Any, context: Any = None) -> asyncio.Handle:
        """There is one thread only."""
        return self.call_soon(callback, *args, context=context)

    def run_in_executor(self, executor: Any, func: Any, *args: Any) -> asyncio.Future[Any]:  # type: ignore[override]
        """Done in one piece, after the time that it takes; a power cut in it ends everything."""
        future = self.create_future()

        def work() -> None:
            if future.cancelled():
                return
            try:
                result = func(*args)
            except MachineGone:
                raise
            except BaseException as error:
                if not future.cancelled():
                    future.set_exception(error)
            else:
                if not future.cancelled():
                    future.set_result(result)

        done_s = self._now_s + self._latency()
        if executor is not None:  # ours have one thread each: one thing after the other
            done_s = max(done_s, self._free_at_s.get(id(executor), 0.0))
            self._free_at_s[id(executor)] = done_s
        self.call_at(done_s, work)
        return future

    def run_to(self, until_s: float) -> None:
        """Let everything happen up to that instant. Raises: MachineGone."""
        stop = self.call_at(max(until_s, self._now_s), self.stop)
        try:
            self.run_forever()
        finally:
            stop.cancel()

    def run_job(self, work: Any, longest_s: float) -> Any:
        """Run one coroutine to its end, with all that happens meanwhile.

        Raises:
            MachineGone: in the middle of it.
            TimeoutError: it does not end.
        """
        task = self.create_task(work)
        task.add_done_callback(lambda _: self.stop())
        self.run_to(self._now_s + longest_s)
        if not task.done():
            raise TimeoutError(f"not done after {longest_s} s")
        return task.result()

    def drop(self) -> None:
        """What was in memory is gone: nothing runs any more, not even an ending."""
        self.dead = True
        self._ready.clear()
        self._scheduled.clear()
        self._closed = True
