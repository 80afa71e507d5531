"""How people want to read, and the kitchen's words in other languages."""

from typing import Literal

from orchestrator.core.command_base import BaseCommand
from orchestrator.core.models.tongue import Texts, Ways


class ChooseWays(BaseCommand):
    """A named person chooses language, clock and amounts, for every screen at which they are."""

    kind: Literal["choose_ways"] = "choose_ways"
    ways: Ways


class TakeTexts(BaseCommand):
    """The kitchen's files have other translations than before."""

    kind: Literal["take_texts"] = "take_texts"
    texts: tuple[Texts, ...]


TongueCommand = ChooseWays | TakeTexts
