"""What a Mosquitto broker is told so that each probe may say its own readings and nothing else."""

import base64
import hashlib
import os
import secrets
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Final

from orchestrator.adapters.mqtt_address import MqttAddress
from orchestrator.adapters.mqtt_status import ALARM_PREFIX, STATUS_TOPIC
from orchestrator.adapters.reading_payload import TOPIC
from orchestrator.core.models import Kitchen, Probe, TopicMapping

SERVICE: Final = "coldwright"
READER: Final = "alarm-reader"
"""Whoever shows alarms elsewhere."""
PLAIN: Final = "passwords.txt"
_ROUNDS, _SALT_BYTES = 101, 12


def users_of(kitchen: Kitchen) -> list[str]:
    """Everybody who connects: the service, one reader of alarms, and each probe under a name of its own."""
    return [SERVICE, READER, *(f"probe-{probe.id}" for probe in kitchen.probes)]


def access_list(kitchen: Kitchen, prefix: str = "") -> str:
    """Who may read and write which topics. Source of the form: mosquitto.conf(5), ``acl_file``."""
    lines = [
        f"user {SERVICE}",
        f"topic read {prefix}{TOPIC.format(probe='+')}",
        *(f"topic read {mapping.topic}" for mapping in kitchen.mappings),
        f"topic readwrite {prefix}{ALARM_PREFIX}#",
        f"topic readwrite {prefix}{STATUS_TOPIC}",
        "",
        f"user {READER}",
        f"topic read {prefix}{ALARM_PREFIX}#",
        f"topic read {prefix}{STATUS_TOPIC}",
    ]
    for probe in kitchen.probes:
        own = f"{prefix}{TOPIC.format(probe=probe.id)}"
        lines += ["", f"user probe-{probe.id}", *(f"topic write {t}" for t in (own, *_mapped(probe, kitchen.mappings)))]
    return "\n".join(lines) + "\n"


def _mapped(probe: Probe, mappings: Iterable[TopicMapping]) -> list[str]:
    """Foreign topics under which a probe speaks."""
    found = []
    for mapping in mappings:
        levels = mapping.topic.split("/")
        if mapping.probe == probe.id:
            found.append(mapping.topic)
        elif mapping.probe_level is not None:
            levels[mapping.probe_level] = probe.id
            found.append("/".join(levels))
    return found


def hashed(password: str, salt: bytes | None = None) -> str:
    """A password as Mosquitto keeps it: PBKDF2 with HMAC and SHA-512, ``$7$rounds$salt$hash`` in base 64.

    So few rounds, its program's own number, do for passwords of 128 random bits, as ours are; not for chosen ones.
    """
    salt = secrets.token_bytes(_SALT_BYTES) if salt is None else salt
    digest = hashlib.pbkdf2_hmac("sha512", password.encode(), salt, _ROUNDS)
    return f"$7${_ROUNDS}${base64.b64encode(salt).decode()}${base64.b64encode(digest).decode()}"


def write_files(kitchen: Kitchen, folder: Path, address: MqttAddress, certificate: tuple[Path, Path] | None) -> Path:
    """Write configuration, access list and passwords; whoever has a password keeps it.

    Args:
        kitchen: Whose probes.
        folder: Made if it is missing; only its owner can read what is in it.
        address: Where the broker will listen; its prefix stands before each topic of ours.
        certificate: Files of the certificate chain and of its key; with them it speaks TLS only.

    Returns:
        The file of passwords, to be put into the probes.

    Raises:
        OSError: the folder cannot be written.
        ValueError: its list of passwords was changed into something else.
    """
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    passwords = _known(folder / PLAIN)
    passwords = {user: passwords.get(user) or secrets.token_urlsafe(16) for user in users_of(kitchen)}
    _put(folder / PLAIN, "".join(f"{user}:{password}\n" for user, password in passwords.items()))
    _put(folder / "users", "".join(f"{user}:{hashed(password)}\n" for user, password in passwords.items()))
    _put(folder / "access", access_list(kitchen, address.prefix))
    _put(folder / "mosquitto.conf", _configuration(folder.resolve(), address, certificate))
    return folder / PLAIN


def _configuration(folder: Path, address: MqttAddress, certificate: tuple[Path, Path] | None) -> str:
    lines = [
        "# Written by 'coldwright broker-files'; written anew, it loses what was changed here.",
        "per_listener_settings false",
        "allow_anonymous false",
        f"password_file {folder / 'users'}",
        f"acl_file {folder / 'access'}",
        "# Readings wait for a service that is away, however many.",
        "max_queued_messages 0",
        "persistence true",
        f"persistence_location {folder}/",
        f"listener {address.port} {address.host}",
    ]
    if certificate is not None:
        chain, key = (file.resolve() for file in certificate)
        lines += [f"certfile {chain}", f"keyfile {key}", "tls_version tlsv1.2"]
    return "\n".join(lines) + "\n"


def _known(file: Path) -> Mapping[str, str]:
    if not file.exists():
        return {}
    rows: Sequence[tuple[str, str, str]] = [line.partition(":") for line in file.read_text("utf-8").splitlines()]
    for number, (user, colon, password) in enumerate(rows, 1):
        if not (user and colon and password):
            raise ValueError(f"{file}, line {number}: write user:password, or take the line out")
    return {user: password for user, _, password in rows}


def _put(file: Path, text: str) -> None:
    """Whole or not at all, and for its owner's eyes."""
    draft = file.with_name(f".{file.name}.new")
    descriptor = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(descriptor, "w", encoding="utf-8") as out:
        out.write(text)
    draft.replace(file)
