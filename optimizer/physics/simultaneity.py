"""How many siphons drain at once: Hunter's binomial method.

A bed drains for a share p = drain time / cycle time of its time. If phases are independent and
uniform, the number draining at a random moment is binomial (Poisson binomial where shares differ).
Independence is an assumption: beds started together stay in step for hours, so these counts hold
only for a staggered start that simulation shows to last.

Source:
    R. B. Hunter, Methods of estimating loads in plumbing systems, National Bureau of Standards
    report BMS65, 1940 (recalled), as set out in S. G. Buchberger's slides on Hunter's method, 2013
    (read).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.special import betainc

from optimizer.physics.arrays import Array


def _check(share_of_time: float, confidence: float = 0.5) -> None:
    if not 0.0 <= share_of_time <= 1.0:
        raise ValueError(f"a share of time must lie from 0 to 1, not {share_of_time}")
    if not 0.0 < confidence <= 1.0:
        raise ValueError(f"a confidence must lie above 0 and up to 1, not {confidence}")


def chance_of_more(simultaneous: int, count: int, share_of_time: float) -> float:
    """Return the chance that more than so many of equal beds drain at a random moment.

    P(X > m) for X binomial, by the incomplete beta function I_p(m + 1, n - m).

    Args:
        simultaneous: m, 0 or more.
        count: beds n, 0 or more.
        share_of_time: p, drain time over cycle time, 0 to 1.

    Raises:
        ValueError: for an argument outside its limits.

    >>> round(1.0 - chance_of_more(4, 7, 0.2), 5)
    0.99533
    """
    _check(share_of_time)
    if simultaneous < 0 or count < 0:
        raise ValueError("numbers of beds must not be negative")
    if simultaneous >= count:
        return 0.0
    return float(betainc(simultaneous + 1, count - simultaneous, share_of_time))


def least_simultaneous(count: int, share_of_time: float, confidence: float) -> int:
    """Return the smallest m with P(X <= m) >= confidence for equal beds.

    Args:
        count: beds n, 0 or more.
        share_of_time: p, drain time over cycle time, 0 to 1.
        confidence: share of time in which at most m drain, above 0 and up to 1; at 1 every bed
            counts.

    Raises:
        ValueError: for an argument outside its limits.

    >>> least_simultaneous(7, 0.2, 0.99)
    4
    """
    _check(share_of_time, confidence)
    if count < 0:
        raise ValueError("numbers of beds must not be negative")
    low, high = 0, count
    while low < high:
        middle = (low + high) // 2
        if chance_of_more(middle, count, share_of_time) <= 1.0 - confidence:
            high = middle
        else:
            low = middle + 1
    return low


def simultaneous_chances(shares_of_time: Sequence[float]) -> Array:
    """Return P(X = m), m from 0 to the number of beds, for beds of unequal shares.

    The Poisson binomial distribution, exact by convolving one bed after another.

    Args:
        shares_of_time: drain time over cycle time of each bed, 0 to 1.

    Raises:
        ValueError: for a share outside its limits.
    """
    chances = np.zeros(len(shares_of_time) + 1)
    chances[0] = 1.0
    for share in shares_of_time:
        _check(share)
        chances[1:] = (1.0 - share) * chances[1:] + share * chances[:-1]
        chances[0] *= 1.0 - share
    return chances


def least_simultaneous_mixed(shares_of_time: Sequence[float], confidence: float) -> int:
    """Return the smallest m with P(X <= m) >= confidence for beds of unequal shares.

    Args:
        shares_of_time: drain time over cycle time of each bed, 0 to 1.
        confidence: share of time in which at most m drain, above 0 and up to 1.

    Raises:
        ValueError: for an argument outside its limits.
    """
    _check(0.0, confidence)
    chances = simultaneous_chances(shares_of_time)
    more = np.append(np.cumsum(chances[:0:-1])[::-1], 0.0)
    return int(np.argmax(more <= 1.0 - confidence))


def most_beds_for(simultaneous: int, share_of_time: float, confidence: float) -> int:
    """Return the largest number of equal beds of which at most so many count as draining at once.

    The inverse of :func:`least_simultaneous`, which never falls as beds are added.

    Args:
        simultaneous: m, bursts that a drain can carry at once, 0 or more (a drain's capacity over
            one burst, rounded down).
        share_of_time: p, drain time over cycle time, above 0 and up to 1.
        confidence: share of time in which at most m drain, above 0 and up to 1.

    Raises:
        ValueError: for an argument outside its limits; beds that never drain set no largest number.

    >>> most_beds_for(4, 0.2, 0.99)
    7
    """
    _check(share_of_time, confidence)
    if not share_of_time > 0.0:
        raise ValueError("beds that never drain set no largest number")
    allowed = 1.0 - confidence

    def enough(count: int) -> bool:
        return chance_of_more(simultaneous, count, share_of_time) <= allowed

    low, high = simultaneous, simultaneous + 1
    while enough(high):
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if enough(middle) else (low, middle)
    return low
