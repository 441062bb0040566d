"""Sizes of bell, slots and guard from stated criteria."""

from __future__ import annotations

import math
from dataclasses import dataclass

from optimizer.physics.pipe import bore_area_m2

SLOT_AREA_RATIO = 2.0
"""Least slot area over standpipe bore area (assumption: slots then add K of 0.65)."""

ANNULUS_AREA_RATIO = 1.5
"""Least area between bell and standpipe over standpipe bore area (assumption)."""

BELL_BORE_RATIO = 1.9
"""Least bell bore over standpipe bore.

"Bell about twice the standpipe diameter": University of Hawai'i bulletin BIO-10, 2010 (second
hand). Read as nominal sizes: two-to-one pairs of Schedule 40 pipe from 3/4 in to 2 in have bores
in the ratio 1.90 to 1.97.
"""

LEAST_SLOT_HEIGHT_M = 0.020
"""Least slot height, so that roots and a little silt do not close it (assumption)."""

OPEN_SHARE = 0.5
"""Greatest share of the bell's circumference cut away, so that it still stands (assumption)."""

WIDEST_SLOT_M = 0.012
"""Greatest slot width (assumption; the guard, not the slot, keeps the medium out)."""

FEWEST_SLOTS = 4
"""Fewest slots, so that the bell draws from every side (assumption)."""

GUARD_CLEARANCE_M = 0.025
"""Clear gap between bell and guard all round, for a hand to lift the bell (assumption)."""

_SAW_STEPS_PER_M = 2000
_RULE_STEPS_PER_M = 1000


@dataclass(frozen=True)
class SlotDesign:
    """Slots cut upward from the bell's foot.

    Attributes:
        count: number of slots, evenly spaced.
        width_m: width of each, a multiple of half a millimetre.
        height_m: height of each, a multiple of a millimetre; the bed drains to this level.
        area_m2: area of all slots.
    """

    count: int
    width_m: float
    height_m: float
    area_m2: float


def slots_for(bore_m: float, bell_outside_m: float) -> SlotDesign:
    """Return slots that open twice the standpipe's bore area, as low as the criteria allow.

    Low slots drain the bed further. Width is rounded down and height up, so the open share of the
    circumference and the area both hold after rounding.

    Args:
        bore_m: standpipe bore, above 0.
        bell_outside_m: outside diameter of the bell, above the bore.

    Raises:
        ValueError: for a bell not wider than the bore.

    >>> slots_for(0.02664, 0.0603)
    SlotDesign(count=8, width_m=0.0115, height_m=0.02, area_m2=0.00184)
    """
    if not bell_outside_m > bore_m:
        raise ValueError("a bell must be wider than its standpipe")
    open_m = OPEN_SHARE * math.pi * bell_outside_m
    count = max(FEWEST_SLOTS, math.ceil(open_m / WIDEST_SLOT_M))
    width_steps = math.floor(open_m / count * _SAW_STEPS_PER_M)
    width_m = width_steps / _SAW_STEPS_PER_M
    wanted = SLOT_AREA_RATIO * bore_area_m2(bore_m)
    least_m = max(LEAST_SLOT_HEIGHT_M, wanted / (count * width_m))
    height_steps = math.ceil(round(least_m * _RULE_STEPS_PER_M, 9))
    area_m2 = count * width_steps * height_steps / (_SAW_STEPS_PER_M * _RULE_STEPS_PER_M)
    return SlotDesign(count, width_m, height_steps / _RULE_STEPS_PER_M, area_m2)


def annulus_area_m2(bell_bore_m: float, standpipe_outside_m: float) -> float:
    """Return the area between a bell and the standpipe inside it, in m2.

    Raises:
        ValueError: if the bell is not wider than the standpipe.
    """
    if not 0.0 < standpipe_outside_m < bell_bore_m:
        raise ValueError("a bell must be wider than the standpipe inside it")
    return math.pi / 4.0 * (bell_bore_m**2 - standpipe_outside_m**2)


def least_bell_bore_m(standpipe_bore_m: float, standpipe_outside_m: float) -> float:
    """Return the least bell bore: about twice the standpipe's, and wide enough an annulus.

    Args:
        standpipe_bore_m: standpipe bore, above 0.
        standpipe_outside_m: standpipe outside diameter, above the bore.

    Returns:
        The larger of 1.9 bores and the bore at which the annulus has 1.5 times the bore area.

    Raises:
        ValueError: for a standpipe without wall.

    >>> round(least_bell_bore_m(0.02664, 0.0334), 4)
    0.0506
    """
    if not 0.0 < standpipe_bore_m < standpipe_outside_m:
        raise ValueError("a standpipe's outside must be wider than its bore")
    by_annulus = math.sqrt(standpipe_outside_m**2 + ANNULUS_AREA_RATIO * standpipe_bore_m**2)
    return max(BELL_BORE_RATIO * standpipe_bore_m, by_annulus)


def least_guard_bore_m(bell_outside_m: float) -> float:
    """Return the least bore of the guard that keeps the medium off the bell, in metres.

    Raises:
        ValueError: if the bell's outside diameter is not above 0.
    """
    if not bell_outside_m > 0.0:
        raise ValueError("a bell's outside diameter must be above 0")
    return bell_outside_m + 2.0 * GUARD_CLEARANCE_M
