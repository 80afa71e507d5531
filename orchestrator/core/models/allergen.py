"""Lists of allergens as laws name them, and the words that recipes write for them."""

from pydantic import Field

from orchestrator.core.models.base import Model


class AllergenGroup(Model):
    """One entry of a list."""

    group: str
    """As the list calls it, such as ``tree nut``."""
    by_kind: bool = False
    """The kind must be named (the nut, the cereal, the species): the group's own name is not enough."""
    words: tuple[str, ...] = Field(min_length=1)
    """What recipes write, in lower case."""


class AllergenList(Model):
    """The allergens of one law."""

    id: str = Field(pattern=r"^[a-z]+$")
    title: str
    source: str
    groups: tuple[AllergenGroup, ...] = Field(min_length=1)

    def group_of(self, word: str) -> AllergenGroup | None:
        """The entry that a word belongs to; none: this law does not name it."""
        return next((group for group in self.groups if word in group.words), None)
