"""What every bed holds at given times, from the cycles of a settled window."""

from __future__ import annotations

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.simulate.day.bed_arrays import BedArrays, Flags, Indices
from optimizer.simulate.day.level_grid import LevelGrid
from optimizer.simulate.day.passages import Passages
from optimizer.simulate.day.returns import given_terms, polynomial
from optimizer.simulate.day.window import Cycles


def volumes_at(
    cycles: Cycles, grid: LevelGrid, weights: Array, beds: BedArrays, time_s: Array
) -> tuple[Array, Flags]:
    """Return the volumes above the drain level at times, (times, beds), and which beds are primed.

    Args:
        cycles: settled cycles.
        grid: the level grid they settled on.
        weights: weights of the inflow table.
        beds: the beds.
        time_s: times from the window's first node to its last.
    """
    times = np.broadcast_to(time_s, (len(beds), time_s.size))
    which = np.zeros(times.shape, dtype=np.int64)
    for end in cycles.end_s.T:
        which += end[:, None] <= times
    now, _ = grid.integrals(times, weights)
    begun = _taken(cycles.totals[..., 0], which)
    volume = beds.crest_m3[:, None] - _taken(cycles.need_m3, which) + now - begun
    over = _taken(cycles.crest_s, which) <= times
    primed = _taken(cycles.prime_s, which) <= times
    stages = (
        (over & ~primed, cycles.crest_s, cycles.rim, cycles.rim_from_m3, cycles.totals[..., 1]),
        (primed, cycles.prime_s, cycles.drain, cycles.drain_from_m3, cycles.totals[..., 2]),
    )
    for here, begin_s, passages, start, total in stages:
        share = (times - _taken(begin_s, which)) / _taken(_some(passages.length_s), which)
        given = _given(passages, which, share)
        passing = _taken(start, which) + now - _taken(total, which) - given
        volume = np.where(here, passing, volume)
    return volume.T, primed.T


def _given(passages: Passages, which: Indices, share: Array) -> Array:
    terms = np.stack([_taken(term, which) for term in given_terms(passages)])
    return polynomial(terms, share)


def _taken(values: Array, which: Indices) -> Array:
    return np.take_along_axis(values, which, axis=1)


def _some(length: Array) -> Array:
    return np.where(length > 0.0, length, 1.0)
