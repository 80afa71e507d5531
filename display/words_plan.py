"""Words of explanations: why a task stands where it does, and what helps an order; part of the tables of `words`."""

from collections.abc import Mapping
from typing import Final

ENGLISH_PLAN: Final[Mapping[str, str]] = {
    "why_then": "Why then?",
    "why_earlier": "Why not earlier",
    "why_later": "Why not later",
    "why_along": "These would have to move along:",
    "why_together": "and all of them together are held by:",
    "why_unknown": "The planner gave no answer: {status}",
    "why_says": "A minute to either side, with everything else where the plan has it.",
}
