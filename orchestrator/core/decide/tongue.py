"""Language, clock and amounts of a person, and translations from the kitchen's files: no plan depends on either."""

from orchestrator.core.decide.case import Case, Decision, named
from orchestrator.core.errors import Refusal
from orchestrator.core.tongue_commands import ChooseWays, TakeTexts, TongueCommand
from orchestrator.core.tongue_events import TextsTaken, WaysChosen


def on_tongue(case: Case, command: TongueCommand) -> Decision | Refusal:
    """On record where it changes anything."""
    match command:
        case ChooseWays():
            who = named(case, "language", "to choose it")
            if isinstance(who, Refusal):
                return who
            if case.known.crew[who].ways == command.ways:
                return Decision()
            return Decision((WaysChosen(person=who, ways=command.ways, at=case.now),))
        case TakeTexts():
            if command.texts == case.kitchen.texts:
                return Decision()
            return Decision((TextsTaken(texts=command.texts, at=case.now),))
