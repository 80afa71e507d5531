"""Heat that can be reckoned with: of a freezer shared by several batches, in the unit of its capacity."""

from orchestrator.core.models import Equipment
from orchestrator.core.quantities import Quantity
from orchestrator.kitchen.draft import Draft, Entry


def check_heat(draft: Draft) -> None:
    """What freezes at the usual pace is a part of what fits, in a machine that several batches share."""
    for entry in draft.equipment:
        if entry.value is not None and entry.value.heat is not None:
            _heat(entry, entry.value)


def _heat(entry: Entry[Equipment], machine: Equipment) -> None:
    heat, capacity = machine.heat, machine.capacity
    assert heat is not None  # the caller looks first
    if capacity is None or not machine.shared:
        what = f"{machine.id!r} takes one batch at a time, so that none crowds another"
        entry.add(("heat",), what, "leave heat out, or give it a capacity and `shared: true`")
    elif machine.cleaning is not None:
        what = f"{machine.id!r} is cleaned between runs: batches that crowd each other are not planned there"
        entry.add(("heat",), what, "leave heat out, or cleaning")
    elif heat.alone.unit is not capacity.unit:
        what = f"alone is {_shown(heat.alone)}, and the capacity of {machine.id!r} is {_shown(capacity)}"
        entry.add(("heat", "alone"), what, f"write it in {capacity.unit}")
    elif not 0 < heat.alone.value < capacity.value:
        what = f"alone is {_shown(heat.alone)}, and {machine.id!r} holds {_shown(capacity)}"
        entry.add(("heat", "alone"), what, "make it more than nothing and less than the capacity, or leave heat out")


def _shown(amount: Quantity) -> str:
    return f"{amount.value:g} {amount.unit}"
