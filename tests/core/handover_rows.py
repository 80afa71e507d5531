"""One example of every kind of event of a hand-over, with every field filled."""

from typing import Any

from tests.fakes.kitchens import at


def handovers(alarm: dict[str, Any]) -> list[dict[str, Any]]:
    """The rows, with an alarm in the note."""
    now = at("Wed 08:00")
    line = {"what": "Cook", "thing": "C1", "where": "Hob", "at": now, "who": ["early-cook"], "reason": "late"}
    parts = ("done", "left_out", "in_hand", "held", "stopped", "deviations", "coming")
    note = {"since": at("Wed 06:00"), "until": at("Wed 14:00"), "alarms": [alarm], **{key: [line] for key in parts}}
    return [
        {"kind": "shift_handed_over", "at": now, "person": "early-cook", "text": "Ice is low.", "note": note},
        {"kind": "shift_taken_over", "handover": 12, "at": now, "person": "counter-hand"},
    ]
