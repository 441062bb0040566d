"""How often independent siphons bring more, or hold more, than a design allows for.

Pipe for binomial bursts, and a sump for a quantile of the water held, may be exceeded, but only for
the share of time that the design's confidence leaves. A single day says little of that: beds of
nearly equal inflow keep for days the distance with which they began. So moments are drawn instead,
each bed at a random point of its cycle. Whether beds stay independent is asked elsewhere
(:mod:`optimizer.simulate.day.staggered`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.records.check import Finding
from optimizer.simulate.day.bed_arrays import Flags
from optimizer.simulate.day.drainings import beds_through
from optimizer.simulate.day.initial import at_phases, working
from optimizer.simulate.day.plant import Plant
from optimizer.simulate.findings import at_most
from optimizer.simulate.sump_levels import sump_levels
from optimizer.simulate.tolerances import SAMPLING_ERRORS

MOMENTS_MOST = 10_000
MOMENTS_FEWEST = 1_000
DRAWN_FIGURES = 1_000_000
"""Moments times beds of one check."""


@dataclass(frozen=True, eq=False)
class Moments:
    """Random moments of beds that are independent, (moments, beds).

    Attributes:
        volumes_m3: water above the slots.
        discharges_m3_s: what each siphon gives; 0 while it does not drain.
    """

    volumes_m3: Array
    discharges_m3_s: Array


def moments_for(beds: int) -> int:
    """Return how many moments are drawn: more for fewer beds."""
    return max(MOMENTS_FEWEST, min(MOMENTS_MOST, DRAWN_FIGURES // max(1, beds)))


def drawn_moments(plant: Plant, moments: int, seed: int = 0) -> Moments:
    """Return moments at which every bed is at a random point of its cycle.

    A bed that does not work stands at its rim, and drains where its siphon starts.

    Args:
        plant: the plant.
        moments: how many.
        seed: of the draw.
    """
    beds, inflow = plant.beds, plant.setting_inflows_m3_s()
    shape = (moments, inflow.size)
    volumes = np.broadcast_to(beds.crest_m3, shape).copy()
    draining: Flags = np.broadcast_to(inflow > beds.start_m3_s, shape).copy()
    mine = working(beds, inflow)
    phases = np.random.default_rng(seed).random((moments, mine.size))
    volumes[:, mine], draining[:, mine] = at_phases(beds.take(mine), inflow[mine], phases)
    return Moments(volumes, np.where(draining, beds.siphon_m3_s(volumes), 0.0))


def chance_findings(plant: Plant) -> Iterator[Finding]:
    """Yield the shares of time in which more is brought or held than allowed for.

    A sampled share may pass the share promised by three of the standard errors that draws of just
    that share have.

    Args:
        plant: a plant whose return pipe or sump takes siphons for independent.
    """
    design = plant.design
    drawn = drawn_moments(plant, moments_for(len(design.beds)))
    if design.promise.bursts == "binomial":
        through = beds_through(design)
        for drain in design.drains:
            flows = drawn.discharges_m3_s[:, through[drain.id]].sum(axis=1)
            words = "share of time in which independent siphons bring more than it carries"
            yield _seldom(plant, drain.id, words, flows > drain.capacity_m3_s)
    if design.promise.held == "quantile":
        held = drawn.volumes_m3.sum(axis=1) + design.sump.lost_m3
        levels = sump_levels(design).highest_m - held / (design.sump.area_m2 * design.sump.count)
        words = "share of time in which independent beds leave it less deep than it must stand"
        yield _seldom(plant, design.pump.id, words, levels < design.pump.submergence_m)


def _seldom(plant: Plant, subject: str, words: str, happens: Flags) -> Finding:
    most = 1.0 - plant.design.promise.confidence
    allowed = SAMPLING_ERRORS * math.sqrt(most * (1.0 - most) / happens.size)
    share = allowed / most if most > 0.0 else 0.0
    return at_most(subject, words, most, float(happens.mean()), "share", share=share)
