"""How people want to read, and the kitchen's words in other languages. Appended, never changed, as all of `events`."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId
from orchestrator.core.models.base import Model
from orchestrator.core.models.tongue import Texts, Ways


class WaysChosen(Model):
    """Somebody reads so from now on."""

    kind: Literal["ways_chosen"] = "ways_chosen"
    person: CrewId
    ways: Ways
    at: AwareDatetime


class TextsTaken(Model):
    """From now on screens say the kitchen's own words so: its files have changed. No plan depends on them."""

    kind: Literal["texts_taken"] = "texts_taken"
    texts: tuple[Texts, ...]
    at: AwareDatetime


TongueEvent = WaysChosen | TextsTaken
