"""Planted kitchens of growing size: the planner against the best plain model, and against what was planted."""

import math
import statistics
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from orchestrator.planner.score import scalar
from tests.benchmarks.book import Figures
from tests.benchmarks.curves import PLANNER, Curve
from tests.benchmarks.markdown import NOTHING, number, table
from tests.benchmarks.plain import FORMS

MARKS_S = (1.0, 5.0, 20.0, 60.0)
PLANTED_S = (5.0, 20.0, 60.0)


@dataclass(slots=True)
class Run:
    """One kitchen, planned in each way."""

    tasks: int
    tightness: str
    seed: int
    planner: Curve
    seconds: float
    plain: dict[str, Curve] = field(default_factory=dict)
    plain_seconds: float = 0.0

    @property
    def first_s(self) -> float:
        """Seconds to the first plan, in a process that has planned nothing before."""
        return self.planner.points[0][0]

    @property
    def first(self) -> float:
        """The first plan's quality."""
        return scalar(self.planner.points[0][1])

    def plain_quality(self, seconds: float) -> float:
        """The best that any plain form has by then, infinite for nothing."""
        return min((curve.quality(seconds) for curve in self.plain.values()), default=math.inf)

    def against_plain(self, seconds: float) -> float:
        """Below 1 the planner is better; 0 where plain has nothing; undefined where one of them did not run so long."""
        if not self.plain or not self._covers(self.plain_seconds, self.plain, seconds):
            return math.nan
        if not self._covers(self.seconds, {PLANNER: self.planner}, seconds):
            return math.nan
        return self.planner.quality(seconds) / self.plain_quality(seconds)

    def against_first(self, seconds: float) -> float:
        """Below 1 the plan has become better than the first."""
        if not self._covers(self.seconds, {PLANNER: self.planner}, seconds):
            return math.nan
        return self.planner.quality(seconds) / self.first

    @staticmethod
    def _covers(ran: float, curves: Mapping[str, Curve], seconds: float) -> bool:
        return seconds <= ran or all(curve.proven for curve in curves.values())


def runs(found: Mapping[str, Figures]) -> dict[int, list[Run]]:
    """What was measured, by batches; kitchens without the planner's own curve are left out."""
    by_kitchen: dict[tuple[int, int], dict[str, Figures]] = defaultdict(dict)
    for figures in sorted(found.values(), key=lambda figures: float(figures["seconds"])):
        by_kitchen[figures["batches"], figures["seed"]][figures["method"]] = figures  # the longest, if several
    sizes: dict[int, list[Run]] = defaultdict(list)
    for (batches, seed), methods in sorted(by_kitchen.items()):
        own = methods.get(PLANNER)
        if own is None or not own["points"]:
            continue
        run = Run(own["tasks"], own["tightness"], seed, Curve.read(own), own["seconds"])
        run.plain = {form: Curve.read(methods[form]) for form in FORMS if form in methods}
        run.plain_seconds = min((methods[form]["seconds"] for form in run.plain), default=0.0)
        sizes[batches].append(run)
    return dict(sizes)


def tables(found: Mapping[str, Figures]) -> str:
    """All of them, each under its heading."""
    sizes = runs(found)
    return "\n\n".join([_against_plain(sizes), _against_first(sizes), _planted(sizes), _forms(sizes), _growth(sizes)])


def _against_plain(sizes: Mapping[int, list[Run]]) -> str:
    head = ["batches", "seeds", *(f"{s:g} s" for s in MARKS_S), "worst at 20 s", "plain found none in 20 s",
            "plain's 20 s quality after, median (s)", "slowest (s)"]  # fmt: skip
    rows = []
    for batches, all_runs in sizes.items():
        there = [run for run in all_runs if run.plain]
        if not there:
            continue
        none = sum(math.isinf(run.plain_quality(20)) for run in there)
        goals = [(run, goal) for run in there if math.isfinite(goal := run.plain_quality(20))]
        when = [run.planner.reaches(goal) for run, goal in goals]
        at_20 = [ratio for run in there if not math.isnan(ratio := run.against_plain(20))]
        medians = (number(_median(run.against_plain(s) for run in there)) for s in MARKS_S)
        rows.append([
            str(batches), str(len(there)), *medians,
            number(max(at_20, default=None)), f"{none} of {len(there)}",
            *([number(statistics.median(when)), number(max(when))] if when else [NOTHING, NOTHING]),
        ])  # fmt: skip
    return (
        "## The planner against one plain model\n\nQuality is one number, less is better (`score.scalar`). Planner ÷ "
        f"the best of {len(FORMS)} plain forms ({', '.join(FORMS)}; each the whole time) after the same seconds, "
        f"median; 0: plain has no plan. Below 1 the planner is better.\n\n{table(head, rows)}"
    )


def _against_first(sizes: Mapping[int, list[Run]]) -> str:
    head = ["batches", "tasks", "seeds", "first plan (ms)", *(f"{s:g} s" for s in MARKS_S), "proven best"]
    rows = [
        [
            str(batches), str(there[0].tasks), str(len(there)),
            f"{1000 * statistics.median(run.first_s for run in there):.0f}",
            *(number(_median(run.against_first(s) for run in there)) for s in MARKS_S),
            f"{sum(run.planner.proven for run in there)} of {len(there)}",
        ]
        for batches, there in sizes.items()
    ]  # fmt: skip
    return f"## First plan, and quality against it\n\nMedians of planner ÷ its first plan.\n\n{table(head, rows)}"


def _planted(sizes: Mapping[int, list[Run]]) -> str:
    head = ["batches", *(f"within {s:g} s" for s in PLANTED_S), "never", "how tight (first seed)"]
    rows = []
    for batches, there in sizes.items():
        counts = [
            f"{sum(run.planner.on_time() <= s for run in there)} of {len(there)}"
            if all(run.seconds >= s or run.planner.proven for run in there)
            else NOTHING
            for s in PLANTED_S
        ]
        never = sum(math.isinf(run.planner.on_time()) for run in there)
        rows.append([str(batches), *counts, str(never), there[0].tightness])
    return (
        "## Planted kitchens\n\nA plan without a late order and a broken window is known to be there; kitchens in "
        f"which the planner found one.\n\n{table(head, rows)}"
    )


def _forms(sizes: Mapping[int, list[Run]]) -> str:
    head = ["batches", *(f"{form}: found, best" for form in FORMS), *(f"{form} ÷ planner, 20 s" for form in FORMS)]
    rows = []
    for batches, all_runs in sizes.items():
        cells, ratios = [], []
        for form in FORMS:
            there = [run for run in all_runs if form in run.plain]
            found = sum(bool(run.plain[form].points) for run in there)
            best = sum(run.plain[form].quality(20) == run.plain_quality(20) < math.inf for run in there)
            cells.append(f"{found} of {len(there)}, {best}" if there else NOTHING)
            worth = [run.plain[form].quality(20) / run.planner.quality(20) for run in there]
            ratios.append(number(statistics.median(worth) if worth else None))
        if any(run.plain for run in all_runs):
            rows.append([str(batches), *cells, *ratios])
    words = "Kitchens with a plan, and those in which no form was better after 20 s."
    return f"## Forms of the plain model\n\n{words}\n\n{table(head, rows)}"


def _growth(sizes: Mapping[int, list[Run]]) -> str:
    def peak(curves: Sequence[Curve]) -> str:
        known = [curve.peak_mb for curve in curves if curve.peak_mb is not None]
        return f"{max(known):.0f}" if known else NOTHING

    rows = [
        [
            str(batches), str(there[0].tasks), f"{1000 * statistics.median(run.first_s for run in there):.0f}",
            peak([run.planner for run in there]), peak([curve for run in there for curve in run.plain.values()]),
        ]
        for batches, there in sizes.items()
    ]  # fmt: skip
    text = table(["batches", "tasks", "first plan (ms)", "planner's peak (MB)", "plain's peak (MB)"], rows)
    large = [there for batches, there in sizes.items() if batches >= 20]
    if len(large) > 1:
        tasks = [float(there[0].tasks) for there in large]
        power = exponent(tasks, [statistics.median(run.first_s for run in there) for there in large])
        text += f"\n\nThe first plan's seconds grow as tasks to the power of {power:.2f} (fitted from 20 batches up)."
    return f"## Growth with size\n\n{text}"


def exponent(sizes: Sequence[float], values: Sequence[float]) -> float:
    """The power of size as which values grow: the slope of a straight line through their logarithms."""
    return float(np.polyfit(np.log(sizes), np.log(values), 1)[0])


def _median(values: Iterable[float]) -> float:
    """Of those that are defined; undefined without any."""
    found = [value for value in values if not math.isnan(value)]
    return statistics.median(found) if found else math.nan
