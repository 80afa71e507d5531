"""Heat of kitchen work: ice for a chill."""

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
