"""Heat and water of kitchen work: ice for a chill, water to be driven off, weight after drying."""

from typing import Final

FUSION_KJ_PER_KG: Final = 333.6
"""Of ice at 0 °C. Source: IAPWS (from memory)."""


def ice_kg(food_kg: float, kj_per_kg_k: float, from_c: float, to_c: float) -> float:
    """Ice that melts to cool food, kg; what the room, the pan and the first water add comes on top.

    Args:
        food_kg: Weight of the food.
        kj_per_kg_k: Its heat capacity above freezing.
        from_c: As it goes in.
        to_c: As it comes out; the melted ice is counted as staying at 0 °C, so this is the most that is needed.

    Raises:
        ValueError: It is to come out warmer than it went in.
    """
    if to_c > from_c:
        raise ValueError(f"food at {from_c:g} °C is not chilled to {to_c:g} °C")
    return food_kg * kj_per_kg_k * (from_c - to_c) / FUSION_KJ_PER_KG


def weight_after(kg: float, solids_from: float, solids_to: float) -> float:
    """What is left of food when its solids have become a larger share of it, kg.

    Args:
        kg: Weight before.
        solids_from: Share of solids before, above 0.
        solids_to: Share wanted.

    Raises:
        ValueError: The shares are no shares, or it would have to take up water.
    """
    if not 0.0 < solids_from <= solids_to <= 1.0:
        raise ValueError(f"from {solids_from:.1%} to {solids_to:.1%} solids nothing is driven off")
    return kg * solids_from / solids_to


def water_driven_off_kg(kg: float, solids_from: float, solids_to: float) -> float:
    """Water to be driven off for it, kg. Raises: ValueError as `weight_after`."""
    return kg - weight_after(kg, solids_from, solids_to)
