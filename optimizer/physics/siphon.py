"""Flows at a bell siphon: over the standpipe's rim, at the start, and primed."""

from __future__ import annotations

import math

from optimizer.physics.pipe import bore_area_m2
from optimizer.physics.water import GRAVITY

SELF_VENTING_FROUDE = 0.30
"""A vertical pipe below this bore Froude number vents itself.

P. D. Hills, Designing piping for gravity flow, Chemical Engineering, 5 September 1983 (read).
"""

RIM_DISCHARGE = 0.62
"""Discharge coefficient of a sharp rim, as weir and as orifice (plausible 0.55 to 0.65).

Common handbook value for sharp-edged weirs and orifices (recalled; not verified).
"""

ORIFICE_START = 3.0 / 8.0
"""Head over mouth diameter at which the weir and the orifice formula give the same flow.

With one discharge coefficient C: C (2/3) sqrt(2g) pi D w^1.5 = C sqrt(2 g w) pi D^2/4, so
w/D = 3/8. A published rule of thumb says about 1/3 (second hand).
"""


def froude_flow(froude: float, bore_m: float) -> float:
    """Return the flow at which a pipe's bore Froude number V / sqrt(g d) has a given value.

    Args:
        froude: Fr, 0 or more.
        bore_m: inside diameter d, above 0.

    Returns:
        Flow Fr sqrt(g d) pi d^2 / 4 in m3/s.

    Raises:
        ValueError: for an argument outside its limits.

    >>> round(3600 * froude_flow(0.3, 0.1553), 1)
    25.2
    """
    if froude < 0.0:
        raise ValueError(f"a Froude number must not be negative, not {froude}")
    return froude * math.sqrt(GRAVITY * bore_m) * bore_area_m2(bore_m)


def weir_scale(mouth_diameter_m: float, discharge: float = RIM_DISCHARGE) -> float:
    """Return C in the rim's weir law q = C w^1.5, in m^1.5/s.

    Raises:
        ValueError: for a mouth or discharge coefficient not above 0.
    """
    if not (mouth_diameter_m > 0.0 and discharge > 0.0):
        raise ValueError("a rim needs a mouth diameter and a discharge coefficient above 0")
    return (2.0 / 3.0) * discharge * math.sqrt(2.0 * GRAVITY) * math.pi * mouth_diameter_m


def orifice_scale(mouth_diameter_m: float, discharge: float = RIM_DISCHARGE) -> float:
    """Return D in the drowned rim's orifice law q = D w^0.5, in m^2.5/s.

    Raises:
        ValueError: for a mouth or discharge coefficient not above 0.
    """
    return weir_scale(mouth_diameter_m, discharge) * ORIFICE_START * mouth_diameter_m


def rim_flow(head_m: float, mouth_diameter_m: float, discharge: float = RIM_DISCHARGE) -> float:
    """Return the flow over a standpipe's rim that is not yet a siphon.

    A circular weir q = (2/3) C sqrt(2g) pi D w^1.5 up to w/D = 3/8, an orifice
    q = C sqrt(2 g w) pi D^2/4 above. Surface tension, left out here, matters below about 5 mm.

    Args:
        head_m: water level above the rim w; no flow at 0 and below.
        mouth_diameter_m: diameter of the rim, or of the funnel on it, above 0.
        discharge: discharge coefficient C, above 0.

    Returns:
        Flow in m3/s, rising strictly with head.

    Raises:
        ValueError: for a mouth or discharge coefficient not above 0.
    """
    scale = weir_scale(mouth_diameter_m, discharge)
    if head_m <= 0.0:
        return 0.0
    if head_m <= ORIFICE_START * mouth_diameter_m:
        return scale * head_m * math.sqrt(head_m)
    return orifice_scale(mouth_diameter_m, discharge) * math.sqrt(head_m)


def rim_head(flow: float, mouth_diameter_m: float, discharge: float = RIM_DISCHARGE) -> float:
    """Return the level above the rim at a given flow: the inverse of :func:`rim_flow`.

    Args:
        flow: flow over the rim in m3/s, 0 or more.
        mouth_diameter_m: diameter of the rim, or of the funnel on it, above 0.
        discharge: discharge coefficient C, above 0.

    Returns:
        Head over the rim in metres.

    Raises:
        ValueError: for an argument outside its limits.
    """
    if flow < 0.0:
        raise ValueError(f"a flow over the rim must not be negative, not {flow}")
    head = (flow / weir_scale(mouth_diameter_m, discharge)) ** (2.0 / 3.0)
    if head <= ORIFICE_START * mouth_diameter_m:
        return float(head)
    return (flow / orifice_scale(mouth_diameter_m, discharge)) ** 2


def primed_flow(
    level_m: float, outlet_level_m: float, bore_m: float, loss_coefficient: float
) -> float:
    """Return the discharge of a primed siphon, a full pipe: Q = a sqrt(2 g (h - z) / K).

    Args:
        level_m: water level in the bed h.
        outlet_level_m: level of the pipe's outlet z, same datum; no flow at or below it.
        bore_m: standpipe bore, above 0.
        loss_coefficient: K, every loss from bed to outlet with the exit, referred to the bore.

    Returns:
        Discharge in m3/s.

    Raises:
        ValueError: for a bore or loss coefficient not above 0.
    """
    if not loss_coefficient > 0.0:
        raise ValueError(f"a siphon's loss coefficient must be above 0, not {loss_coefficient}")
    drop = max(0.0, level_m - outlet_level_m)
    return bore_area_m2(bore_m) * math.sqrt(2.0 * GRAVITY * drop / loss_coefficient)
