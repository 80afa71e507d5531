"""A JSON Schema for each kind of file, so that an editor can help while a kitchen is described."""

import json
from pathlib import Path
from typing import Any, Final

from orchestrator.core.models import Model
from orchestrator.kitchen.change_files import WhatIfFile
from orchestrator.kitchen.check_windows import in_words
from orchestrator.kitchen.files import KINDS

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
PUBLISHED: Final[dict[str, type[Model]]] = {**KINDS, "what-if": WhatIfFile}
"""Kinds of a kitchen's folder, and of files beside it."""


def schema(kind: str) -> dict[str, Any]:
    """The JSON Schema of one kind of file.

    Args:
        kind: One of `PUBLISHED`, such as ``kitchen``, ``notify`` or ``what-if``.

    Raises:
        KeyError: There is no such kind.
    """
    made = PUBLISHED[kind].model_json_schema(mode="validation", by_alias=True)
    return {"$schema": DIALECT, "$id": f"urn:coldwright:schema:{kind}", **_readable(made)}


def schema_texts() -> dict[str, str]:
    """Every schema as the text of its file, by file name."""
    return {
        f"{kind}.schema.json": json.dumps(schema(kind), indent=2, ensure_ascii=False, sort_keys=False) + "\n"
        for kind in PUBLISHED
    }


def write_schemas(folder: Path) -> tuple[Path, ...]:
    """Write every schema into the folder ``schemas`` of a kitchen's folder.

    Args:
        folder: The kitchen's.

    Returns:
        The files written.
    """
    target = Path(folder) / "schemas"
    target.mkdir(parents=True, exist_ok=True)
    written = []
    for name, text in schema_texts().items():
        path = target / name
        path.write_text(text, encoding="utf-8")
        written.append(path)
    return tuple(written)


def _readable(node: Any) -> Any:
    """Defaults as a person would write them: minutes with their unit, and no defaults that are objects."""
    if isinstance(node, list):
        return [_readable(part) for part in node]
    if not isinstance(node, dict):
        return node
    made = {key: _readable(value) for key, value in node.items()}
    default = made.get("default")
    if made.get("type") == "string":
        made = {key: value for key, value in made.items() if key not in ("ge", "gt")}
        if isinstance(default, int):
            made["default"] = in_words(default)
    if isinstance(default, dict) or default is None:
        made.pop("default", None)
    return made
