"""What every model of core has in common."""

import re
from typing import Annotated, Self

from pydantic import AwareDatetime, BaseModel, BeforeValidator, ConfigDict

_NUMBER = re.compile(r"[+-]?\d*\.?\d*")
_ALL: dict[type, set[str]] = {}
"""The fields of each model that was made by trust: pydantic copies the set before it would change one."""


def _written(value: object) -> object:
    if isinstance(value, int | float) or (isinstance(value, str) and _NUMBER.fullmatch(value.strip())):
        raise ValueError(f"{value} is no instant: write it like '2026-11-28T09:30:00Z'")
    return value


Instant = Annotated[AwareDatetime, BeforeValidator(_written)]
"""An instant that somebody sends (RFC 3339): a bare number, which could be seconds since 1970, is none."""


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
