"""What people may ask about by-products."""

from typing import Literal

from orchestrator.core.command_base import BaseCommand
from orchestrator.core.ids import SupplyLotId
from orchestrator.core.quantities import Quantity


class WeighByProduct(BaseCommand):
    """How much a step left in fact."""

    kind: Literal["weigh_by_product"] = "weigh_by_product"
    lot: SupplyLotId
    weighed: Quantity
