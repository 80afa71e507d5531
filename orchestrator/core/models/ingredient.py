"""What ingredients are made of: the table that mix arithmetic stands on. Every row names where it comes from."""

from typing import Annotated, Final, Literal, Self

from pydantic import Field, model_validator

from orchestrator.core.models.base import Model

SUM_MAY_DIFFER_G: Final = 1.0
"""A row must add up to 100 g but for so much: tables are rounded, and some of their figures are told by difference."""


_Grams = Annotated[float, Field(ge=0.0, le=100.0, allow_inf_nan=False)]


class Contents(Model):
    """Grams in 100 g. All but those called *of which* add up to 100."""

    water: _Grams = 0.0
    fat: _Grams = 0.0
    """All fat, that of milk included."""
    milk_solids_not_fat: _Grams = 0.0
    """Protein, lactose and salts of milk and whey."""
    sucrose: _Grams = 0.0
    glucose: _Grams = 0.0
    """Also called dextrose."""
    fructose: _Grams = 0.0
    maltose: _Grams = 0.0
    mixed_sugars: _Grams = 0.0
    """Of fruit and honey where a table prints sugars in sum only: counted as half glucose, half fructose."""
    syrup_42de: _Grams = 0.0
    """Solids of a glucose (corn) syrup of dextrose equivalent 42."""
    alcohol: _Grams = 0.0
    other_solids: _Grams = 0.0
    """What is left: protein and starch that are not of milk, fibre, cocoa, minerals, salt, stabiliser."""
    milk_fat: _Grams = 0.0
    """Of which, of the fat: milk's."""
    lactose: _Grams = 0.0
    """Of which, of the milk solids not fat."""
    yolk_solids: _Grams = 0.0
    """Of which, of fat and other solids: egg yolk's."""
    salt: _Grams = 0.0
    """Of which, of the other solids: common salt."""

    @property
    def total_g(self) -> float:
        """What it adds up to, in g."""
        return float(sum(getattr(self, name) for name in ADD_UP))

    @model_validator(mode="after")
    def _adds_up(self) -> Self:
        if abs(self.total_g - 100.0) > SUM_MAY_DIFFER_G:
            raise ValueError(
                f"the row adds up to {self.total_g:.1f} g of 100 g: correct a figure, or put what is missing "
                "under other_solids"
            )
        for part, whole, most in (
            ("milk_fat", "fat", self.fat),
            ("lactose", "milk_solids_not_fat", self.milk_solids_not_fat),
            ("salt", "other_solids", self.other_solids),
            ("yolk_solids", "fat and other_solids", self.fat + self.other_solids + self.glucose),
        ):
            if getattr(self, part) > most + 0.05:
                given = f"{part} is {getattr(self, part):g} g, more than the {most:g} g of {whole} that it is part of"
                raise ValueError(f"{given}: correct one of them")
        return self


OF_WHICH: Final = ("milk_fat", "lactose", "yolk_solids", "salt")
ADD_UP: Final = tuple(name for name in Contents.model_fields if name not in OF_WHICH)


class Ingredient(Model):
    """One row of the table."""

    id: str = Field(pattern=r"^[a-z0-9-]+$")
    name: str = Field(min_length=1)
    """As the recipes' steps call it; capitals do not matter."""
    also: tuple[str, ...] = ()
    """Other names for the same."""
    per_100g: Contents
    """Of what is usable, trim taken off."""
    density_g_per_ml: float | None = Field(default=None, gt=0.05, le=3.0)
    """Without it no volume of this can be told in weight, nor weight in volume."""
    density_source: str = ""
    each_g: float | None = Field(default=None, gt=0.0, le=50_000.0)
    """What one piece weighs, in g, trim included."""
    usable: float = Field(default=1.0, gt=0.0, le=1.0)
    """Share of what is weighed that is left after trimming (peel, stones, stalks)."""
    cost_per_kg: float | None = Field(default=None, ge=0.0, le=1e6)
    """As bought, in the kitchen's own money."""
    bulky_flavour: bool = False
    """A flavour that takes up room in the product: fruit, nuts, cocoa, confectionery (21 CFR 135.110)."""
    allergens: tuple[str, ...] = ()
    source: str = Field(min_length=1)
    """Where its figures come from."""
    status: Literal["published", "practice", "own"] = "own"
    """``published``: in the table that ``source`` names; ``practice``: ordinary in the trade, no printed row;
    ``own``: the kitchen's own, from a label or a measurement."""

    @property
    def names(self) -> tuple[str, ...]:
        """All names, as they are compared."""
        return tuple(dict.fromkeys(as_compared(name) for name in (self.name, *self.also, self.id)))


class Price(Model):
    """What the kitchen pays for an ingredient."""

    ingredient: str = Field(min_length=1)
    per_kg: float = Field(ge=0.0, le=1e6, allow_inf_nan=False)


def as_compared(name: str) -> str:
    """A name without capitals and doubled spaces: 'Whole  Milk' and 'whole milk' are one."""
    return " ".join(name.split()).casefold()
