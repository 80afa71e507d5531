"""A log written before there were verdicts and weights: replayed, it gives the state that it gave then."""

import json
from datetime import datetime
from pathlib import Path
from typing import Any

from orchestrator.core.events import Recorded
from orchestrator.core.evolve import evolve
from orchestrator.core.state import State

GOLDEN = Path(__file__).parent / "golden" / "log_before_verdicts.json"
"""Log and state as that version wrote and knew them: a base is cooked and chilled too slowly. Never write it anew."""


def _iso(instant: datetime | None) -> str | None:
    return None if instant is None else instant.isoformat()


def _known(state: State) -> dict[str, Any]:
    """What that version told of its state."""
    return {
        "tasks": {
            task: [
                record.status.value,
                _iso(record.started_at),
                _iso(record.finished_at),
                [[_iso(at), celsius] for at, celsius in record.hand_readings],
                record.reason,
            ]
            for task, record in sorted(state.tasks.items())
        },
        "lots": {lot: [r.status.value, _iso(r.since), r.reason] for lot, r in sorted(state.lots.items())},
        "alarms": {
            alarm: [one.facts.kind.value, one.facts.missed, one.facts.reason]
            for alarm, one in sorted(state.alarms.items())
        },
        "facts": {
            probe: [fact.task, fact.celsius, _iso(fact.met_at), fact.cooling, _iso(fact.outside_since)]
            for probe, fact in sorted(state.facts.items())
        },
        "seq": state.seq,
    }


def test_log_from_before_verdicts_replays_to_the_state_it_gave_then() -> None:
    golden = json.loads(GOLDEN.read_text(encoding="utf-8"))
    assert not any("verdict" in json.dumps(row) for row in golden["log"])
    state = State()
    for row in golden["log"]:
        state = evolve(state, Recorded.model_validate(row))
    assert _known(state) == golden["state"]
    assert all(fact.verdict is None and fact.kept == () for fact in state.facts.values())
