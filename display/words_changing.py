"""Words of changes by hand: previews, carrying them out, orders, people and machines; part of the tables of `words`."""

from collections.abc import Mapping
from typing import Final

ENGLISH_CHANGING: Final[Mapping[str, str]] = {
    "change_title": "This would be changed",
    "change_more": "and {count} more",
    "change_cannot": "This cannot be.",
    "change_instead": "What would be accepted: {remedy}.",
    "change_gone": "Nothing to change stands in this address",
    "change_gone_remedy": "Go to the orders and enter it again.",
    "change_adopt_head": "Carry it out",
    "change_who": "Who decides",
    "change_reason": "Why (goes on record)",
    "change_reason_optional": "Why (may be left empty)",
    "change_reason_missing": "A quality window would be missed: say why.",
    "change_adopt": "Carry it out",
    "change_adopt_as": "Carry it out as {who}",
    "change_adopt_says": "It becomes part of the kitchen at once and is kept. The plan that follows may wait for a "
    "person; it then stands on the board.",
    "change_moved": "Not carried out: the kitchen has moved since this was shown.",
    "change_moved_remedy": "Below it is shown anew, as it would be now.",
    "done_change": "Carried out and kept.",
    "done_change_next": "The planner makes a plan of it; what waits for a person stands on the board.",
}
