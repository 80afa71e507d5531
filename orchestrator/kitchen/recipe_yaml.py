"""Writes a recipe as the kitchen's own files are written: amounts, minutes and temperatures with their units."""

import io
from collections.abc import Mapping, Sequence
from typing import Any, Final

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq

from orchestrator.core.models import Recipe
from orchestrator.core.quantities import Quantity

_WIDTH: Final = 120
_MINUTES: Final = frozenset({"shortest", "usual", "longest", "each", "minutes", "least", "most", "hold", "shelf_life"})
_CELSIUS: Final = frozenset({"at_most", "at_least", "ceiling"})
_LARGEST: Final = {"kg": ("g", 1000), "L": ("ml", 1000)}
_BLOCKS: Final = frozenset({"steps", "method"})
"""Written over several lines, whatever is in them."""


def recipe_data(recipe: Recipe) -> dict[str, Any]:
    """A recipe as its file would hold it, without what is left out there: revision 1, empty lists, defaults."""
    told = _with_units("", recipe.model_dump(mode="json", exclude_defaults=True))
    return {str(key): value for key, value in told.items()}


def _with_units(key: str, value: Any) -> Any:
    if isinstance(value, Mapping):
        if set(value) == {"id"} and key == "limit":
            return value["id"]
        return {name: _with_units(str(name), one) for name, one in value.items()}
    if isinstance(value, list):
        return [_with_units(key, one) for one in value]
    if isinstance(value, int | float) and not isinstance(value, bool):
        if key in _MINUTES:
            return minutes_text(int(value))
        return f"{value:.9f}".rstrip("0").rstrip(".") + " °C" if key in _CELSIUS else value
    return _small(value) if isinstance(value, str) else value


def minutes_text(minutes: int) -> str:
    """``45 min``, ``12 h``, ``3 d``; in the largest unit that tells it exactly."""
    for size, unit in ((1440, "d"), (60, "h")):
        if minutes and minutes % size == 0:
            return f"{minutes // size} {unit}"
    return f"{minutes} min"


def _small(text: str) -> str:
    """``0.55 kg`` as ``550 g``, where nothing is lost by it."""
    number, _, unit = text.partition(" ")
    if unit not in _LARGEST or not number.replace(".", "", 1).isdigit() or not 0 < float(number) < 1:
        return text
    small, times = _LARGEST[unit]
    told = f"{float(number) * times:.6f}".rstrip("0").rstrip(".") + f" {small}"
    return told if Quantity.model_validate(told) == Quantity.model_validate(text) else text


def as_yaml(data: Mapping[str, Any]) -> str:
    """Plain data as YAML, in the order given; short sets of keys on one line."""
    writer = YAML()
    writer.width = _WIDTH
    writer.indent(mapping=2, sequence=4, offset=2)
    writer.allow_unicode = True
    out = io.StringIO()
    writer.dump(_shaped("", data), out)
    return out.getvalue()


def _shaped(key: str, value: Any) -> Any:
    if isinstance(value, Mapping):
        shaped = CommentedMap((str(name), _shaped(str(name), one)) for name, one in value.items())
        if key and key not in _BLOCKS and not any(_deep(one) for one in value.values()):
            shaped.fa.set_flow_style()
        return shaped
    if isinstance(value, Sequence) and not isinstance(value, str):
        listed = CommentedSeq(_shaped(key, one) for one in value)
        if key not in _BLOCKS and not any(isinstance(one, Mapping) for one in value):
            listed.fa.set_flow_style()
        return listed
    return value


def _deep(value: Any) -> bool:
    """Whether it holds more than plain values."""
    parts = value.values() if isinstance(value, Mapping) else value if isinstance(value, list) else ()
    return any(isinstance(part, Mapping | list) for part in parts)
