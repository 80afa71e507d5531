"""The engine: one writer that decides, records and acts, and the desk, monitoring and timers around it."""

from orchestrator.engine.desk import DeskSettings
from orchestrator.engine.engine import Engine
from orchestrator.engine.picture import Picture
from orchestrator.engine.rules import Rules

__all__ = ["DeskSettings", "Engine", "Picture", "Rules"]
