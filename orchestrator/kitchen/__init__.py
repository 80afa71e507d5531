"""Reads a kitchen's folder of YAML into core's models, telling every fault at once with file and line."""

from orchestrator.kitchen.faults import Fault, KitchenFaults
from orchestrator.kitchen.new import new_kitchen
from orchestrator.kitchen.read import check_summary, read_kitchen
from orchestrator.kitchen.schemas import write_schemas
from orchestrator.kitchen.translations import translation_advice
from orchestrator.kitchen.what_if import ScenarioFile, check_scenarios, read_scenarios

__all__ = [
    "Fault",
    "KitchenFaults",
    "ScenarioFile",
    "check_scenarios",
    "check_summary",
    "new_kitchen",
    "read_kitchen",
    "read_scenarios",
    "translation_advice",
    "write_schemas",
]
