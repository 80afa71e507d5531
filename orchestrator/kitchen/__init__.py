"""Reads a kitchen's folder of YAML into core's models, telling every fault at once with file and line."""

from orchestrator.kitchen.faults import Fault, KitchenFaults
from orchestrator.kitchen.new import new_kitchen
from orchestrator.kitchen.read import check_summary, read_kitchen
from orchestrator.kitchen.schemas import write_schemas

__all__ = ["Fault", "KitchenFaults", "check_summary", "new_kitchen", "read_kitchen", "write_schemas"]
