"""Somebody who notices when the service stands: systemd, told that it lives; and a thread that ends a loop that stands.

Source: systemd, sd_notify(3) and sd_watchdog_enabled(3): datagrams of ``NAME=value`` lines to ``$NOTIFY_SOCKET``.
"""

import asyncio
import contextlib
import faulthandler
import logging
import os
import socket
import sys
import threading
import time
from collections.abc import Callable, Mapping
from typing import Final

LOG = logging.getLogger(__name__)
STALLED: Final = 75
"""Exit status of a loop that stood: EX_TEMPFAIL of sysexits.h, "try again"."""
STALL_S: Final = 30.0
_LOOKS_EVERY_S: Final = 1.0


class Systemd:
    """The service manager, where there is one; elsewhere every call does nothing."""

    def __init__(self, environment: Mapping[str, str] | None = None) -> None:
        """Look for it in the environment of the process, unless another is given."""
        environment = os.environ if environment is None else environment
        self._address = environment.get("NOTIFY_SOCKET", "")
        asked = environment.get("WATCHDOG_USEC", "")
        for_us = environment.get("WATCHDOG_PID", str(os.getpid())) == str(os.getpid())
        self.watchdog_s = int(asked) / 1e6 if asked.isdecimal() and for_us else 0.0
        """Within this it wants to hear from us; 0: not at all."""

    def tell(self, *lines: str) -> None:
        """Send lines such as ``READY=1``; who does not listen is not waited for."""
        if not self._address:
            return
        address = "\0" + self._address[1:] if self._address.startswith("@") else self._address
        with contextlib.suppress(OSError), socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as line:
            line.setblocking(False)
            line.sendto("\n".join(lines).encode(), address)

    async def ping(self, alive: Callable[[], str]) -> None:
        """From the loop, say in time that it lives, until cancelled; while ``alive`` gives a reason not to, be silent.

        Args:
            alive: Why the service should be started again; empty while it works.
        """
        told = ""
        while self.watchdog_s:
            why = alive()
            if not why:
                self.tell("WATCHDOG=1")
            elif why != told:
                LOG.critical("systemd is not told that this service lives: %s", why)
                self.tell(f"STATUS={why}")
            told = why
            await asyncio.sleep(self.watchdog_s / 3)


class LoopGuard:
    """A thread beside the loop: a loop that stands for too long ends the process, so that it is started again.

    Time that the computer slept, or the whole process was stopped, does not count: only looks that came in time do.
    """

    def __init__(self, stall_s: float = STALL_S, end: Callable[[int], None] = os._exit) -> None:
        """Args:
        stall_s: Seconds a loop may stand; nothing of ours holds it for one.
        end: Ends the process with a status, at once: a loop that stands cannot end in order.
        """
        self._stall_s = stall_s
        self._end = end
        self._beaten = threading.Event()
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._watch, name="loop guard", daemon=True)

    async def run(self) -> None:
        """Beat from the loop until cancelled."""
        self._thread.start()
        try:
            while True:
                self._beaten.set()
                await asyncio.sleep(_LOOKS_EVERY_S / 2)
        finally:
            self._stop.set()

    def _watch(self) -> None:
        stood_s = 0.0
        while True:
            before = time.monotonic()
            if self._stop.wait(_LOOKS_EVERY_S):
                return
            late = time.monotonic() - before > 2 * _LOOKS_EVERY_S
            if self._beaten.is_set() or late:
                stood_s = 0.0
                self._beaten.clear()
                continue
            stood_s += _LOOKS_EVERY_S
            if stood_s >= self._stall_s:
                LOG.critical(
                    "the loop has stood for %.0f s: this process ends so that it can be started again; everything "
                    "acknowledged is on disk. What every thread was doing follows",
                    stood_s,
                )
                faulthandler.dump_traceback(sys.stderr)
                self._end(STALLED)
                return
