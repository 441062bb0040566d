"""How often independent siphons bring a return stretch more than it carries.

Pipe for binomial bursts may be exceeded, but only for the share of time that the design's
confidence leaves. A single day says little of that: beds of nearly equal inflow keep for days the
distance with which they began. So moments are drawn instead, each bed at a random point of its
cycle. Whether beds stay independent is asked elsewhere
(:mod:`optimizer.simulate.day.first_start`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.records.check import Finding
from optimizer.simulate.day.drainings import beds_through
from optimizer.simulate.day.initial import cycle_parts_s, working
from optimizer.simulate.day.plant import Plant
from optimizer.simulate.findings import at_most
from optimizer.simulate.tolerances import SAMPLING_ERRORS

MOMENTS = 20_000
"""Moments drawn: at 1 % of the time a share is told to 0.07 %."""


def chance_findings(plant: Plant) -> Iterator[Finding]:
    """Yield for each return stretch the share of time in which more flows than it carries.

    A sampled share may pass the share promised by three of the standard errors that draws of just
    that share have.

    Args:
        plant: a plant whose return pipe is sized for bursts taken as independent.
    """
    design = plant.design
    most, discharges = 1.0 - design.promise.confidence, drawn_discharges_m3_s(plant)
    allowed = SAMPLING_ERRORS * math.sqrt(most * (1.0 - most) / MOMENTS)
    through = beds_through(design)
    for drain in design.drains:
        flow = discharges[:, through[drain.id]].sum(axis=1)
        above = float(np.mean(flow > drain.capacity_m3_s))
        words = "share of time in which siphons that are independent bring more than it carries"
        yield at_most(drain.id, words, most, above, "share", share=allowed / most)


def drawn_discharges_m3_s(plant: Plant, moments: int = MOMENTS, seed: int = 0) -> Array:
    """Return every bed's discharge at moments drawn at random, (moments, beds), in m3/s.

    While a bed drains its discharge is taken as falling in a straight line, which lies above the
    true one. A bed that does not work drains never where its siphon does not start, else always.

    Args:
        plant: the plant.
        moments: how many.
        seed: of the draw.
    """
    beds, inflow = plant.beds, plant.setting_inflows_m3_s()
    mine, high = working(beds, inflow), beds.siphon_m3_s(beds.prime_m3)
    stuck = np.where(inflow > beds.start_m3_s, high, 0.0)
    discharges = np.broadcast_to(stuck, (moments, inflow.size)).copy()
    some = beds.take(mine)
    fill, prime, drain = cycle_parts_s(inflow[mine], some)
    since = np.random.default_rng(seed).random((moments, mine.size)) * (fill + prime + drain)
    falling = high[mine] + (some.slots_m3_s - high[mine]) * since / drain
    discharges[:, mine] = np.where(since < drain, falling, 0.0)
    return discharges
