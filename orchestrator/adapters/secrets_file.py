"""Addresses of channels: from the environment, or from a file outside every repository that only its owner can read."""

import logging
import os
import stat
from collections.abc import Mapping
from pathlib import Path
from typing import Final

LOG = logging.getLogger(__name__)
FILE_VARIABLE: Final = "COLDWRIGHT_SECRETS"
"""Names the file, with lines of ``NAME=address``; # begins a comment."""


class SecretsRefused(Exception):
    """Why a secrets file is not read; the message names the file and the remedy, and nothing that stands in it."""


class Secrets:
    """Looks up addresses by name, each time anew: a changed password needs no new start."""

    def __init__(self, environment: Mapping[str, str] | None = None) -> None:
        """Look in the environment of the process, unless another is given."""
        self._environment = os.environ if environment is None else environment
        self._told = ""

    def address(self, name: str) -> str | None:
        """What stands under a name; none if nothing does, or the file is refused."""
        found = self._environment.get(name, "").strip() or self._in_file().get(name, "")
        return found or None

    def _in_file(self) -> Mapping[str, str]:
        named = self._environment.get(FILE_VARIABLE, "").strip()
        if not named:
            return {}
        try:
            return read_secrets(Path(named))
        except SecretsRefused as refused:
            if str(refused) != self._told:  # once, not with every call
                self._told = str(refused)
                LOG.error("%s", refused)
            return {}


def read_secrets(path: Path) -> dict[str, str]:
    """The addresses in a file, by name.

    Raises:
        SecretsRefused: It is not there, others can read it, it lies in a repository, or a line of it is none.
    """
    file = path.expanduser().resolve()
    try:
        mode = file.stat().st_mode
        text = file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is no text in UTF-8"
        raise SecretsRefused(f"{file} cannot be read: {reason}; {FILE_VARIABLE} names it") from None
    if os.name == "posix" and mode & (stat.S_IRWXG | stat.S_IRWXO):
        raise SecretsRefused(f"{file} can be read by others: make it yours alone, with chmod 600")
    if any((folder / ".git").exists() for folder in file.parents):
        raise SecretsRefused(f"{file} lies in a repository: keep it outside, so that it is never published")
    found: dict[str, str] = {}
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        name, equals, address = line.partition("=")
        if not equals:
            raise SecretsRefused(f"{file}, line {number}: write NAME=address")
        found[name.strip()] = address.strip()
    return found
