"""What the engine asks to have put down of a finished curve."""

from typing import Literal

from orchestrator.core.command_base import BaseCommand
from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models.base import Instant


class RecordPace(BaseCommand):
    """A probe in the food has seen a step reach its target."""

    kind: Literal["record_pace"] = "record_pace"
    task: TaskId
    equipment: EquipmentId
    reached_at: Instant
    target_c: float
    bands: tuple[tuple[int, float], ...]
