"""What every model of core has in common."""

from typing import Self

from pydantic import BaseModel, ConfigDict

_ALL: dict[type, set[str]] = {}
"""The fields of each model that was made by trust: pydantic copies the set before it would change one."""


class Model(BaseModel):
    """Frozen, and refusing keys it does not know: a misspelt key is a fault, never a silent loss."""

    model_config = ConfigDict(frozen=True, extra="forbid", use_attribute_docstrings=True)

    @classmethod
    def trusted(cls, **values: object) -> Self:
        """One made of values that our own arithmetic has just worked out: nothing is checked.

        For what is made with every reading, where checking, or looking for defaults as ``model_construct`` does, costs
        more than the arithmetic.

        Args:
            values: every field, without exception.
        """
        made = cls.__new__(cls)
        put = object.__setattr__
        put(made, "__dict__", values)
        put(made, "__pydantic_fields_set__", _ALL.get(cls) or _ALL.setdefault(cls, set(values)))
        put(made, "__pydantic_extra__", None)
        put(made, "__pydantic_private__", None)
        return made
