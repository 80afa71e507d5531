"""Words of explanations: why a task stands where it does, and what helps an order; part of the tables of `words`."""

from collections.abc import Mapping
from typing import Final

ENGLISH_PLAN: Final[Mapping[str, str]] = {
    "hold_in_place": "Hold in place",
    "let_move": "Let it move",
    "is_held_in_place": "Held in place: a new plan leaves it at its time, unless facts overtake it.",
    "hold_says": "No new plan moves it then. A passed start, a stopped machine or late food before it lets it go.",
    "why_then": "Why then?",
    "why_earlier": "Why not earlier",
    "why_later": "Why not later",
    "why_along": "These would have to move along:",
    "why_together": "and all of them together are held by:",
    "why_unknown": "The planner gave no answer: {status}",
    "what_helps": "What helps",
    "what_helps_order": "What helps {order}",
    "help_at_work": "The planner is looking for what stands in the way and what would help. This page loads again by "
    "itself.",
    "help_failed": "The planner gave no answer: {status}",
    "help_conflict": "What stands in the way",
    "help_no_conflict": "Nothing was looked for: the weightiest orders in trouble come first.",
    "help_irreducible": "Without any one of these a plan was found, with all of them none, in {tried} plans tried.",
    "help_reducible": "Not all of it could be tried in time ({tried} plans).",
    "help_none": "Nothing was found that would help this order without harming another.",
    "remedies_say": "Each of these was planned and checked. Nothing has been changed: enter what you decide.",
    "remedy_cost": "cost {cost}, for comparing only",
    "remedy_more crew": "More crew",
    "remedy_earlier start": "Earlier start",
    "remedy_smaller batch": "Less of it",
    "remedy_later hand-over": "Later hand-over",
    "remedy_quality break": "A quality break, named openly",
    "part_order": "Order",
    "part_window": "Window",
    "part_shift": "Shift",
    "part_machine": "Machine",
    "part_stop": "Stop",
    "part_supply": "Delivery",
    "part_hand-over": "Hand-over",
    "why_says": "A minute to either side, with everything else where the plan has it.",
}
