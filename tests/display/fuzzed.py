"""Requests thought up from the OpenAPI document, legal and not: does the interface answer each as the document says?

Run by hand with more of them: ``python -m tests.display.fuzzed --examples 1000``.
"""

import argparse
import collections
import sys
from collections.abc import Iterator, Mapping
from typing import Any, Final

import schemathesis
from flask import Flask
from hypothesis import HealthCheck, Phase, given, seed, settings, strategies
from hypothesis.errors import Unsatisfiable
from schemathesis import Case, GenerationMode
from schemathesis.specs.openapi.checks import positive_data_acceptance

from display.views import CoreViews
from display.web import create_web
from tests.browser.full_house import full_house

DOCUMENT: Final = "/api/v1/openapi.json"
ENDLESS: Final = frozenset({"/changes"})
"""A stream has no end to wait for; tests of the hub read it."""
KNOWN: Final = {"station": "stove", "task": "C1.cook", "deviation": "DEV-1", "probe": "hob-1-core"}
"""What there is, so that not every address thought up leads nowhere."""
BETWEEN_FIELDS: Final = frozenset({"/commands", "/what-if"})
"""Here rules between fields refuse what fits the schema: JSON Schema has no words for them."""
TOO_LARGE: Final = "413"
"""What breaks the schema is refused by its length alone where it is longer than a body may be."""
NO_MORE: Final[Mapping[str, str]] = {}
PLAIN: Final = {"Accept-Encoding": "identity"}
MODES: Final = (GenerationMode.POSITIVE, GenerationMode.NEGATIVE)


def operations(web: Flask, document: dict[str, Any] | None = None) -> Iterator[Any]:
    """Each operation of the web's own document, or of another one, but those that never end."""
    own = web.test_client().get(DOCUMENT).get_json() if document is None else document
    schema = schemathesis.openapi.from_dict(own)
    schema.app = web
    refused = schema.config.checks.negative_data_rejection
    refused.expected_statuses = [*refused.expected_statuses, TOO_LARGE]
    for found in schema.get_all_operations():
        operation = found.ok()
        if operation.path not in ENDLESS:
            yield operation


def fuzz(
    operation: Any, mode: GenerationMode, examples: int, chance: int = 1, headers: Mapping[str, str] = NO_MORE
) -> collections.Counter[int]:
    """Ask an operation many times, with these headers besides.

    Returns:
        How often each status was answered.

    Raises:
        schemathesis.errors.FailureGroup: an answer breaks the document, or is a server's error.
    """
    told: collections.Counter[int] = collections.Counter()
    excluded = [positive_data_acceptance] if operation.path in BETWEEN_FIELDS else []

    @seed(chance)
    @settings(
        max_examples=examples,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy(generation_mode=mode), known=strategies.booleans())
    def ask(case: Case, known: bool) -> None:
        if known and case.path_parameters:
            case.path_parameters = {name: KNOWN.get(name, value) for name, value in case.path_parameters.items()}
        told[case.call_and_validate(headers={**PLAIN, **headers}, excluded_checks=excluded).status_code] += 1

    try:  # noqa: SIM105  # from Python 3.12 on, suppress() makes a plain ExceptionGroup of a FailureGroup
        ask()
    except Unsatisfiable:  # nothing can be asked wrongly where nothing is said
        pass
    return told


def main(arguments: list[str]) -> int:
    """Ask every operation, print what came. Returns: exit status."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--examples", type=int, default=200, help="of each operation and mode")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args(arguments)
    web = create_web(full_house(), CoreViews())
    failed = 0
    for operation in operations(web):
        for mode in MODES:
            name = f"{operation.method.upper()} {operation.path} {mode.value}"
            try:
                told = fuzz(operation, mode, options.examples, options.seed)
            except (Exception, BaseExceptionGroup) as fault:
                failed += 1
                print(f"{name}: {fault}")
            else:
                print(f"{name}: " + ", ".join(f"{status} ×{count}" for status, count in sorted(told.items())))
    print(f"{failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
