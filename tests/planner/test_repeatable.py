"""The same kitchen, seed and counted budget give the same plan in every process, however it orders its sets."""

import os
import subprocess
import sys
from pathlib import Path

CONFIG = Path(__file__).parents[2] / "config"
PROGRAM = """
import sys
from pathlib import Path
from orchestrator.core.models import PlanRequest
from orchestrator.kitchen import read_kitchen
from orchestrator.planner.plan import make_plan
kitchen = read_kitchen(Path(sys.argv[1]))
request = PlanRequest(kitchen=kitchen, now=kitchen.planning_start)
answer = make_plan(request, effort="full", seconds=1, seed=1, deterministic=True)
print(answer.plan.model_dump_json())
"""


def planned_with(hash_seed: str) -> str:
    told = {**os.environ, "PYTHONHASHSEED": hash_seed}
    ran = subprocess.run(
        [sys.executable, "-c", PROGRAM, str(CONFIG)], env=told, capture_output=True, text=True, check=True
    )
    return ran.stdout


def test_plan_of_the_example_is_the_same_in_processes_that_hash_differently() -> None:
    one, other = planned_with("1"), planned_with("2")
    assert '"tasks":[{' in one
    assert one == other
