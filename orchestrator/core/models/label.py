"""Sheets of labels by their measures, what stands on a label, and what it needs of each product."""

from typing import Final, Literal, Self

from pydantic import Field, field_validator, model_validator

from orchestrator.core.gs1 import gtin14
from orchestrator.core.ids import RecipeId
from orchestrator.core.models.base import Model
from orchestrator.core.models.tongue import Language
from orchestrator.core.quantities import Quantity

PAGES_MM: Final = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height. Source: ISO 216; ANSI/ASME Y14.1 (8.5 by 11 in)."""
SLACK_MM: Final = 0.5
"""So far the last label may reach beyond the page: sheets are cut to a tenth of a millimetre."""


class LabelSheet(Model):
    """A sheet of equal labels in rows and columns, described by its measures alone."""

    id: str = Field(pattern=r"^[a-z0-9.-]+$")
    title: str
    page: Literal["A4", "Letter"]
    columns: int = Field(ge=1, le=20)
    rows: int = Field(ge=1, le=40)
    width_mm: float = Field(gt=15)
    height_mm: float = Field(gt=10)
    left_mm: float = Field(ge=0)
    """From the page's left edge to the first label."""
    top_mm: float = Field(ge=0)
    across_mm: float
    """From one label's left edge to the next one's; at least its width."""
    down_mm: float

    @property
    def places(self) -> int:
        """How many labels are on it."""
        return self.columns * self.rows

    @model_validator(mode="after")
    def _fits(self) -> Self:
        wide, high = PAGES_MM[self.page]
        if self.across_mm < self.width_mm or self.down_mm < self.height_mm:
            raise ValueError("labels overlap: across_mm and down_mm are at least width_mm and height_mm")
        right = self.left_mm + (self.columns - 1) * self.across_mm + self.width_mm
        bottom = self.top_mm + (self.rows - 1) * self.down_mm + self.height_mm
        if right > wide + SLACK_MM or bottom > high + SLACK_MM:
            raise ValueError(
                f"the labels end at {right:g} by {bottom:g} mm, outside the page of {wide:g} by {high:g} mm"
            )
        return self


class ProductLabel(Model):
    """What the labels of one product need beyond its recipe."""

    recipe: RecipeId
    net: Quantity | None = None
    """In one package."""
    gtin: str | None = None
    """The kitchen's own number for this package, 8, 12, 13 or 14 digits."""
    storage: str = ""
    """In words; left out, by the place where its recipe keeps it."""

    @field_validator("gtin", mode="before")
    @classmethod
    def _checked(cls, value: object) -> object:
        if value is None:
            return None
        if not isinstance(value, str):
            raise ValueError(f"{value!r} is not text: write a GTIN in quotation marks, or leading zeros are lost")
        if gtin14(value) is None:
            raise ValueError(f"{value!r} is no GTIN: it has 8, 12, 13 or 14 digits, the last of them a check digit")
        return value


class LabelBook(Model):
    """All that labels are printed by."""

    sheets: tuple[LabelSheet, ...] = ()
    template: tuple[str, ...] = ()
    """Line by line. ``#`` at the start: large. ``{name}`` and the like are filled in; a line whose only placeholder
    has nothing to say is left out."""
    languages: tuple[Language, ...] = ()
    """In which labels are printed; none: in that of the kitchen."""
    products: tuple[ProductLabel, ...] = ()

    def sheet(self, sheet: str) -> LabelSheet | None:
        """The sheet of that id, if there is one."""
        return next((one for one in self.sheets if one.id == sheet), None)

    def product(self, recipe: RecipeId) -> ProductLabel:
        """What is known of a product; nothing but its name where the kitchen said nothing."""
        return next((one for one in self.products if one.recipe == recipe), ProductLabel(recipe=recipe))
