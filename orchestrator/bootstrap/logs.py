"""What the service logs: lines for people, or JSON for programs; each knows its kitchen, and none holds a password."""

import logging
import re
import sys
from typing import Final, Literal, TextIO

from pythonjsonlogger.json import JsonFormatter

from orchestrator.engine.loop import COMMAND

LogFormat = Literal["text", "json"]
_PASSWORD: Final = re.compile(r"(?<=://)([^\s/@:\"']*):[^\s/@\"']+@")
"""Of an address, between its user and its host (RFC 3986, 3.2.1)."""
_TEXT: Final = "%(levelname)s %(name)s: %(message)s"
_NOISY: Final = ("alembic", "apscheduler", "mqtt", "uvicorn")


class KitchenFilter(logging.Filter):
    """Says of each record which kitchen it belongs to, and of which command where there is one."""

    kitchen: str = ""
    """Set once it is known."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Add to it; none is held back."""
        record.kitchen = self.kitchen
        if not hasattr(record, "command_id"):
            record.command_id = COMMAND.get()
        return True


class _Text(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        return without_passwords(super().format(record))


class _Json(JsonFormatter):
    def format(self, record: logging.LogRecord) -> str:
        return without_passwords(super().format(record))


def without_passwords(text: str) -> str:
    """The text with passwords in addresses made unreadable: the last door, whatever a library puts into a message."""
    return _PASSWORD.sub(r"\1:***@", text)


def set_up(form: LogFormat, stream: TextIO | None = None, level: int = logging.INFO) -> KitchenFilter:
    """Log to a stream, stderr unless another is given; what was set up before is replaced.

    Returns:
        Where to say which kitchen it is, once that is known.
    """
    handler = logging.StreamHandler(stream or sys.stderr)
    known = KitchenFilter()
    handler.addFilter(known)
    if form == "json":
        handler.setFormatter(
            _Json(
                "{levelname}{name}{message}{kitchen}{command_id}",
                style="{",
                rename_fields={"levelname": "level", "name": "logger"},
                timestamp="time",
            )
        )
    else:
        handler.setFormatter(_Text(_TEXT))
    logging.basicConfig(level=level, handlers=[handler], force=True)
    for noisy in _NOISY:
        logging.getLogger(noisy).setLevel(logging.WARNING)
    return known
