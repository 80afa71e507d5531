"""Every single change of the example's plan, through the checker and an independent judge, some at a time."""

from collections import Counter
from collections.abc import Mapping
from functools import lru_cache, partial
from itertools import islice

from orchestrator.planner.plan import Workbench, workbench
from tests.benchmarks.book import Figures, Measurement
from tests.benchmarks.kitchens import example_request
from tests.benchmarks.markdown import table
from tests.planner.mutants import judged, mutants

SHARES = 24
"""Each takes every so manieth mutant."""


def measurements(*, full: bool) -> tuple[Measurement, ...]:
    """All shares, or one."""
    return tuple(
        Measurement(f"every {SHARES}th from the {share + 1}th", 30.0, partial(_measured, share))
        for share in range(SHARES if full else 1)
    )


@lru_cache(maxsize=1)
def _example() -> Workbench:
    return workbench(example_request())


def _measured(share: int) -> Figures:
    bench = _example()
    verdict = judged(bench, islice(mutants(bench.problem, bench.schedule), share, None, SHARES))
    return {
        "tried": dict(verdict.tried), "caught": dict(verdict.caught), "sound": dict(verdict.sound),
        "escaped": verdict.escaped,
    }  # fmt: skip


def tables(found: Mapping[str, Figures]) -> str:
    """One line for each kind of change, and what escaped in words."""
    total: dict[str, Counter[str]] = {name: Counter() for name in ("tried", "caught", "sound")}
    for row in found.values():
        for name, counted in total.items():
            counted.update(row[name])
    kinds = sorted(total["tried"])
    rows = [[kind, *(str(total[name][kind]) for name in total)] for kind in kinds]
    rows.append(["in all", *(str(there.total()) for there in total.values())])
    escaped = [words for row in found.values() for words in row["escaped"]]
    return (
        "## Mutants of the example's plan\n\nSound: they break no rule, as the checker and an independent judge agree. "
        f"{len(found)} of {SHARES} shares; escaped: {len(escaped)}.\n\n{table(['change', *total], rows)}"
        + "".join(f"\n- ESCAPED {words}" for words in escaped)
    )
