"""Local losses at fittings, and pipes that give off water along the way."""

from __future__ import annotations

import math
from types import MappingProxyType

import numpy as np

from optimizer.physics.arrays import FloatOrArray, like
from optimizer.physics.pipe import bore_area_m2
from optimizer.physics.water import GRAVITY

COMMERCIAL_STEEL_ROUGHNESS_M = 4.572e-5
"""0.00015 ft, the roughness behind the equivalent-length table of Crane TP-410."""

EQUIVALENT_DIAMETERS = MappingProxyType(
    {
        "ball_valve_open": 3.0,
        "elbow_90": 30.0,
        "elbow_45": 16.0,
        "tee_run": 20.0,
        "tee_branch": 60.0,
        "close_return": 50.0,
    }
)
"""Lengths of pipe, in bores, that lose as much as the fitting in fully rough flow.

Crane Technical Paper 410 (as computed by fluids 1.3.1 after Crane TP-410: ran).
"""


def local_loss_m(loss_coefficient: float, flow_m3_s: FloatOrArray, bore_m: float) -> FloatOrArray:
    """Return the head lost at a fitting: h = K V^2 / 2g, signed as the flow.

    Args:
        loss_coefficient: K referred to the bore, 0 or more.
        flow_m3_s: flow, a number or an array.
        bore_m: inside diameter that K refers to, above 0.

    Returns:
        Head loss in metres of water.

    Raises:
        ValueError: for a negative K or a bore not above 0.
    """
    if loss_coefficient < 0.0:
        raise ValueError(f"a loss coefficient must not be negative, not {loss_coefficient}")
    speed = np.asarray(flow_m3_s, dtype=np.float64) / bore_area_m2(bore_m)
    return like(flow_m3_s, loss_coefficient * speed * np.abs(speed) / (2.0 * GRAVITY))


def fully_rough_factor(bore_m: float, roughness_m: float = COMMERCIAL_STEEL_ROUGHNESS_M) -> float:
    """Return the Darcy friction factor that Colebrook tends to at great Reynolds numbers.

    Args:
        bore_m: inside diameter, above the roughness.
        roughness_m: wall roughness.

    Raises:
        ValueError: if the bore is not above the roughness, or the roughness not above 0.
    """
    if not 0.0 < roughness_m < bore_m:
        raise ValueError("roughness must lie between 0 and the bore")
    return 0.25 / math.log10(roughness_m / (3.7 * bore_m)) ** 2


def fitting_loss_coefficient(equivalent_diameters: float, bore_m: float) -> float:
    """Return K of a fitting from its equivalent length: K = (L/d) f_rough.

    Args:
        equivalent_diameters: equivalent length over bore (:data:`EQUIVALENT_DIAMETERS`).
        bore_m: inside diameter.

    Raises:
        ValueError: for arguments outside their limits.

    Source:
        Crane Technical Paper 410, by its formula for the friction factor in fully rough steel.
    """
    if equivalent_diameters < 0.0:
        raise ValueError("an equivalent length must not be negative")
    return equivalent_diameters * fully_rough_factor(bore_m)


def _check_outlets(outlets: int, flow_exponent: float) -> None:
    if outlets < 1 or flow_exponent < 1.0:
        raise ValueError("many outlets: at least one outlet and a flow exponent of at least 1")


def many_outlet_factor(outlets: int, flow_exponent: float) -> float:
    """Return head loss with equal outlets over head loss with the whole flow going to the end.

    Outlets stand at equal spacing, the first one spacing from the inlet, the last at the end:
    F = sum over k = 1..N of k^m / N^(m+1). Exact for h proportional to L Q^m.

    Args:
        outlets: number of outlets N, at least 1.
        flow_exponent: m, 1.852 for Hazen-Williams, 2 for rough turbulent flow.

    Raises:
        ValueError: for arguments outside their limits.

    >>> round(many_outlet_factor(10, 1.852), 4)
    0.4022
    """
    _check_outlets(outlets, flow_exponent)
    return math.fsum((k / outlets) ** flow_exponent for k in range(1, outlets + 1)) / outlets


def christiansen_factor(outlets: int, flow_exponent: float) -> float:
    """Return Christiansen's short formula for :func:`many_outlet_factor`.

    F = 1/(m+1) + 1/(2N) + sqrt(m-1)/(6 N^2), within 0.1 % of the exact sum from two outlets
    for m from 1.852 to 2 (0.2 % at 1.75).

    Args:
        outlets: number of outlets N, at least 1.
        flow_exponent: m, at least 1.

    Raises:
        ValueError: for arguments outside their limits.

    Source:
        J. E. Christiansen, Irrigation by Sprinkling, California Agricultural Experiment Station
        Bulletin 670, 1942.
    """
    _check_outlets(outlets, flow_exponent)
    m = flow_exponent
    return 1.0 / (m + 1.0) + 1.0 / (2.0 * outlets) + math.sqrt(m - 1.0) / (6.0 * outlets**2)
