"""A day of readings in a few bytes, exactly: columns, differences of times, deflated."""

import struct
import zlib
from collections.abc import Iterable, Sequence
from itertools import accumulate
from math import isnan, nan
from typing import Final, NamedTuple

_VERSION: Final = 1
_HEAD: Final = struct.Struct("<BI")
_LEVEL: Final = 6


class Stored(NamedTuple):
    """A reading as its row keeps it."""

    measured_at_us: int
    seq: int
    recorded_at_us: int
    celsius: float
    battery_percent: float | None


def pack(readings: Sequence[Stored]) -> bytes:
    """Readings of one probe in the order of their keys, without loss.

    Returns:
        A version and a count, then deflated: times as differences, lags, seqs as differences (64-bit integers), values
        and batteries (64-bit floats, NaN for none), all little-endian.
    """
    times = [r.measured_at_us for r in readings]
    seqs = [r.seq for r in readings]
    whole = [*_differences(times), *(r.recorded_at_us - r.measured_at_us for r in readings), *_differences(seqs)]
    floats = [r.celsius for r in readings] + [nan if r.battery_percent is None else r.battery_percent for r in readings]
    raw = struct.pack(f"<{len(whole)}q{len(floats)}d", *whole, *floats)
    return _HEAD.pack(_VERSION, len(readings)) + zlib.compress(raw, _LEVEL)


def unpack(packed: bytes) -> list[Stored]:
    """The inverse of `pack`.

    Raises:
        ValueError: it is damaged, or of a later version.
    """
    try:
        version, count = _HEAD.unpack_from(packed)
        if version != _VERSION:
            raise ValueError(f"packed readings of version {version}, this one knows {_VERSION}")
        raw = zlib.decompress(packed[_HEAD.size :])
        numbers = struct.unpack(f"<{3 * count}q{2 * count}d", raw)
    except (struct.error, zlib.error) as error:
        raise ValueError("packed readings are damaged") from error
    times, lags, seqs, values, batteries = (numbers[place * count : (place + 1) * count] for place in range(5))
    return [
        Stored(at, seq, at + lag, value, None if isnan(battery) else battery)
        for at, lag, seq, value, battery in zip(
            accumulate(times), lags, accumulate(seqs), values, batteries, strict=True
        )
    ]


def _differences(numbers: Sequence[int]) -> Iterable[int]:
    return [number - before for number, before in zip(numbers, [0, *numbers], strict=False)]
