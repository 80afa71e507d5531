"""What a service is told when it is started."""

import os
from dataclasses import dataclass, field
from datetime import time
from ipaddress import ip_address
from pathlib import Path
from typing import Final, Literal

from orchestrator.ports.event_log import Keeping

EMBEDDED: Final = "embedded"
NONE: Final = "none"


@dataclass(frozen=True, slots=True)
class Certificate:
    """Files for TLS, in PEM."""

    chain: Path
    """The certificate, then those that vouch for it."""
    key: Path
    """Of the certificate, without a password."""


@dataclass(frozen=True, slots=True)
class Settings:
    """Where things are kept, and where the service listens."""

    data: Path
    """Folder of the event log and the readings; made if it is missing. Without use where `database` is given."""
    database: str = ""
    """URL of a PostgreSQL server that keeps both instead; it holds a password and is never shown."""
    standby: bool = False
    """Wait while another service writes this kitchen, and take over when it ends."""
    keeping: Keeping = field(default_factory=Keeping)
    """How long readings are kept."""
    backups: Path | None = None
    """Folder for backups that are made by themselves; none makes none."""
    keep_backups: int = 14
    """How many of them stay."""
    backup_at: time = time(3, 0)
    """Local time of the kitchen at which nobody works."""
    kitchen: Path | None = None
    """Folder with the kitchen's files, taken over at the first start; from then on the log rules."""
    first_run: bool = False
    """Where no kitchen was taken over yet: wait until somebody does so on the screen, and show what is missing."""
    host: str = "127.0.0.1"
    """Where the screens are: loopback only, unless the manager has a passphrase."""
    certificate: Certificate | None = None
    """With it the screens speak TLS only."""
    port: int = 0
    """Of the screens; 0 chooses a free one."""
    broker: str = EMBEDDED
    """``embedded``, ``none``, or the URL of an MQTT broker."""
    broker_host: str = "127.0.0.1"
    """Where the embedded broker listens; beyond this machine only with a login."""
    broker_login: str = field(default="", repr=False)
    """``user:password`` that the embedded broker asks for; empty: it lets everybody in."""
    broker_port: int = 0
    """Of the embedded broker; 0 chooses a free one."""
    practice: bool = False
    """Everything shown and printed is marked PRACTICE."""
    planner: Literal["children", "database"] = "children"
    """Who plans: processes of our own, or ``coldwright worker`` anywhere, through the database."""
    planning_seconds: float = 4.0
    """How long the planner may look for a better plan."""
    log_format: Literal["text", "json"] = "text"
    """Lines for people, or JSON for programs."""
    stall_seconds: float = 30.0
    """A loop that stands for so long ends the process."""
    client_id: str = "coldwright"
    """Prefix of our identifiers at the broker; two services at one broker need two."""


def default_data_folder() -> Path:
    """``$COLDWRIGHT_DATA``, else ``coldwright`` in the user's data folder (XDG base directories)."""
    if named := os.environ.get("COLDWRIGHT_DATA"):
        return Path(named)
    base = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(base) / "coldwright"


def is_loopback(host: str) -> bool:
    """Whether nobody but this machine can reach an address. A name counts only if it is ``localhost``."""
    if host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False


class Failure(Exception):
    """Why the service does not start, in words."""

    def __init__(self, text: str, status: int = 1) -> None:
        """Keep the words, and the status that the command ends with: 1 refused, 2 bad input."""
        super().__init__(text)
        self.text = text
        self.status = status
