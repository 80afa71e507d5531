"""What is known against the locked packages: releases that their makers withdrew, asked of the package registry alone,
and weaknesses, asked of PyPI's advisories.

``python -m tests.audit`` (``make audit``) asks both. It is no part of the tests, which leave this machine alone; what
continuous integration runs calls it after them, and goes on where nobody can be asked.
"""

import json
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Final

HOME: Final = Path(__file__).parents[1]
LOCKS: Final = (HOME / "requirements.lock", HOME / "requirements-dev.lock")
_UV: Final = Path(sys.executable).parent / "uv"
_YANKED: Final = re.compile(r"warning: `(.+?)` is yanked(?: \(reason: \"(.*)\"\))?")
_NOTHING: Final[Mapping[str, str]] = {}


class CannotAsk(Exception):
    """Nobody answered; the message says what to do."""


def withdrawn(lock: Path, env: Mapping[str, str] = _NOTHING) -> dict[str, str]:
    """Releases of a lock file that their makers withdrew, with the reason.

    Source: PEP 592, "Adding Yank Support to the Simple API"; uv warns of each that it resolves to.

    Args:
        lock: Names and versions.
        env: More of the environment.

    Raises:
        CannotAsk: the registry does not answer.
    """
    with tempfile.TemporaryDirectory() as nowhere:
        asked = [_UV, "pip", "install", "--dry-run", "--no-deps", "--target", nowhere, "--no-cache", "-r", lock]
        told = subprocess.run(asked, capture_output=True, text=True, check=False, env={**os.environ, **env})
    if told.returncode:
        raise CannotAsk(
            f"the package registry could not be asked about {lock.name}; see to the network (or to the index that uv "
            f"is told to use) and try again:\n{told.stderr[-600:]}"
        )
    return {name: reason or "no reason given" for name, reason in _YANKED.findall(told.stderr)}


def weaknesses(lock: Path, env: Mapping[str, str] = _NOTHING) -> list[str]:
    """Known weaknesses of what is locked, by PyPI's advisories (pip-audit).

    Raises:
        CannotAsk: they cannot be reached from here.
    """
    asked = [_UV, "tool", "run", "pip-audit", "--strict", "--no-deps", "--disable-pip", "-f", "json", "-r", lock]
    told = subprocess.run(asked, capture_output=True, text=True, check=False, env={**os.environ, **env})
    try:
        found = json.loads(told.stdout)["dependencies"]
    except (ValueError, KeyError) as error:
        raise CannotAsk(
            "PyPI's advisories cannot be reached from here, so nothing is known of weaknesses. Run 'make audit' on a "
            f"machine that reaches pypi.org itself (a mirror of packages has no advisories):\n{told.stderr[-600:]}"
        ) from error
    return [
        f"{one['name']} {one['version']}: {', '.join(w['id'] for w in one['vulns'])}, "
        f"mended in {', '.join(v for w in one['vulns'] for v in w['fix_versions']) or 'no release yet'}"
        for one in found
        if one.get("vulns")
    ]


def main() -> int:
    """Ask both. Returns: exit status; 0 nothing is known, 1 something is, 2 it could not be asked."""
    status = 0
    for lock in LOCKS:
        for name, reason in withdrawn(lock).items():
            print(f"{lock.name}: {name} was withdrawn by its makers: {reason}. Choose another and run 'make lock'.")
            status = 1
    for weak in weaknesses(LOCKS[0]):
        print(f"{LOCKS[0].name}: {weak}. Raise its version and run 'make lock'.")
        status = 1
    print("something is known against what is locked" if status else "nothing is known against what is locked")
    return status


if __name__ == "__main__":
    try:
        sys.exit(main())
    except CannotAsk as error:
        print(error, file=sys.stderr)
        sys.exit(2)
