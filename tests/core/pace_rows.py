"""Rows of the log for what finished curves have shown."""

from typing import Any

from tests.fakes.kitchens import at

PACES: list[dict[str, Any]] = [
    {
        "kind": "pace_learned",
        "task": "C1.cook",
        "equipment": "hob-1",
        "recipe": "custard-base",
        "step": "cook",
        "at": at("Wed 08:00"),
        "target_c": 82.0,
        "scale": 1.25,
        "bands": [[-13, 4.25], [-12, 4.1], [-2, 2.2], [-1, 1.975]],
    }
]

REDUCTIONS: list[dict[str, Any]] = [
    {
        "kind": "reduction_learned",
        "task": "S1.simmer",
        "equipment": "hob-1",
        "recipe": "damson-sorbet",
        "step": "simmer",
        "at": at("Wed 08:00"),
        "scale": 1.25,
        "reduce_to": 0.75,
        "weights": [[0.0, 1.0], [15.5, 0.915], [41.25, 0.748]],
    }
]
