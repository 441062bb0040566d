"""Least slope of a gravity drain by plumbing code."""

from __future__ import annotations

INCH_M = 0.0254

QUARTER_INCH_PER_FOOT = 1.0 / 48.0
EIGHTH_INCH_PER_FOOT = 1.0 / 96.0
SIXTEENTH_INCH_PER_FOOT = 1.0 / 192.0

_ROUNDING = 1e-9
"""Relative: a nominal size of 3 in may be written as 0.0762 m."""


def least_slope(nominal_bore_m: float) -> float:
    """Return the least fall over length of a drain.

    1/4 in per ft up to 2-1/2 in, 1/8 in per ft from 3 to 6 in, 1/16 in per ft from 8 in. A size
    between two of these takes the steeper.

    Args:
        nominal_bore_m: nominal size, above 0 (a 3 in pipe is 0.0762 m), or the bore where it has
            none.

    Raises:
        ValueError: for a size not above 0.

    Source:
        Chicago Plumbing Code 18-29-704.1, table of least slopes of horizontal drainage pipe (read).

    >>> round(least_slope(0.0508), 6)
    0.020833
    """
    if not nominal_bore_m > 0.0:
        raise ValueError(f"a drain's size must be above 0, not {nominal_bore_m} m")
    inches = nominal_bore_m / INCH_M * (1.0 + _ROUNDING)
    if inches < 3.0:
        return QUARTER_INCH_PER_FOOT
    return EIGHTH_INCH_PER_FOOT if inches < 8.0 else SIXTEENTH_INCH_PER_FOOT
