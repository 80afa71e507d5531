"""How long freezing through takes, by Plank's formula: a first idea before there are readings."""

from dataclasses import dataclass
from typing import Final, Literal

Shape = Literal["slab", "cylinder", "sphere"]

_PLANK: Final = {"slab": (1 / 2, 1 / 8), "cylinder": (1 / 4, 1 / 16), "sphere": (1 / 6, 1 / 24)}
"""Plank's P and R. Source: Encyclopaedia of Food Sciences."""


@dataclass(frozen=True, slots=True)
class Freezing:
    """What is frozen, and by what; SI units, temperatures in °C."""

    density_kg_per_m3: float
    latent_j_per_kg: float
    """Of the whole food: only of the water that still has to freeze."""
    freezes_c: float
    frozen_conductivity_w_per_m_k: float


def plank_s(food: Freezing, *, shape: Shape, thickness_m: float, medium_c: float, transfer_w_per_m2_k: float) -> float:
    """Seconds until the core is frozen, from the freezing point on.

    Args:
        food: density, latent heat, freezing point and conductivity.
        shape: slab (from both sides), cylinder or sphere.
        thickness_m: thickness or diameter.
        medium_c: air or brine, °C.
        transfer_w_per_m2_k: surface coefficient.

    Raises:
        ValueError: the medium is not colder than the freezing point.

    Source: Plank, as in Singh & Heldman, Introduction to Food Engineering (from memory).
    """
    if medium_c >= food.freezes_c:
        raise ValueError("food does not freeze in a medium that is not colder than its freezing point")
    p, r = _PLANK[shape]
    path = p * thickness_m / transfer_w_per_m2_k + r * thickness_m**2 / food.frozen_conductivity_w_per_m_k
    return food.density_kg_per_m3 * food.latent_j_per_kg / (food.freezes_c - medium_c) * path


def hardening_min(
    *,
    tub_m: float,
    air_c: float,
    to_freeze: float,
    water: float = 0.6,
    load_share: float = 0.5,
    density_kg_per_m3: float = 560.0,
) -> float:
    """Usual minutes of hardening to the core, before readings say better.

    Args:
        tub_m: least dimension of the tub, metres.
        air_c: of the freezer.
        to_freeze: share of the mix's water that freezes between the churn and the core's target.
        water: share of the mix that is water.
        load_share: how much of the freezer's capacity is filled; a full one moves less air past each tub.
        density_kg_per_m3: with its air. Source: 560 g/L, University of Guelph's overrun example.

    The surface coefficients (about 12 W/(m² K) alone, 7 when full) and the conductivity of aerated ice cream
    (0.3 W/(m K)) are common practice, no published figure of ours.
    """
    food = Freezing(density_kg_per_m3, 333_600.0 * water * max(to_freeze, 0.02), -6.0, 0.3)
    transfer = 12.0 - 5.0 * min(max(load_share, 0.0), 1.0)
    return plank_s(food, shape="cylinder", thickness_m=tub_m, medium_c=air_c, transfer_w_per_m2_k=transfer) / 60.0
