"""Words about who is called beyond the kitchen: the message, the page, and the words before the last leave."""

from collections.abc import Mapping
from typing import Final

ENGLISH_CALLS: Final[Mapping[str, str]] = {
    "calls": "Who is called",
    # -- the message
    "call_title_test": "Test call from {kitchen}",
    "call_title_one": "{kitchen}: {head}",
    "call_title_many": "{kitchen}: {count} alarms, {head}",
    "call_practice": "PRACTICE. {text}",
    "call_test_says": "{who} tests whether this reaches {to}. Nothing is wrong, and nothing is to be done.",
    "call_line": "{head}: {says}",
    "call_because_first": "Nobody in the kitchen has seen it.",
    "call_because_next": "Whoever was called before has not marked it as seen.",
    "call_because_again": "Everybody on the list was called, and nobody has marked it as seen.",
    "call_because_held_back": "It came in your quiet hours and still stands.",
    "call_called_before": "Called before: {names}",
    "call_called_one": "{who} {time}",
    "call_how_to_end": (
        "It ends when somebody marks it as seen on a screen in the kitchen. This message cannot be answered."
    ),
    "call_caution": "Local codes and licensed practice decide about food.",
}
