"""Reads a kitchen's folder of YAML into core's models, telling every fault at once with file and line."""

from orchestrator.kitchen.faults import Fault, KitchenFaults
from orchestrator.kitchen.read import check_summary, read_kitchen

__all__ = ["Fault", "KitchenFaults", "check_summary", "read_kitchen"]
