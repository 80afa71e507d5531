"""The tables of one language: every module of its folder that has words by key."""

import pkgutil
from collections.abc import Mapping, Sequence
from importlib import import_module
from types import ModuleType


def tables_of(package: str, path: Sequence[str]) -> tuple[ModuleType, ...]:
    """The modules of a language's folder with words by key, in the order of their names; others hold sentences.

    Args:
        package: Its name, as imported.
        path: Its ``__path__``.
    """
    modules = (import_module(f"{package}.{found.name}") for found in pkgutil.iter_modules(path))
    return tuple(module for module in modules if hasattr(module, "WORDS"))


def merged(tables: Sequence[ModuleType]) -> Mapping[str, str]:
    """All words of a language by their keys; a test holds that no two tables have the same key."""
    return {key: text for table in tables for key, text in table.WORDS.items()}
