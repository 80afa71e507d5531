"""One example of every event about drafts of recipes, who is here and how they read, with every field filled."""

from typing import Any

from tests.fakes.kitchens import at

_AT, _WHO = at("Wed 08:00"), "early-cook"
RECIPE: dict[str, Any] = {
    "id": "basil-custard",
    "name": "Basil custard",
    "code": "B",
    "revision": 2,
    "makes": "product",
    "yields": "5 L",
    "batch": {"least": "2 L", "most": "6 L"},
    "base": "custard",
    "colour": "pale",
    "allergens": ["milk"],
    "shelf_life": 43200,
    "steps": [
        {
            "id": "mix",
            "process": "mix",
            "title": "Mix",
            "station": "stove",
            "duration": {"shortest": 8, "usual": 10, "longest": 15},
            "attended": [{"when": "throughout"}],
            "skill": "stove",
            "takes": [{"ingredient": "Sugar", "amount": "550 g"}, {"component": "custard-base", "amount": "4 L"}],
            "gates": [{"at_most": 4, "says": "Base at most 4 °C"}],
            "method": ["Stir."],
        }
    ],
}
_TRIAL = {
    "factor": 0.5,
    "made": _AT,
    "used": [{"step": "mix", "line": 0, "amount": "250 g"}],
    "brix": 27.5,
    "weight_kg": 2.4,
    "notes": "Cleaner; a little more basil next time.",
}
DRAFTS: list[dict[str, Any]] = [
    {
        "kind": "draft_written",
        "draft": 3,
        "at": _AT,
        "person": _WHO,
        "recipe": RECIPE,
        "of": "basil-custard",
        "note": "x",
    },
    {"kind": "trial_recorded", "draft": 3, "at": _AT, "person": _WHO, "trial": _TRIAL},
    {"kind": "draft_put_away", "draft": 3, "at": _AT, "person": _WHO, "away": True},
    {"kind": "person_came", "person": _WHO, "at": _AT},
    {"kind": "person_went", "person": _WHO, "at": _AT},
]
TONGUE: list[dict[str, Any]] = [
    {"kind": "ways_chosen", "person": _WHO, "ways": {"language": "es", "clock": "12", "amounts": "us"}, "at": _AT},
    {"kind": "texts_taken", "texts": [{"language": "es", "texts": {"Mix": "Mezclar"}}], "at": _AT},
]
