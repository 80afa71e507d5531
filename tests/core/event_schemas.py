"""The schemas of events as they were when they were last looked at, and what would keep an old row from being read.

``python -m tests.core.event_schemas`` (part of ``make schemas``) notes them anew, and refuses while an old row could
not be read.
"""

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from orchestrator.core.events import EVENTS
from orchestrator.core.old_events import FORMS, Forms

NOTED: Final = Path(__file__).parent / "golden" / "event_schemas.json"
_LOOSER: Final = {
    "minimum": min, "exclusiveMinimum": min, "minLength": min, "minItems": min,
    "maximum": max, "exclusiveMaximum": max, "maxLength": max, "maxItems": max,
}  # fmt: skip
"""Which of two limits lets in more."""
_Schema = dict[str, Any]


class Compared:
    """Two schemas with their definitions, side by side."""

    def __init__(self, old: _Schema, new: _Schema) -> None:
        self._old, self._new = old, new
        self._seen: set[tuple[str, str]] = set()

    def breaks(self, old: _Schema, new: _Schema, where: str) -> Iterator[str]:
        """Why something that the old schema lets in might not be let in by the new one; empty when all is."""
        pair = (str(old.get("$ref", "")), str(new.get("$ref", "")))
        if all(pair):
            if pair in self._seen:
                return
            self._seen.add(pair)
        old, new = _resolved(old, self._old), _resolved(new, self._new)
        if "anyOf" in old or "oneOf" in old:
            for one in old.get("anyOf") or old["oneOf"]:
                yield from self.breaks(one, new, where)
        elif "anyOf" in new or "oneOf" in new:
            tried = [list(self._fresh(old, one, where)) for one in new.get("anyOf") or new["oneOf"]]
            if all(tried):
                yield from min(tried, key=len)
        else:
            yield from self._kind(old, new, where)

    def _fresh(self, old: _Schema, new: _Schema, where: str) -> Iterator[str]:
        before = set(self._seen)
        yield from self.breaks(old, new, where)
        self._seen = before

    def _kind(self, old: _Schema, new: _Schema, where: str) -> Iterator[str]:
        yield from _values(old, new, where)
        if old.get("type") == "object" and "properties" in old:
            yield from self._properties(old, new, where)
        for key in ("items", "additionalProperties"):
            if isinstance(old.get(key), dict) and isinstance(new.get(key), dict):
                yield from self.breaks(old[key], new[key], f"{where}[]")
        for number, (one, other) in enumerate(
            zip(old.get("prefixItems", ()), new.get("prefixItems", ()), strict=False)
        ):
            yield from self.breaks(one, other, f"{where}[{number}]")
        if len(old.get("prefixItems", ())) != len(new.get("prefixItems", ())):
            yield f"{where} has another number of parts"

    def _properties(self, old: _Schema, new: _Schema, where: str) -> Iterator[str]:
        ours, theirs = old["properties"], new.get("properties", {})
        for name in sorted(ours.keys() - theirs.keys()):
            yield f"{where}.{name} is gone"
        for name in sorted(set(new.get("required", ())) - set(old.get("required", ()))):
            yield f"{where}.{name} must be there now"
        for name in sorted(ours.keys() & theirs.keys()):
            yield from self.breaks(ours[name], theirs[name], f"{where}.{name}")


def _resolved(schema: _Schema, whole: _Schema) -> _Schema:
    while "$ref" in schema:
        schema = whole["$defs"][schema["$ref"].rsplit("/", 1)[-1]]
    return schema


def _values(old: _Schema, new: _Schema, where: str) -> Iterator[str]:
    was, now = old.get("type"), new.get("type")
    if now is not None and was != now and (was, now) != ("integer", "number"):
        yield f"{where} was {was} and is {now}"
        return
    allowed, before = _allowed(new), _allowed(old)
    if allowed is not None and (before is None or not before <= allowed):
        yield f"{where} is no longer {', '.join(sorted(before - allowed)) if before else 'free'}"
    for key, looser in _LOOSER.items():
        if key in new and (key not in old or looser(old[key], new[key]) != new[key]):
            yield f"{where} has a narrower {key}"
    for key in ("pattern", "format"):
        if key in new and old.get(key) != new[key]:
            yield f"{where} has another {key}"


def _allowed(schema: _Schema) -> set[str] | None:
    if "const" in schema:
        return {json.dumps(schema["const"])}
    return {json.dumps(value) for value in schema["enum"]} if "enum" in schema else None


def present(forms: Forms = FORMS) -> _Schema:
    """What is so now: the form of each kind, and the schema of all."""
    schema = EVENTS.json_schema(mode="validation")
    kinds = schema["discriminator"]["mapping"]
    return {"forms": {kind: forms.now(kind) for kind in sorted(kinds)}, "schema": schema}


def unreadable(noted: _Schema, now: _Schema) -> list[str]:
    """Why rows of kinds whose form is still the noted one could not all be read."""
    found, old, new = [], noted["schema"], now["schema"]
    refs, news = old["discriminator"]["mapping"], new["discriminator"]["mapping"]
    for kind, form in noted["forms"].items():
        if kind not in news:
            found.append(f"{kind} is gone")
        elif now["forms"][kind] == form:
            compared = Compared(old, new)
            found += compared.breaks({"$ref": refs[kind]}, {"$ref": news[kind]}, kind)
    return found


def noted() -> _Schema:
    """As they were."""
    read: _Schema = json.loads(NOTED.read_text(encoding="utf-8"))
    return read


if __name__ == "__main__":
    _broken = unreadable(noted(), present()) if NOTED.exists() else []
    if _broken:
        sys.exit(
            "old rows could not be read; raise the form and write a step in core/old_events.py:\n" + "\n".join(_broken)
        )
    NOTED.write_text(json.dumps(present(), indent=1, sort_keys=True, ensure_ascii=False) + "\n", encoding="utf-8")
