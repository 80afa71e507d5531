"""Metrics in Prometheus's text form: counters told as things happen, gauges read off when somebody asks.

Names end in their unit, counters in ``_total``, and units are base units, seconds and bytes.
Source: Prometheus documentation, "Metric and label naming" and "Exposition formats" (text format 0.0.4).
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from prometheus_client import CollectorRegistry, Counter, GCCollector, Histogram, ProcessCollector, generate_latest
from prometheus_client.core import CounterMetricFamily, GaugeMetricFamily, Metric
from prometheus_client.registry import Collector

ACKNOWLEDGED_S: Final = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)
"""Bounds in seconds: a tap feels immediate below a tenth; a gateway gives up at ten."""
PLANNED_S: Final = (0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 20.0, 40.0)


@dataclass(frozen=True, slots=True)
class Gauge:
    """A value as it stands when it is asked for."""

    name: str
    help: str
    value: float
    labels: tuple[tuple[str, str], ...] = ()
    counts: bool = False
    """Whether it only ever grows."""


class PrometheusMeter:
    """Implements `ports.metering.Meter`; each kitchen has a registry of its own."""

    def __init__(self) -> None:
        """Nothing counted yet; the process's own figures (memory, descriptors, collections) come along."""
        self._registry = CollectorRegistry()
        ProcessCollector(registry=self._registry)
        GCCollector(registry=self._registry)
        self._commands = Counter(
            "coldwright_commands", "Commands answered.", ("command", "outcome"), registry=self._registry
        )
        self._seconds = Histogram(
            "coldwright_acknowledgement_seconds",
            "From handing in a command to its answer.",
            buckets=ACKNOWLEDGED_S,
            registry=self._registry,
        )
        self._events = Counter("coldwright_events", "Events put on disk.", registry=self._registry)
        self._readings = Counter("coldwright_readings_kept", "New readings put on disk.", registry=self._registry)
        self._plans = Histogram(
            "coldwright_planning_seconds",
            "From asking for a plan to its answer.",
            ("effort", "outcome"),
            buckets=PLANNED_S,
            registry=self._registry,
        )

    def answered(self, command: str, outcome: str, seconds: float) -> None:
        """Count a command by kind and outcome."""
        self._commands.labels(command, outcome).inc()
        self._seconds.observe(seconds)

    def recorded(self, events: int) -> None:
        """Count events."""
        self._events.inc(events)

    def readings_kept(self, count: int) -> None:
        """Count readings."""
        self._readings.inc(count)

    def planned(self, effort: str, outcome: str, seconds: float) -> None:
        """Count a plan."""
        self._plans.labels(effort, outcome).observe(seconds)

    def read_off(self, gauges: Callable[[], Iterable[Gauge]]) -> None:
        """Ask this for more whenever the metrics are asked for."""
        self._registry.register(_ReadOff(gauges))

    def text(self) -> bytes:
        """All of it, as ``text/plain; version=0.0.4``."""
        return generate_latest(self._registry)


class _ReadOff(Collector):
    def __init__(self, gauges: Callable[[], Iterable[Gauge]]) -> None:
        self._gauges = gauges

    def describe(self) -> Iterable[Metric]:
        """Nothing beforehand: registering must not ask for values."""
        return ()

    def collect(self) -> Iterator[Metric]:
        families: dict[str, Metric] = {}
        for gauge in self._gauges():
            names = [name for name, _ in gauge.labels]
            family = families.get(gauge.name)
            if family is None:
                kind = CounterMetricFamily if gauge.counts else GaugeMetricFamily
                family = families[gauge.name] = kind(gauge.name, gauge.help, labels=names)
            assert isinstance(family, CounterMetricFamily | GaugeMetricFamily)
            family.add_metric([value for _, value in gauge.labels], gauge.value)
        yield from families.values()


def age_s(instant: datetime | None, now: datetime | None = None) -> float:
    """Seconds since then; not a number where there was no then, as Prometheus writes what is not known."""
    return float("nan") if instant is None else ((now or datetime.now(UTC)) - instant).total_seconds()
