"""What every model of core has in common."""

from pydantic import BaseModel, ConfigDict


class Model(BaseModel):
    """Frozen, and refusing keys it does not know: a misspelt key is a fault, never a silent loss."""

    model_config = ConfigDict(frozen=True, extra="forbid", use_attribute_docstrings=True)
