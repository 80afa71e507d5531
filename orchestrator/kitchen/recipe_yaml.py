"""Writes a recipe as the kitchen's own files are written: amounts, minutes and temperatures with their units."""

import io
from collections.abc import Mapping, Sequence
from enum import Enum
from typing import Any, Final, get_args

from pydantic import BaseModel, BeforeValidator
from pydantic.fields import FieldInfo
from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq

from orchestrator.core.models import Recipe
from orchestrator.core.models.limit import LimitUse
from orchestrator.core.quantities import Celsius, Minutes, Quantity, Seconds

_WIDTH: Final = 120
_LARGEST: Final = {"kg": ("g", 1000), "L": ("ml", 1000)}
_BLOCKS: Final = frozenset({"steps", "method"})
"""Written over several lines, whatever is in them."""


def recipe_data(recipe: Recipe) -> dict[str, Any]:
    """A recipe as its file would hold it, without what is left out there: revision 1, empty lists, defaults."""
    return _data_of(recipe)


def _data_of(part: BaseModel) -> dict[str, Any]:
    told = {}
    for name, info in type(part).model_fields.items():
        value = getattr(part, name)
        if info.is_required() or value != info.get_default(call_default_factory=True):
            told[name] = _written(value, info)
    return told


def _written(value: Any, info: FieldInfo) -> Any:
    if isinstance(value, Quantity):
        return _small(str(value.model_dump()))
    if isinstance(value, BaseModel):
        short = isinstance(value, LimitUse) and value.row is None and value.ceiling is None
        return str(value.id) if short and isinstance(value, LimitUse) else _data_of(value)
    if isinstance(value, tuple):
        return [_written(one, info) for one in value]
    return value.value if isinstance(value, Enum) else _with_unit(value, info)


def _with_unit(value: Any, info: FieldInfo) -> Any:
    if _is_in(Minutes, info):
        return minutes_text(int(value))
    if _is_in(Seconds, info):
        return f"{_plain(value)} s"
    return f"{_plain(value)} °C" if _is_in(Celsius, info) else value


def _is_in(kind: Any, info: FieldInfo) -> bool:
    """Whether a field is written in minutes, seconds or degrees: such fields are marked by how they are read."""
    reader = next(one for one in get_args(kind) if isinstance(one, BeforeValidator))
    parts = [info.metadata, *(get_args(one) for one in (info.annotation, *get_args(info.annotation)))]
    return any(isinstance(one, BeforeValidator) and one.func is reader.func for part in parts for one in part)


def _plain(number: float) -> str:
    return f"{number:.9f}".rstrip("0").rstrip(".")


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
