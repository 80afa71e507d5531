"""One seed, one history: in this process, and in others that hash and count differently."""

import os
import subprocess
import sys

from tests.simulation.faulty.seeds import live

SEED, SPAN_S = 9, 4 * 3600.0
_OTHER = f"from tests.simulation.faulty.seeds import live; print(live({SEED}, span_s={SPAN_S}).trace)"


def test_same_seed_gives_the_same_trace_also_in_another_process() -> None:
    here = live(SEED, span_s=SPAN_S)
    told = {**os.environ, "PYTHONHASHSEED": "4711", "PYTHONPATH": os.getcwd()}
    there = subprocess.run(
        [sys.executable, "-c", _OTHER], env=told, capture_output=True, text=True, check=True, timeout=300
    )
    assert there.stdout.split()[-1] == here.trace
    assert here.counted["records"] > 20


def test_another_seed_gives_another_trace() -> None:
    assert live(SEED, span_s=1800.0).trace != live(SEED + 1, span_s=1800.0).trace
