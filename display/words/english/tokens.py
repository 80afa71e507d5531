"""Words of tokens: what a program brings along instead of a screen."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "tokens": "Tokens for programs",
    "tokens_short": "A till, a shop or a monitor talks to the interface for programs with a token of its own.",
    "tokens_open": "Look at tokens",
    "tokens_says": (
        "A program sends it with each request to {address}api/v1: “Authorization: Bearer” and the token. What it may "
        "is what you tick here, no more; it opens no page."
    ),
    "tokens_standing": "Tokens that let in",
    "tokens_none": "There is none: no program can get in.",
    "token_new": "A new token",
    "token_name": "Program",
    "token_make": "Make the token",
    "token_made": "The token of {name}",
    "token_once": "It is shown now and never again: copy it into the program before you leave this page.",
    "token_no_scope": "Not made: nothing was ticked that it may do.",
    "token_no_scope_remedy": "Tick what the program needs, and nothing else.",
    "scope_read": "read everything",
    "scope_orders": "bring orders, hourly demand and par levels",
    "scope_act": "act as a cook at a screen",
    "scope_manage": "everything, as the manager",
    "done_revoke_token": "That program is let in no more.",
    "beyond_scope": "This token may not.",
    "beyond_scope_remedy": "The manager makes one with the scope for it, under Access.",
    "field_token_name": "program",
    "field_token": "token",
}
