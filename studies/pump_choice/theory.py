"""Hand theory: when a wider siphon, and with it a smaller pump, will do."""

from __future__ import annotations

import math

GRAVITY = 9.81
ONE_INCH_BORE_M = 0.0266446
"""1 in Schedule 40, least wall (catalog, after ASTM D1785)."""

INFLOW_L_MIN = 5.3
"""What a 1 in siphon needs here for two floods an hour, margins counted (from the run)."""

LEAST_SHARE = (1.0 - 0.07) * (1.0 - 0.08)
"""What is left of the set inflow with valve error and level drift (the site file's defaults)."""

FROUDE_BAND = (0.20, 0.45)
"""The catalog's band of the start Froude number: an assumption, see docs/assumptions.md."""


def start_flow_l_min(froude: float, bore_m: float = ONE_INCH_BORE_M) -> float:
    """Return the flow at which a drop pipe primes: Froude number times sqrt(g d) times its bore.

    Args:
        froude: start Froude number.
        bore_m: bore d.
    """
    return 60_000.0 * froude * math.sqrt(GRAVITY * bore_m) * math.pi * bore_m**2 / 4.0


def easy_froude() -> float:
    """Return the start Froude number below which the 1 in siphon starts at the inflow it needs."""
    return LEAST_SHARE * INFLOW_L_MIN / start_flow_l_min(1.0)


def share_of_band(froude: float) -> float:
    """Return how far into the catalog's band a Froude number lies, 0 to 1."""
    low, high = FROUDE_BAND
    return (froude - low) / (high - low)
