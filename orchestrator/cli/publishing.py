"""``coldwright publish``: one reading, sent as a thermometer would."""

import asyncio
import math
import sys
from datetime import datetime

import click


def run(probe: str, value: str, url: str, measured_at: str | None) -> int:
    """Send it.

    Returns:
        Exit status: 0 sent, 1 when the broker does not take it.

    Raises:
        click.UsageError: probe, value, instant or address make no sense.
    """
    import aiomqtt

    from orchestrator.simulator.probes import payload_of, publish_one

    if not probe or any(sign in probe for sign in "/+#\0"):
        raise click.UsageError(f"{probe!r} cannot be a probe's name")
    payload = payload_of(_celsius(value), _instant(measured_at))
    try:
        with asyncio.Runner(loop_factory=_loop_with_readers) as runner:
            runner.run(publish_one(url, probe, payload))
    except ValueError as error:
        raise click.UsageError(str(error)) from error
    except (aiomqtt.MqttError, OSError) as error:
        click.echo(f"The broker at {url} did not take it: {error}", err=True)
        return 1
    click.echo(f"Sent {payload} as {probe} to {url}")
    return 0


def _loop_with_readers() -> asyncio.AbstractEventLoop:
    """On Windows the default loop cannot watch sockets as the MQTT client needs."""
    return asyncio.SelectorEventLoop() if sys.platform == "win32" else asyncio.new_event_loop()


def _celsius(value: str) -> float:
    text = value.strip().replace("−", "-").replace("°", "").upper()
    try:
        number = float(text.rstrip("CF").strip())
    except ValueError as error:
        raise click.UsageError(f"{value!r} is not a temperature: write 4.2 or 39.5F") from error
    if not math.isfinite(number):
        raise click.UsageError(f"{value!r} is not a temperature: write 4.2 or 39.5F")
    return round((number - 32.0) / 1.8, 3) if text.endswith("F") else number


def _instant(text: str | None) -> datetime | None:
    if text is None:
        return None
    try:
        instant = datetime.fromisoformat(text)
    except ValueError as error:
        raise click.UsageError(f"{text!r} is not an instant: write 2026-11-25T06:00Z") from error
    if instant.tzinfo is None:
        raise click.UsageError(f"{text!r} lacks its offset: write 2026-11-25T06:00Z")
    return instant
