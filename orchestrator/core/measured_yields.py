"""Measured yields that the plan must know of: a component that gave too little, and what was made beyond the plan."""

from orchestrator.core.ids import LotCode
from orchestrator.core.material import Account, accounts_here, batch_of
from orchestrator.core.models import Batch, Kitchen
from orchestrator.core.state import State


def beyond_tolerance(kitchen: Kitchen, batch: Batch, made: float) -> float:
    """By how much a batch gave more (less: below 0) than planned; 0 where the kitchen does not tell the two apart.

    Of a product only more counts: an order that gets a little less is a matter for its customer, and not planned again.
    """
    off = made - batch.size.value
    if abs(off) <= kitchen.warnings.yield_short_percent / 100.0 * batch.size.value:
        return 0.0
    recipe = kitchen.made_by(batch.recipe, batch.revision)
    component = recipe is not None and recipe.makes == "component"
    return off if off > 0 or component else 0.0


def corrections(state: State) -> dict[LotCode, Account]:
    """Batches whose measured yield differs by more than the kitchen's tolerance from what was planned."""
    kitchen = state.kitchen
    found: dict[LotCode, Account] = {}
    for lot, account in accounts_here(state).items() if kitchen is not None else ():
        batch = batch_of(state, lot) if account.how in ("measured", "counted pieces") else None
        if batch is not None and kitchen is not None and beyond_tolerance(kitchen, batch, account.start):
            found[batch.lot] = account
    return found
