"""Throttling valves: loss coefficient against opening, by table."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

import numpy as np
from scipy.interpolate import PchipInterpolator

from optimizer.physics.roots import root_between


@lru_cache(maxsize=512)
def _log_loss(openings: tuple[float, ...], losses: tuple[float, ...]) -> PchipInterpolator:
    """Return ln K against opening, monotone between the points; check the table once."""
    if len(openings) != len(losses) or len(openings) < 2:
        raise ValueError("a valve table needs at least two openings and as many losses")
    if any(b <= a for a, b in pairwise(openings)):
        raise ValueError("valve openings must rise")
    if any(b >= a for a, b in pairwise(losses)) or losses[-1] <= 0.0:
        raise ValueError("valve losses must fall as the valve opens, and stay above 0")
    return PchipInterpolator(np.asarray(openings), np.log(np.asarray(losses)))


def _tuples(
    openings: tuple[float, ...], losses: tuple[float, ...]
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    return tuple(map(float, openings)), tuple(map(float, losses))


def loss_at_opening(
    opening: float, openings: tuple[float, ...], losses: tuple[float, ...]
) -> float:
    """Return K of a valve at an opening, by monotone cubic interpolation of ln K.

    Exact at the points of the table.

    Args:
        opening: share open, between the first and last opening of the table.
        openings: rising openings, the last fully open (1).
        losses: K at each, falling, above 0.

    Raises:
        ValueError: for an opening outside the table, or a table out of order.
    """
    openings, losses = _tuples(openings, losses)
    curve = _log_loss(openings, losses)
    if opening in openings:
        return losses[openings.index(opening)]
    if not openings[0] < opening < openings[-1]:
        raise ValueError(f"opening {opening} lies outside the table {openings[0]}..{openings[-1]}")
    return math.exp(float(curve(opening)))


def opening_for_loss(loss: float, openings: tuple[float, ...], losses: tuple[float, ...]) -> float:
    """Return the opening at which a valve has a given K: the inverse of :func:`loss_at_opening`.

    Args:
        loss: K wanted.
        openings: rising openings, the last fully open (1).
        losses: K at each, falling, above 0.

    Raises:
        ValueError: for less K than the valve has fully open, more than at its smallest opening in
            the table, or a table out of order.

    >>> opening_for_loss(24.0, (0.25, 0.5, 0.75, 1.0), (24.0, 4.5, 0.9, 0.17))
    0.25
    """
    openings, losses = _tuples(openings, losses)
    curve = _log_loss(openings, losses)
    if loss in losses:
        return openings[losses.index(loss)]
    if loss < losses[-1]:
        raise ValueError(f"K {loss:g} is below the fully open valve's {losses[-1]:g}")
    if not loss < losses[0]:
        raise ValueError(f"K {loss:g} is above {losses[0]:g}, at the table's smallest opening")
    after = next(i for i, each in enumerate(losses) if each < loss)
    target = math.log(loss)
    return float(
        root_between(lambda x: float(curve(x)) - target, openings[after - 1], openings[after])
    )
