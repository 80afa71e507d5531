"""In what one revision of a recipe differs from another."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from orchestrator.core.models import Recipe, Step
from orchestrator.core.quantities import Quantity

_NOT_TOLD: Final = frozenset({"revision", "steps", "id"})
Value = str | int | float | bool | Quantity | None


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that differs."""

    step: str
    """Title of the step as it is now, or was if it is gone; empty for the recipe as a whole."""
    what: tuple[str, ...]
    """Names of fields from the outside in, as in ``("takes", "Sugar", "amount")``; a step as a whole: ``("step",)``."""
    before: Value
    after: Value


def differences(before: Recipe, after: Recipe) -> tuple[Difference, ...]:
    """What is other in ``after``: the recipe's own fields first, then step by step, as ``after`` has them."""
    found = [*_between("", (), _plain(before), _plain(after))]
    old, new = ({step.id: step for step in recipe.steps} for recipe in (before, after))
    found += [Difference(step.title, ("step",), step.title, None) for step in before.steps if step.id not in new]
    for step in after.steps:
        if step.id not in old:
            found.append(Difference(step.title, ("step",), None, step.title))
        else:
            found += _between(step.title, (), _plain(old[step.id]), _plain(step))
    kept = [[step.id for step in recipe.steps if step.id in old and step.id in new] for recipe in (before, after)]
    if kept[0] != kept[1]:
        told = [", ".join(old[name].title for name in kept[0]), ", ".join(new[name].title for name in kept[1])]
        found.append(Difference("", ("order",), *told))
    return tuple(found)


def _plain(thing: Recipe | Step) -> dict[str, Any]:
    return {name: _value(getattr(thing, name)) for name in type(thing).model_fields if name not in _NOT_TOLD}


def _value(value: Any) -> Any:
    """Lists become mappings by name, or text; models become mappings, but for amounts."""
    if isinstance(value, Quantity) or value is None:
        return value
    if isinstance(value, tuple):
        if all(isinstance(one, str) for one in value):
            return " · ".join(value) or None
        return _by_name(value)
    fields = getattr(type(value), "model_fields", None)
    return {name: _value(getattr(value, name)) for name in fields} if fields else value


def _by_name(many: tuple[Any, ...]) -> dict[str, Any]:
    named: dict[str, Any] = {}
    for number, one in enumerate(many, start=1):
        name = next(
            (str(getattr(one, key)) for key in ("ingredient", "component", "step") if getattr(one, key, None)), ""
        )
        key = name or str(number)
        while key in named:
            key += "\u2032"
        told = _value(one)
        named[key] = {k: v for k, v in told.items() if k not in ("ingredient", "component", "step")}
    return named


def _between(title: str, path: tuple[str, ...], old: Any, new: Any) -> Iterator[Difference]:
    if isinstance(old, Mapping) or isinstance(new, Mapping):
        before, after = (value if isinstance(value, Mapping) else {} for value in (old, new))
        for name in dict.fromkeys((*before, *after)):
            yield from _between(title, (*path, name), before.get(name), after.get(name))
    elif old != new:
        yield Difference(title, path, old, new)
