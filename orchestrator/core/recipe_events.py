"""What has happened to drafts of recipes, and who came and went. Appended, never changed, as all of `events`."""

from typing import Literal

from pydantic import AwareDatetime

from orchestrator.core.ids import CrewId, RecipeId
from orchestrator.core.models.base import Model
from orchestrator.core.models.recipe import Recipe
from orchestrator.core.models.trial import Trial


class DraftWritten(Model):
    """A draft is on record, or was written anew."""

    kind: Literal["draft_written"] = "draft_written"
    draft: int
    at: AwareDatetime
    person: CrewId
    recipe: Recipe
    of: RecipeId | None = None
    """Of which recipe it would be the next revision; none: a new recipe."""
    note: str = ""


class TrialRecorded(Model):
    """A draft was made for trial, as it was written then."""

    kind: Literal["trial_recorded"] = "trial_recorded"
    draft: int
    at: AwareDatetime
    person: CrewId
    trial: Trial


class DraftPutAway(Model):
    """A draft is of no more use, or is again."""

    kind: Literal["draft_put_away"] = "draft_put_away"
    draft: int
    at: AwareDatetime
    person: CrewId
    away: bool = True


class PersonCame(Model):
    """Somebody said that they are here."""

    kind: Literal["person_came"] = "person_came"
    person: CrewId
    at: AwareDatetime


class PersonWent(Model):
    """Somebody said that they are leaving."""

    kind: Literal["person_went"] = "person_went"
    person: CrewId
    at: AwareDatetime


RecipeEvent = DraftWritten | TrialRecorded | DraftPutAway | PersonCame | PersonWent
