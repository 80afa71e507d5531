"""Words about how long steps take: what finished tasks say, and a manager's decision about it."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "durations": "How long steps take",
    "durations_says": (
        "Learned from finished tasks, wild ones capped. The plan uses the recipe's figures until a manager adopts "
        "others; batches that have begun keep theirs."
    ),
    "durations_median": "The usual minutes are the middle of all: half took less, half took more.",
    "durations_none_do": "Start and finish steps at the stations, and they are counted here.",
    "durations_none": "No step has been finished {least} times yet: fewer tell too little.",
    "durations_few": "Still too few",
    "durations_few_says": "{count} of {least}",
    "durations_step": "Step",
    "durations_written": "Recipe",
    "durations_learned": "Learned",
    "durations_plan": "In the plan",
    "durations_decide": "Decision",
    "durations_figures": "{usual} min",
    "durations_range": "{shortest} to {longest}",
    "durations_quantiles": "one in ten under {low}, one in ten over {high}",
    "durations_samples": "from {count} tasks",
    "durations_tray": "a tray",
    "durations_held_back": "The recipe's bounds hold: the step is critical or has a target to reach.",
    "durations_adopt": "Adopt {usual} min ({shortest} to {longest})",
    "durations_restore": "Take back: {usual} min",
    "durations_adopted": "Adopted {time} by {who}, from {count} tasks",
    "durations_same": "Nothing to change",
    "home_durations_says": "{count} learned",
    "done_durations": "Decided: a new plan is asked for",
    "field_recipe": "Recipe",
    "field_step": "Step",
    "field_shortest": "Shortest minutes",
    "field_usual": "Usual minutes",
    "field_longest": "Longest minutes",
}
