"""Names of things, each with a type of its own so that a task never stands where a lot belongs."""

from typing import NewType

RecipeId = NewType("RecipeId", str)
StepId = NewType("StepId", str)
StationId = NewType("StationId", str)
EquipmentId = NewType("EquipmentId", str)
CrewId = NewType("CrewId", str)
ProbeId = NewType("ProbeId", str)
OrderId = NewType("OrderId", str)
LotCode = NewType("LotCode", str)
"""A batch and the code that traces it: the recipe's code and a running number, such as ``B3``."""
TaskId = NewType("TaskId", str)
"""``B3.churn`` for a step of a batch, ``B3.hold.SAT-STALL`` for the part of it that waits for one
consumer, ``SAT-STALL.B.temper`` for a step done once for an order line, ``churn.clean.B3`` for the
clean-down before a run."""
AlarmId = NewType("AlarmId", str)
CommandId = NewType("CommandId", str)
CalleeId = NewType("CalleeId", str)
"""Somebody who is called: the id of one of the crew, or ``role:`` and words."""
"""Made by whoever sends a command; sending the same one twice is harmless."""
DeviationId = NewType("DeviationId", str)
"""``DEV-3``: the third deviation on record."""
SupplyLotId = NewType("SupplyLotId", str)
"""``in-3``: the third delivery on record. Written small, so that it is no lot code and no order."""
DrillId = NewType("DrillId", str)
"""``DRILL-2``: the second recall drill on record."""
