"""What a schema cannot say: names that must exist, units that must agree, windows that must be reachable."""

from collections.abc import Callable
from typing import Final

from orchestrator.kitchen.check_allergens import check_allergens
from orchestrator.kitchen.check_buying import check_buying
from orchestrator.kitchen.check_by_products import check_by_products
from orchestrator.kitchen.check_calls import check_calls
from orchestrator.kitchen.check_capacity import check_batches, check_runs
from orchestrator.kitchen.check_crew import check_attended, check_shifts
from orchestrator.kitchen.check_cycles import check_component_cycles, check_step_cycles
from orchestrator.kitchen.check_defrosts import check_defrosts
from orchestrator.kitchen.check_duplicates import check_duplicates
from orchestrator.kitchen.check_heat import check_heat
from orchestrator.kitchen.check_ingredients import check_ingredients
from orchestrator.kitchen.check_labels import check_labels
from orchestrator.kitchen.check_limits import check_limits
from orchestrator.kitchen.check_names import check_kitchen_names, check_order_names, check_probe_names, check_step_names
from orchestrator.kitchen.check_orders import check_orders, check_stock
from orchestrator.kitchen.check_par_levels import check_par_levels
from orchestrator.kitchen.check_rescue import check_rescue
from orchestrator.kitchen.check_steps import check_steps
from orchestrator.kitchen.check_supplies import check_supplies
from orchestrator.kitchen.check_temperatures import check_temperatures
from orchestrator.kitchen.check_units import check_equipment_units, check_order_units, check_recipe_units
from orchestrator.kitchen.check_windows import check_windows
from orchestrator.kitchen.draft import Draft

CHECKS: Final[tuple[Callable[[Draft], None], ...]] = (
    check_duplicates,
    check_kitchen_names,
    check_step_names,
    check_order_names,
    check_probe_names,
    check_step_cycles,
    check_component_cycles,
    check_steps,
    check_temperatures,
    check_limits,
    check_rescue,
    check_ingredients,
    check_allergens,
    check_labels,
    check_buying,
    check_equipment_units,
    check_heat,
    check_defrosts,
    check_recipe_units,
    check_order_units,
    check_by_products,
    check_batches,
    check_runs,
    check_windows,
    check_shifts,
    check_attended,
    check_orders,
    check_stock,
    check_supplies,
    check_par_levels,
    check_calls,
)


def check_all(draft: Draft) -> None:
    """Run every check over a draft; faults are noted in its documents.

    Each check looks only at what was read without fault and stays silent about names that stand in an
    entry with faults of its own, so that one slip gives one fault.
    """
    for check in CHECKS:
        check(draft)
