"""Every cycle of every bed in a window of time, corrected all together until nothing moves.

A sweep takes the sump level as known, corrects every event's time, and from the water that then
comes back works out the sump level anew. Given the level, a fill ends where the integral of the
inflow has grown by the bed's volume: one Newton step a sweep, the bed's own earlier shift carried
on by the ratio of inflows. Rim passages and drainings follow their closed forms. As level and
inflow hardly depend on each other, sweeps converge fast.
"""

from __future__ import annotations

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.simulate.day.bed_arrays import BedArrays, Flags
from optimizer.simulate.day.initial import cycle_parts_s
from optimizer.simulate.day.level_grid import LevelGrid
from optimizer.simulate.day.passages import (
    DRAIN_NODES,
    RIM_NODES,
    Passages,
    drain_passages,
    rim_passages,
)


class Cycles:
    """Cycles of every bed, (beds, cycles): filling, passing the rim, draining.

    Attributes:
        begin_s: beginning of filling; a cycle begins where the last one ended.
        crest_s: water at the rim.
        prime_s: siphon primes.
        end_s: siphon breaks.
        need_m3: water to fill in up to the rim.
        rim_from_m3: volume at ``crest_s``.
        drain_from_m3: volume at ``prime_s``.
        rim: rim passages.
        drain: drainings.
        totals: integral of the inflow up to each of the four times, (beds, cycles, 4).
        begin_total: that integral at the beginning of the first cycle, (beds,).
    """

    begin_s: Array
    crest_s: Array
    prime_s: Array
    end_s: Array
    need_m3: Array
    rim_from_m3: Array
    drain_from_m3: Array
    rim: Passages
    drain: Passages
    totals: Array
    begin_total: Array

    def __init__(
        self,
        begin_s: Array,
        volume_m3: Array,
        primed: Flags,
        inflow: Array,
        beds: BedArrays,
        until_s: float,
    ) -> None:
        """Lay out cycles at a steady inflow.

        Args:
            begin_s: beginning of each bed's first cycle.
            volume_m3: its volume then.
            primed: whether it is primed then.
            inflow: steady inflow.
            beds: beds.
            until_s: time that every bed's last cycle has to reach.
        """
        self.beds = beds.deeper()
        fill, prime, drain = cycle_parts_s(inflow, beds)
        whole = fill + prime + drain
        count = int(np.ceil(np.max((until_s - begin_s) / whole))) + 2
        shape = (len(beds), count)
        self.need_m3 = np.repeat(beds.crest_m3[:, None], count, axis=1)
        self.rim_from_m3 = self.need_m3.copy()
        self.drain_from_m3 = np.repeat(beds.prime_m3[:, None], count, axis=1)
        self.need_m3[:, 0] = np.where(primed, 0.0, np.maximum(beds.crest_m3 - volume_m3, 0.0))
        self.rim_from_m3[:, 0] = np.where(
            primed, beds.prime_m3, np.maximum(beds.crest_m3, volume_m3)
        )
        self.drain_from_m3[:, 0] = np.where(primed, volume_m3, beds.prime_m3)
        self.first_m3 = volume_m3
        self.mean_rim = np.repeat(inflow[:, None], count, axis=1)
        self.mean_drain = self.mean_rim.copy()
        none = np.zeros(shape)
        self.rim = rim_passages(self.rim_from_m3, self.mean_rim, none[..., None], self.beds)
        self.drain = drain_passages(self.drain_from_m3, self.mean_drain, none[..., None], self.beds)
        self.begin_s, self.crest_s = none.copy(), none.copy()
        self.prime_s, self.end_s = none.copy(), none.copy()
        self.begin_s[:, 0] = begin_s
        ratio = np.ones(shape)
        self._chain(self.need_m3 / inflow[:, None], ratio)

    def _chain(self, fill: Array, ratio: Array) -> float:
        """Set the times one cycle after another; return the greatest move.

        Args:
            fill: time of filling, were the beginning where it was.
            ratio: how far a fill's end moves with its beginning.
        """
        before = self.end_s.copy()
        begin, moved = self.begin_s[:, 0], np.zeros(self.begin_s.shape[0])
        passing, draining = self.rim.length_s, self.drain.length_s
        for k in range(self.begin_s.shape[1]):
            old = self.begin_s[:, k]
            moved = begin - old
            self.crest_s[:, k] = old + fill[:, k] + ratio[:, k] * moved
            self.begin_s[:, k] = begin
            self.prime_s[:, k] = self.crest_s[:, k] + passing[:, k]
            begin = self.end_s[:, k] = self.prime_s[:, k] + draining[:, k]
        return float(np.max(np.abs(self.end_s - before)))

    def correct(self, grid: LevelGrid, weights: Array) -> float:
        """Correct every time for the sump level of a grid; return the greatest move in seconds."""
        n, k = self.begin_s.shape
        times = np.empty((n, k, 4 + RIM_NODES + DRAIN_NODES))
        times[..., 0], times[..., 1] = self.begin_s, self.crest_s
        times[..., 2], times[..., 3] = self.prime_s, self.end_s
        times[..., 4 : 4 + RIM_NODES] = self.crest_s[..., None] + self.rim.nodes_s
        times[..., 4 + RIM_NODES :] = self.prime_s[..., None] + self.drain.nodes_s
        total, flow = grid.integrals(times.reshape(n, -1), weights)
        total, flow = total.reshape(times.shape), flow.reshape(times.shape)
        self.totals, self.begin_total = total[..., :4], total[:, 0, 0]
        lack = self.need_m3 - (total[..., 1] - total[..., 0])
        fill = self.crest_s - self.begin_s + lack / flow[..., 1]
        self._pass(total, flow)
        return self._chain(fill, flow[..., 0] / flow[..., 1])

    def _pass(self, total: Array, flow: Array) -> None:
        """Work out rim passages and drainings for the inflow they meet."""
        rim, drain = total[..., 4 : 4 + RIM_NODES], total[..., 4 + RIM_NODES :]
        self.mean_rim = _mean(total[..., 2] - total[..., 1], self.rim.length_s, flow[..., 1])
        self.mean_drain = _mean(total[..., 3] - total[..., 2], self.drain.length_s, flow[..., 2])
        strays = rim - total[..., 1, None] - self.mean_rim[..., None] * self.rim.nodes_s
        self.rim = rim_passages(self.rim_from_m3, self.mean_rim, strays, self.beds)
        strays = drain - total[..., 2, None] - self.mean_drain[..., None] * self.drain.nodes_s
        self.drain = drain_passages(self.drain_from_m3, self.mean_drain, strays, self.beds)


def _mean(total: Array, length: Array, instead: Array) -> Array:
    some = length > 0.0
    return np.where(some, total / np.where(some, length, 1.0), instead)
