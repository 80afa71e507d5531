"""Planted kitchens of growing size, planned by the planner and by plain models: what is measured."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from tests.benchmarks.book import Figures, Measurement
from tests.benchmarks.curves import PLANNER, curve
from tests.benchmarks.kitchens import planted_kitchen
from tests.benchmarks.plain import FORMS


@dataclass(frozen=True, slots=True)
class Size:
    """What to run: batches, seeds, seconds; and of these seeds how many by plain models, for how long each."""

    batches: int
    seeds: int
    seconds: float
    plain_seeds: int
    plain_seconds: float

    def methods(self, seed: int) -> Iterator[tuple[str, float]]:
        """Each way to plan one kitchen, and the seconds it has."""
        yield PLANNER, self.seconds
        if seed < self.plain_seeds:
            yield from ((form, self.plain_seconds) for form in FORMS)


def measurements(sizes: Iterable[Size]) -> tuple[Measurement, ...]:
    """Each kitchen by each method, one after the other, so that all of one kitchen met the same machine."""
    return tuple(
        _measurement(size.batches, seed, method, seconds)
        for size in sizes
        for seed in range(size.seeds)
        for method, seconds in size.methods(seed)
    )


def _measurement(batches: int, seed: int, method: str, seconds: float) -> Measurement:
    # Up to five batches are mostly proven within seconds; large plans take a while to be made, scored and verified.
    about_s = min(seconds, 3.0) if batches <= 5 else seconds + 3 + batches / 20
    key = f"{batches} batches, seed {seed}, {method}, {seconds:g} s"
    return Measurement(key, about_s, lambda: _measured(batches, seed, method, seconds))


def _measured(batches: int, seed: int, method: str, seconds: float) -> Figures:
    kitchen = planted_kitchen(batches, seed)
    found = curve(method, kitchen.problem, seconds, seed)
    return {
        "batches": batches,
        "seed": seed,
        "method": method,
        "seconds": seconds,
        "tasks": len(kitchen.problem.jobs),
        "tightness": str(kitchen.tightness),
        **found.figures(),
    }
