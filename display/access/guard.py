"""Who calls: a paired screen, the manager, a program with a token; or anybody, while the service is open."""

import hashlib
import hmac
import logging
import secrets
import threading
import time
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from ipaddress import ip_address
from typing import Any, Final, NamedTuple
from urllib.parse import urlsplit

from flask import Request
from werkzeug.http import parse_cookie

from display.access.brake import Brake, Rate
from display.access.notes import Notes
from orchestrator.ports.access import AccessStore, Caller, Role
from orchestrator.ports.event_log import LogUnavailable

log = logging.getLogger(__name__)

GUARD: Final = "guard"
SCREEN_COOKIE: Final = "screen"
MANAGER_COOKIE: Final = "manager"
SCREEN_S: Final = 400 * 24 * 3600
"""As long as browsers keep a cookie; each page begins it anew."""
FRESH_S: Final = 2.0
"""A caller is looked up anew after this: a screen that is revoked elsewhere is out within seconds."""
STALE_S: Final = 3600.0
"""While the store cannot be read, whoever was known is known for so long: a full disk stops no cook."""
SEEN_EVERY_S: Final = 60.0
MOST_KNOWN: Final = 1000

OPEN: Final = Caller("open", "", Role.MANAGER)
"""Without a passphrase everybody may everything, and the service listens on its own machine only."""


@dataclass(frozen=True, slots=True)
class Carried:
    """What a request brings along to be known by."""

    screen: str = ""
    manager: str = ""
    bearer: str = ""
    source: str = ""
    host: str = ""
    """As the request names this service."""

    @classmethod
    def of_request(cls, request: Request) -> "Carried":
        """Of a request to Flask."""
        cookies, told = request.cookies, request.headers.get("Authorization", "")
        screen, manager = cookies.get(SCREEN_COOKIE, ""), cookies.get(MANAGER_COOKIE, "")
        return cls(screen, manager, _bearer(told), request.remote_addr or "", request.host)

    @classmethod
    def of_scope(cls, scope: Any) -> "Carried":
        """Of an ASGI scope."""
        told = {name: value.decode("latin-1") for name, value in scope.get("headers", ())}
        cookies = parse_cookie(told.get(b"cookie", ""))
        client = scope.get("client") or ("", 0)
        return cls(
            cookies.get(SCREEN_COOKIE, ""),
            cookies.get(MANAGER_COOKIE, ""),
            _bearer(told.get(b"authorization", "")),
            str(client[0]),
            told.get(b"host", ""),
        )

    @property
    def anything(self) -> bool:
        """Whether there is something to be known by, right or wrong."""
        return bool(self.screen or self.manager or self.bearer)

    def form_token(self) -> str:
        """What a form must bring back: only a page of ours can know it. Empty without a cookie."""
        secret = self.screen or self.manager
        if not secret:
            return ""
        return hmac.new(secret.encode(), b"coldwright form", hashlib.sha256).hexdigest()[:32]


def _bearer(authorization: str) -> str:
    kind, _, secret = authorization.partition(" ")
    return secret.strip() if kind.lower() == "bearer" else ""


def _is_this_machine(host: str) -> bool:
    """Whether a name, an address, or either with a port, is that of the machine itself."""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        name = _name_of(host)
    if name == "localhost" or name.endswith(".localhost"):
        return True
    try:
        return ip_address(name).is_loopback
    except ValueError:
        return False


def _name_of(host: str) -> str:
    try:
        return (urlsplit(f"//{host}").hostname or "").rstrip(".")
    except ValueError:  # a bracket too many, say: nobody's name
        return ""


class _Found(NamedTuple):
    caller: Caller
    at: float


class Guard:
    """Thread-safe. Looks into the store from whatever thread asks: call `caller` in no loop."""

    def __init__(
        self,
        store: AccessStore | None,
        *,
        clock: Callable[[], datetime] = lambda: datetime.now(UTC),
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        """Args:
        store: None: open for good, as a demo is.
        clock: The real time, whatever the kitchen's clock says.
        monotonic: Seconds that only go forward.
        """
        self.store = store
        self.now = clock
        self.page_key = _page_key(store)
        self.notes = Notes(store, clock, monotonic)
        self.passphrases, self.personal = Brake(monotonic), Brake(monotonic)
        self.pairings = Rate(10, 600.0, monotonic)
        self.slow = threading.Lock()
        """Held while a passphrase or code is tried: one at a time, so that trying takes no memory from the kitchen."""
        self._monotonic = monotonic
        self._known: dict[str, _Found] = {}
        self._written: dict[int, float] = {}
        self._closed: tuple[bool, float] | None = None
        self._codes: tuple[bool, float] | None = None

    @property
    def counts(self) -> Counter[str]:
        """Refused acts since the start, by reason."""
        return self.notes.counts

    def is_open(self) -> bool:
        """Whether nobody need be let in: no passphrase was set. Raises: LogUnavailable when it never could be read."""
        if self.store is None:
            return True
        now = self._monotonic()
        if self._closed is None or now - self._closed[1] > FRESH_S:
            try:
                self._closed = (self.store.has_passphrase(), now)
            except LogUnavailable:
                if self._closed is None:
                    raise
        return not self._closed[0]

    def caller(self, carried: Carried) -> Caller | None:
        """Who it is; none if nobody we know.

        Raises:
            LogUnavailable: it cannot be looked up, and was not of late.
        """
        if self.is_open():
            # Another name for an open service is a page elsewhere that passes itself off as this one (DNS rebinding);
            # another machine's address is a proxy that would show it to a network.
            here = _is_this_machine(carried.host) and (not carried.source or _is_this_machine(carried.source))
            return OPEN if self.store is None or here else None
        ways = ((carried.bearer, self._program), (carried.manager, self._manager), (carried.screen, self._screen))
        for secret, look in ways:
            if secret and (found := self._lately(secret, look)) is not None:
                return found
        return None

    def codes_wanted(self) -> bool:
        """Whether critical sign-offs ask for a personal code: from the first one on that was given out.

        Raises:
            LogUnavailable: it cannot be looked up, and never could.
        """
        if self.store is None or self.is_open():
            return False
        now = self._monotonic()
        if self._codes is None or now - self._codes[1] > FRESH_S:
            try:
                self._codes = (bool(self.store.codes()), now)
            except LogUnavailable:
                if self._codes is None:
                    raise
        return self._codes[0]

    def forget(self) -> None:
        """Look everybody up anew: something was changed."""
        self._known.clear()
        self._closed = self._codes = None

    def _lately(self, secret: str, look: Callable[[str], Caller | None]) -> Caller | None:
        key, now = hashlib.sha256(f"{look.__name__} {secret}".encode()).hexdigest(), self._monotonic()
        known = self._known.get(key)
        if known is not None and now - known.at <= FRESH_S:
            return known.caller
        try:
            caller = look(secret)
        except LogUnavailable:
            if known is None or now - known.at > STALE_S:
                raise
            return known.caller
        if caller is None:
            self._known.pop(key, None)
            return None
        if len(self._known) >= MOST_KNOWN:
            self._known.clear()
        self._known[key] = _Found(caller, now)
        return caller

    def _program(self, secret: str) -> Caller | None:
        token = self.store.token(secret) if self.store else None
        if self.store is None or token is None or token.revoked_at is not None:
            return None
        self._was_seen(token.id, self.store.token_seen)
        return Caller("token", token.name, Role.VIEWER, scopes=token.scopes, id=str(token.id))

    def _manager(self, secret: str) -> Caller | None:
        until = self.store.session_until(secret) if self.store else None
        return Caller("manager", "manager", Role.MANAGER) if until is not None and self.now() < until else None

    def _screen(self, secret: str) -> Caller | None:
        screen = self.store.screen(secret) if self.store else None
        if self.store is None or screen is None or screen.revoked_at is not None:
            return None
        self._was_seen(screen.id, self.store.seen)
        return Caller("screen", screen.name, screen.role, id=str(screen.id))

    def _was_seen(self, number: int, write: Callable[[int, datetime], None]) -> None:
        now = self._monotonic()
        if now - self._written.get(number, -SEEN_EVERY_S) < SEEN_EVERY_S:
            return
        self._written[number] = now
        with suppress(LogUnavailable):  # when it was there last is nice to know, no more
            write(number, self.now())


def _page_key(store: AccessStore | None) -> bytes:
    """What signs messages between two pages. Display processes of one kitchen share it, so that whichever of them
    answers next can read them; where it cannot be read, messages are lost and nothing else."""
    if store is not None:
        with suppress(LogUnavailable):
            return store.page_key()
    return secrets.token_bytes(32)
