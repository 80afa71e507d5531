"""What people may do with drafts of recipes, and who is here. Approving is `kitchen_commands.ChangeKitchen`."""

from typing import Literal

from pydantic import Field

from orchestrator.core.command_base import BaseCommand
from orchestrator.core.ids import RecipeId
from orchestrator.core.models.recipe import Recipe
from orchestrator.core.models.trial import Trial


class WriteDraft(BaseCommand):
    """A draft is put on record, or written anew; what was tried of it stays as it was tried."""

    kind: Literal["write_draft"] = "write_draft"
    draft: int | None = Field(default=None, ge=1)
    """Its number; none: a new one."""
    recipe: Recipe
    of: RecipeId | None = None
    """Of which recipe it would be the next revision; none: a new recipe."""
    note: str = Field(default="", max_length=500)


class RecordTrial(BaseCommand):
    """A draft was made for trial."""

    kind: Literal["record_trial"] = "record_trial"
    draft: int = Field(ge=1)
    trial: Trial


class PutDraftAway(BaseCommand):
    """A draft is of no more use, or is again; nothing of it is lost."""

    kind: Literal["put_draft_away"] = "put_draft_away"
    draft: int = Field(ge=1)
    away: bool = True


class ComeIn(BaseCommand):
    """Somebody says that they are here."""

    kind: Literal["come_in"] = "come_in"


class GoHome(BaseCommand):
    """Somebody says that they are leaving."""

    kind: Literal["go_home"] = "go_home"


RecipeCommand = WriteDraft | RecordTrial | PutDraftAway | ComeIn | GoHome
