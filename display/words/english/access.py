"""Words of the way in: pairing a screen, signing in, who may do what, and what was refused."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "not_paired": "This screen is not paired.",
    "not_paired_remedy": "Open its pairing page and let the manager approve it; what waits is sent then.",
    "pair_head": "Pair this screen",
    "sign_in": "Sign in as manager",
    "may_not_viewer": "Not done: this screen only looks.",
    "may_not_viewer_remedy": "Use a station's screen, or sign in as manager.",
    "may_not_station": "Not done: that is for the manager.",
    "may_not_station_remedy": "Sign in as manager on this screen, or ask the manager.",
    "form_old": "Not done: this page was loaded before the screen was paired anew.",
    "form_old_remedy": "Load the page again and tap once more.",
    "door_unsure": "It cannot be looked up just now who may come in.",
    "door_unsure_remedy": "The record's folder or database cannot be read. It is tried again with every tap.",
}
