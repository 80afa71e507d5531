"""uvicorn on our own loop: it serves until told to stop, and leaves signals to us."""

import asyncio
import contextlib
import socket
import ssl
from collections.abc import Awaitable, Callable, Iterator
from typing import Any

import uvicorn

from orchestrator.bootstrap.settings import Certificate, Failure

ASGIApp = Callable[[Any, Any, Any], Awaitable[None]]
_GRACE_S = 2
"""Answers under way when we stop get so long."""


class _Server(uvicorn.Server):
    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Signals are the service's: it closes the streams first."""
        yield


class WebServer:
    """Serves an ASGI application on the running loop."""

    def __init__(self, app: ASGIApp, host: str, port: int, certificate: Certificate | None = None) -> None:
        """Bind at once, so that a taken port is known before anything else starts.

        Args:
            app: What answers.
            host: Where it listens.
            port: 0 chooses a free one.
            certificate: With it, it speaks TLS only.

        Raises:
            Failure: the port is taken, the address is not ours, or certificate and key make no pair.
        """
        self._app = app
        if certificate is not None:
            _tried(certificate)
        self._scheme = "http" if certificate is None else "https"
        self._socket = _bound(host, port)
        self.host, self.port = host, int(self._socket.getsockname()[1])
        config = uvicorn.Config(
            app,
            log_config=None,
            access_log=False,
            server_header=False,  # which server answers, and of which kind, is nobody's business
            timeout_graceful_shutdown=_GRACE_S,
            lifespan="on",
            ws="none",
            ssl_certfile=certificate.chain if certificate else None,
            ssl_keyfile=certificate.key if certificate else None,
        )
        self._server = _Server(config)
        self._task: asyncio.Task[None] | None = None

    @property
    def url(self) -> str:
        """Where to look."""
        host = _reached(self.host)
        return f"{self._scheme}://{host}:{self.port}"

    async def start(self) -> None:
        """Serve; returns when requests are answered."""
        self._task = asyncio.create_task(self._server.serve(sockets=[self._socket]), name="web server")
        while not self._server.started:
            if self._task.done():
                self._task.result()
                raise Failure("the web server did not start")
            await asyncio.sleep(0.01)

    async def stop(self) -> None:
        """Close the streams, then the server; answers under way are finished."""
        if self._task is None:
            self._socket.close()
            return
        close = getattr(self._app, "close", None)
        if close is not None:
            close()
        self._server.should_exit = True
        await self._task
        self._socket.close()


def _reached(host: str) -> str:
    """The host as it stands in an address; of one that listens everywhere, this machine's name."""
    if host in {"0.0.0.0", "::"}:  # noqa: S104 - compared, not bound
        return socket.gethostname()
    return f"[{host}]" if ":" in host else host


def _tried(certificate: Certificate) -> None:
    """Raises: Failure: it cannot be used, with the file and the reason."""
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate.chain, certificate.key)
    except (OSError, ssl.SSLError) as error:
        why = error.strerror or error
        raise Failure(
            f"{certificate.chain} and {certificate.key} are no certificate and key for TLS ({why}): "
            "give a chain and its own key, both in PEM, which the service may read and no password guards",
            2,
        ) from error


def _bound(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
        listener.listen(256)
    except OSError as error:
        listener.close()
        raise Failure(f"{host}:{port} cannot be listened on ({error.strerror}): choose another port, or 0") from error
    listener.setblocking(False)
    return listener
