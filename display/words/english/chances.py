"""Words about chances: how likely an order is on time and a window kept, and what it hangs on."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "chance_certain": "as good as certain",
    "chance_very_likely": "very likely, 19 in 20",
    "chance_likely": "likely, {count} in 10",
    "chance_even": "about even, {count} in 10",
    "chance_unlikely": "unlikely, {count} in 10",
    "chance_hardly": "hardly, less than 1 in 10",
    "outlook_chance": "{outlook} · {chance}",
    "outlook_unlikely": "At risk · {chance}",
    "chance_share": "On time in {share} of {runs} simulated runs (95 % interval {low} to {high}).",
    "chance_back_assumed": "Counts on {machine} being back {time}; nobody has said so.",
    "chance_back_said": "Counts on {machine} being back {time}, as was said.",
    "chance_hangs_on": "Hangs on:",
    "chance_cause": "{title} ({task}): {chance} if it takes its usual minutes or less",
    "chance_assumes_head": "What a chance assumes",
    "chance_assumes": (
        "Steps take their shortest to longest minutes, most often about the usual ones, each for itself. Nothing "
        "begins before its planned instant unless a window would close, and nobody re-plans. Whoever of the skilled is "
        "free and on shift takes the work. Left out: machines that break down, people who do not come, food that "
        "fails, and how full the stores are. A chance is an estimate, not a promise."
    ),
    "shaky_head": "Windows that long steps would break",
    "shaky_line": "{title} ({task}): window kept: {chance}",
    "proposal_chances": "On time, with the present plan and with this one:",
    "proposal_chance": "{customer}: {present} → {proposed}",
    "proposal_chance_alone": "{customer}: {proposed}",
    "percent": "{value} %",
}
