"""Curves whose truth is known: balances of heat and water, integrated; no formula is shared with `thermal`."""

from tests.thermal.truth.curves import KINDS, Curve, curves

__all__ = ["KINDS", "Curve", "curves"]
