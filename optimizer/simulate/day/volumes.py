"""What every bed holds at given times, from the cycles of a settled window."""

from __future__ import annotations

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.simulate.day.bed_arrays import BedArrays, Flags
from optimizer.simulate.day.level_grid import LevelGrid
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
    count, columns = cycles.end_s.shape
    times = np.broadcast_to(time_s, (count, time_s.size))
    which = np.arange(count)[:, None] * columns + np.zeros(times.shape, dtype=np.int64)
    for end in cycles.end_s.T:
        which += end[:, None] <= times
    now, _ = grid.integrals(times, weights)
    base = beds.crest_m3[:, None] - cycles.need_m3 - cycles.totals[..., 0]
    volume = now + base.ravel()[which]
    primed = cycles.prime_s.ravel()[which] <= times
    over = (cycles.crest_s.ravel()[which] <= times) & ~primed
    stages = (
        (over, cycles.crest_s, cycles.rim, cycles.rim_from_m3 - cycles.totals[..., 1]),
        (primed, cycles.prime_s, cycles.drain, cycles.drain_from_m3 - cycles.totals[..., 2]),
    )
    for here, begin_s, passages, start in stages:
        cells = which[here]
        share = (times[here] - begin_s.ravel()[cells]) / passages.length_s.ravel()[cells]
        given = polynomial(given_terms(passages).reshape(5, -1)[:, cells], share)
        volume[here] = start.ravel()[cells] + now[here] - given
    return volume.T, primed.T
