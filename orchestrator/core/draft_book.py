"""Drafts of recipes and their trials, as they are on record."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

from orchestrator.core.ids import CrewId, RecipeId
from orchestrator.core.models.change import AddRecipe, Change, ReviseRecipe
from orchestrator.core.models.recipe import Recipe
from orchestrator.core.models.trial import Trial
from orchestrator.core.recipe_events import DraftPutAway, DraftWritten, TrialRecorded


@dataclass(frozen=True, slots=True)
class TrialRecord:
    """One making of a draft."""

    number: int
    """From 1."""
    recipe: Recipe
    """As the draft was written then."""
    trial: Trial
    by: CrewId
    at: datetime
    """When it was entered."""

    def as_used(self) -> Recipe:
        """The recipe with the amounts that really went in, at its own size."""
        used = {(one.step, one.line): one.amount.times(1.0 / self.trial.factor) for one in self.trial.used}
        steps = tuple(
            step.model_copy(
                update={
                    "takes": tuple(
                        take.model_copy(update={"amount": used.get((step.id, line), take.amount)})
                        for line, take in enumerate(step.takes)
                    )
                }
            )
            for step in self.recipe.steps
        )
        return self.recipe.model_copy(update={"steps": steps})


@dataclass(frozen=True, slots=True)
class Approval:
    """A trial that became a revision."""

    trial: int | None
    revision: int
    at: datetime
    by: CrewId


@dataclass(frozen=True, slots=True)
class DraftRecord:
    """One draft."""

    number: int
    recipe: Recipe
    of: RecipeId | None
    note: str
    at: datetime
    """When it was written last."""
    by: CrewId
    trials: tuple[TrialRecord, ...] = ()
    approvals: tuple[Approval, ...] = ()
    away: bool = False


@dataclass(frozen=True, slots=True)
class DraftBook:
    """All drafts by number."""

    drafts: Mapping[int, DraftRecord] = field(default_factory=dict)

    @property
    def next_number(self) -> int:
        """Of a new draft."""
        return max(self.drafts, default=0) + 1

    def with_event(self, event: DraftWritten | TrialRecorded | DraftPutAway) -> "DraftBook":
        """The book after one more event; what names no draft changes nothing."""
        known = self.drafts.get(event.draft)
        if isinstance(event, DraftWritten):
            made = DraftRecord(event.draft, event.recipe, event.of, event.note, event.at, event.person)
            if known is not None:
                made = replace(made, trials=known.trials, approvals=known.approvals, away=False)
            return self._with(made)
        if known is None:
            return self
        if isinstance(event, DraftPutAway):
            return self._with(replace(known, away=event.away))
        trial = TrialRecord(len(known.trials) + 1, known.recipe, event.trial, event.person, event.at)
        return self._with(replace(known, trials=(*known.trials, trial)))

    def approved(self, change: Change, at: datetime, by: CrewId) -> "DraftBook":
        """The book after a change by hand that may have come from a draft."""
        known = self.drafts.get(change.draft or 0) if isinstance(change, ReviseRecipe | AddRecipe) else None
        if known is None or not isinstance(change, ReviseRecipe | AddRecipe):
            return self
        approval = Approval(change.trial, change.recipe.revision, at, by)
        # From now on it is a draft of the recipe that it has become.
        return self._with(replace(known, of=change.recipe.id, approvals=(*known.approvals, approval)))

    def _with(self, draft: DraftRecord) -> "DraftBook":
        return DraftBook({**self.drafts, draft.number: draft})
