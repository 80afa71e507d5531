"""Turns a document's data into models, and pydantic's errors into faults that a cook can act on."""

import difflib
from typing import Any, Final, TypeVar, get_args
from zoneinfo import ZoneInfo

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from orchestrator.core.quantities import UNITS_REQUIRED
from orchestrator.kitchen.documents import Document, Path_
from orchestrator.kitchen.faults import one_of
from orchestrator.kitchen.local_time import ZONE

M = TypeVar("M", bound=BaseModel)

_PATTERNS: Final = {
    r"^[a-z0-9-]+$": "use lower-case letters, digits and hyphens, like custard-base",
    r"^[A-Z0-9-]+$": "use capitals, digits and hyphens, like SAT-STALL",
    r"^[A-Z]{1,2}$": "use one or two capitals, like B",
    r"^[A-Z]{3}$": "write its three capitals of ISO 4217, like EUR",
    r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$": "write the day like 2026-11-25",
    r"^[0-9]{2}:[0-9]{2}$": 'write the time in quotes, like "06:30"',
    r"^([01][0-9]|2[0-3]):[0-5][0-9]$": 'write the time in quotes, like "22:00"',
    r"^[0-9]{2}:[0-9]{2}-[0-9]{2}:[0-9]{2}$": 'write the break like "10:00-10:30"',
}
_SHAPES: Final = {
    "string_type": ("is not text", "write words, in quotes if they look like a number"),
    "tuple_type": ("is not a list", "begin each entry with a hyphen, or write [a, b]"),
    "model_type": ("is not a set of keys", "write `key: value` lines below it"),
    "model_attributes_type": ("is not a set of keys", "write `key: value` lines below it"),
    "bool_parsing": ("is neither true nor false", "write true or false"),
    "bool_type": ("is neither true nor false", "write true or false"),
    "int_parsing": ("is not a whole number", "write digits only"),
    "int_type": ("is not a whole number", "write digits only"),
    "int_from_float": ("is not a whole number", "write digits only"),
    "float_parsing": ("is not a number", "write a number"),
    "float_type": ("is not a number", "write a number"),
}
_BOUNDS: Final = {
    "greater_than_equal": ("is too little", "write {ge} or more"),
    "less_than_equal": ("is too much", "write {le} or less"),
    "greater_than": ("is too little", "write more than {gt}"),
    "too_short": ("is empty", "give at least {min_length}"),
    "string_too_short": ("is empty", "write something"),
}
_RULES: Final = {
    "shortest, usual and longest must not decrease in this order": (
        "shortest, usual and longest are not in order",
        "write the shortest first and the longest last",
    ),
    "give minutes with 'start' and 'end', and none with 'throughout'": (
        "the minutes do not fit the portion",
        "give minutes with start and end, and none with throughout",
    ),
    "name either an ingredient or a component": (
        "a line takes one thing",
        "name either an ingredient or a component",
    ),
    "give either at_most or at_least": ("a limit has one side", "give either at_most or at_least"),
    "give exactly one of duration, cycle and stay": (
        "it is not clear how long the step lasts",
        "give exactly one of duration, cycle and stay",
    ),
    "a stay needs no hands: give the attended work to the step before or after": (
        "a stay needs no hands",
        "give the attended work to the step before or after",
    ),
    "attended work needs a skill": ("attended work needs a skill", "add `skill: ...`"),
}
"""What core's models say of a whole part, as fault and remedy."""
_EXAMPLES: Final = {
    "name": "a name in words", "title": "a short sentence, verb first", "id": "a short name of its own",
    "yields": "5 L", "batch": "{ least: 2 L, most: 6 L }", "code": "B", "makes": "product", "due": "2026-11-28T11:00",
    "lines": "[{ product: ..., quantity: 2 L }]", "quantity": "2 L", "amount": "500 ml", "process": "cook",
    "shortest": "20 min", "usual": "30 min", "longest": "45 min", "minutes": "10 min", "when": "throughout",
    "time_zone": "Europe/London", "planning_start": "2026-11-25T06:00", "floor": "cold", "made": "2026-11-24T16:00",
    "day": "2026-11-25", "from": '"06:00"', "to": '"14:00"', "skills": "[prep]", "reads": "core", "high": "5 °C",
    "rinse": "15 min", "full": "40 min", "least": "2 L", "most": "6 L", "pieces": "6", "each": "6 min",
}  # fmt: skip


def validate(document: Document, model: type[M], data: Any, path: Path_, zone: ZoneInfo) -> M | None:
    """The model of a part of a document, or nothing and its faults noted in the document.

    Args:
        document: Where the part stands.
        model: What it should be.
        data: The part.
        path: Its way from the top of the file.
        zone: On whose clock its times are.
    """
    try:
        return model.model_validate(data, context={UNITS_REQUIRED: True, ZONE: zone})
    except ValidationError as error:
        found = [details for details in error.errors(include_url=False) if not _short_of_right_ones(details)]
        misspelt = {place for details in found if (place := _meant(model, details)) is not None}
        for details in found:
            if details["type"] != "missing" or details["loc"] not in misspelt:
                document.add((*path, *details["loc"]), *_words(model, details))
        return None


def _short_of_right_ones(details: ErrorDetails) -> bool:
    """A list is called empty too when every entry of it is wrong: only the entries' own faults are told then."""
    given = details.get("input")
    if details["type"] != "too_short" or not isinstance(given, list):
        return False
    return len(given) >= int(details.get("ctx", {}).get("min_length", 1))


def _meant(model: type[BaseModel], details: ErrorDetails) -> Path_ | None:
    """The key that an unknown one most likely stands for: it is misspelt, not missing as well."""
    where = details["loc"]
    if details["type"] != "extra_forbidden":
        return None
    near = difflib.get_close_matches(str(where[-1]), _keys_at(model, where[:-1]), n=1)
    return (*where[:-1], near[0]) if near else None


def _words(model: type[BaseModel], details: ErrorDetails) -> tuple[str, str]:
    kind, where, given = details["type"], details["loc"], details.get("input")
    context = details.get("ctx", {})
    key = next((str(part) for part in reversed(where) if isinstance(part, str)), "this")
    shown = "nothing" if given is None else repr(given)[:60]
    match kind:
        case "extra_forbidden":
            words = f"unknown key {key!r}", one_of(_keys_at(model, where[:-1]), key)
        case "missing":
            words = f"{key!r} is missing", f"add `{key}: {_EXAMPLES.get(key, '...')}`"
        case "value_error" | "assertion_error":
            message = details["msg"].removeprefix("Value error, ")
            what, _, remedy = message.partition(": ")
            words = _RULES.get(message, (what, remedy or "see the example kitchen"))
        case "enum" | "literal_error":
            expected = str(context.get("expected", "")).replace(" or ", ", ")
            words = (
                f"{shown} cannot be the {key}",
                one_of([word.strip().strip("'") for word in expected.split(",")], given),
            )
        case "string_pattern_mismatch":
            pattern = str(context.get("pattern"))
            words = f"{shown} cannot be the {key.removesuffix('s')}", _PATTERNS.get(pattern, f"it must match {pattern}")
        case _ if kind in _SHAPES:
            what, remedy = _SHAPES[kind]
            words = f"{key!r} {what}" + ("" if isinstance(given, dict | list) else f" but {shown}"), remedy
        case _ if kind in _BOUNDS:
            what, remedy = _BOUNDS[kind]
            given_shown = "" if isinstance(given, list | dict | str) else f", {shown},"
            limits = {name: f"{limit:g}" if isinstance(limit, float) else limit for name, limit in context.items()}
            words = f"{key!r}{given_shown} {what}", remedy.format(**limits)
        case _:
            message = details["msg"].replace("Input should be", "should be").replace("Tuple", "the list")
            words = f"{key}: {shown} will not do", message[0].lower() + message[1:]
    return words


def _keys_at(model: type[BaseModel], where: tuple[int | str, ...]) -> list[str]:
    """Keys that are known at a place inside a model."""
    here: Any = model
    for part in where:
        if isinstance(part, int):
            continue
        fields = {info.alias or name: info for name, info in here.model_fields.items()}
        here = _model_in(fields[part].annotation)
        if here is None:
            return []
    return [info.alias or name for name, info in here.model_fields.items()]


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The model inside ``tuple[X, ...]``, ``X | None`` and the like."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in get_args(annotation):
        found = _model_in(inner)
        if found is not None:
            return found
    return None
