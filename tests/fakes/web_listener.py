"""A web server of the test's own on the loopback, by the standard library; it keeps what it is sent."""

import contextlib
import json
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any


@dataclass
class Heard:
    """What came in, and what is answered."""

    port: int = 0
    codes: list[int] = field(default_factory=list)
    """Answers, in order; then 200."""
    waits: threading.Event | None = None
    """Set by the test: until it is set, nothing is answered."""
    bodies: list[dict[str, Any]] = field(default_factory=list)
    paths: list[str] = field(default_factory=list)


@contextlib.contextmanager
def listening() -> Iterator[Heard]:
    """A server that runs meanwhile."""
    heard = Heard()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            heard.paths.append(self.path)
            heard.bodies.append(json.loads(body))
            if heard.waits is not None:
                heard.waits.wait(10)
            self.send_response(heard.codes.pop(0) if heard.codes else 200)
            self.end_headers()

        def log_message(self, format: str, *args: Any) -> None:
            """Silent."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    heard.port = server.server_port
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield heard
    finally:
        if heard.waits is not None:
            heard.waits.set()
        server.shutdown()
        thread.join()
        server.server_close()
