"""Wires every floor: settings in, a running kitchen out."""

from orchestrator.bootstrap.hooks import Hooks
from orchestrator.bootstrap.serve import announce, serve, stop_signal
from orchestrator.bootstrap.settings import Failure, Settings, default_data_folder
from orchestrator.bootstrap.system import System, build

__all__ = ["Failure", "Hooks", "Settings", "System", "announce", "build", "default_data_folder", "serve", "stop_signal"]
