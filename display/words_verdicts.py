"""Words of verdicts on limits; part of the tables of `words`."""

from collections.abc import Mapping
from typing import Final

ENGLISH_VERDICTS: Final[Mapping[str, str]] = {
    "verdict_limit": "Limit: {title}, by {text}",
    "verdict_met": "met",
    "verdict_not yet": "not met so far",
    "verdict_will not be met in time": "will not be met in time",
    "verdict_broken": "broken",
    "verdict_not judged": "not judged",
    "verdict_air": "(the air of the place, not the food)",
    "verdict_margin": "margin {degrees} °{unit}",
    "verdict_margin_min": "{minutes} min",
    "verdict_decided_by": "Decided by",
    "verdict_tolerance": "A thermometer off by {degrees} °{unit} could have turned this.",
    "verdict_hand": "Measured by hand {time}, {who}.",
    "verdict_by_hand": "by hand, {who}",
    "verdict_brief_hand": "{margin}, by hand",
    "record_hand_limit": "By hand.",
    "record_hand_curve": "Readings by hand, {low} to {high}",
    "ask_other": "It says {typed} {other}: {meant} {unit}",
    "ask_sure": "It is {typed} {unit}",
    "enter_weight": "Enter weight",
    "hand_weight": "Weight without the pan, in kg",
    "weighing_first": "Weigh it now: done at {percent} % of this first weight.",
    "weighing_stands": "{now} kg {time}, done at {wanted} kg.",
    "weighing_once": "Weigh again later: one weight says nothing of the time.",
    "weighing_unknown": "Time not known yet: weigh again.",
    "weighing_expected": "Expected {soonest}–{latest}.",
    "weighing_reached": "Done: take it off.",
    "verdict_brief": "Limit {status}",
    "verdict_brief_margin": "Limit {status}, {margin}",
    "verdict_brief_degrees": "{degrees} °{unit}",
    "verdict_brief_tolerance": "within probe tolerance",
    "verdict_clearance": "Local code decides; this is no legal clearance.",
}
