"""How much water the beds hold: one at a random moment of its cycle, and many at once.

Held water counts from the drain level. One bed's time below a level has a closed form. The sum over
beds of independent, uniform phases is found by convolution on a grid, bracketed from both sides:
every bed's volume is rounded down to the grid, which takes less than one step from each bed, so
that with D the sum of the rounded volumes, N beds and a step s, the held volume lies from D up to
D + N s. Rounding errors of the Fourier transforms are bounded and widen the chances asked for.

Independence is an assumption: beds started together stay in step for hours, so a quantile holds
only for a staggered start that simulation shows to last.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from optimizer.physics.arrays import Array, FloatOrArray, like
from optimizer.physics.bed import SiphonBed
from optimizer.physics.chance_sum import sum_of_independent
from optimizer.physics.siphon import ORIFICE_START, rim_flow

Kind = tuple[SiphonBed, float, int]
"""A bed, its inflow in m3/s, and how many there are alike."""

RESOLUTION = 1e-3
"""Width of the bracket around the held volume, as a share of all beds full at once."""

_SHARE_ERROR = 1e-14
"""Rounding error allowed in one bed's own share of time, some 50 rounded operations."""


def _check_cycles(bed: SiphonBed, inflow: float) -> None:
    if not bed.floods_per_hour(inflow) > 0.0:
        raise ValueError(f"held volume is for a bed that cycles; it does not at {inflow:.4g} m3/s")


def _priming_s(bed: SiphonBed, inflow: float, head_m: float) -> float:
    """Return the time from the crest to a head over it, part of the inflow running over the rim."""
    flow = rim_flow(head_m, bed.mouth_m, bed.rim_discharge)
    return bed.over_rim_s(inflow, min(flow, bed.start_flow_m3_s))


def _rising_s(bed: SiphonBed, inflow: float, rise_m: Array) -> Array:
    """Return the time from the drain level up to a level: at constant inflow, then priming."""
    to_crest = bed.crest_level_m - bed.drain_level_m
    time = np.ravel(np.minimum(rise_m, to_crest) * bed.store_m2 / inflow)
    over = np.ravel(rise_m) - to_crest
    time[over > 0.0] += [_priming_s(bed, inflow, head) for head in over[over > 0.0]]
    return time.reshape(rise_m.shape)


def _draining_s(bed: SiphonBed, inflow: float, rise_m: Array) -> Array:
    """Return the time from a level down to the drain level: ``drain_time_s`` over an array."""
    low, drop = bed.greatest_inflow_m3_s, bed.drain_level_m - bed.outlet_level_m
    scale = 2.0 * bed.store_m2 * drop / low**2
    span = low * (np.sqrt(1.0 + rise_m / drop) - 1.0)
    return np.asarray(scale * (span + inflow * np.log1p(span / (low - inflow))))


def share_of_time_below(
    volume_m3: FloatOrArray, bed: SiphonBed, inflow_m3_s: float
) -> FloatOrArray:
    """Return the share of its time in which a bed holds at most a given volume.

    The distribution function of its held volume at a uniformly random phase: time rising below the
    level (at constant inflow, then priming) and time draining below it, over the cycle time.

    Args:
        volume_m3: water above the drain level; a number or an array.
        bed: the bed.
        inflow_m3_s: its inflow, above the start flow and up to the stop flow.

    Returns:
        0 at 0 m3 and below, rising to 1 at ``bed.held_m3`` and above.

    Raises:
        ValueError: for an inflow at which the bed does not cycle.
    """
    _check_cycles(bed, inflow_m3_s)
    volume = np.asarray(volume_m3, dtype=np.float64)
    rise = np.clip(volume, 0.0, bed.held_m3) / bed.store_m2
    time = _rising_s(bed, inflow_m3_s, rise) + _draining_s(bed, inflow_m3_s, rise)
    share = np.minimum(time / bed.cycle_s(inflow_m3_s), 1.0)
    return like(volume_m3, np.where(volume >= bed.held_m3, 1.0, share))


def mean_held_m3(bed: SiphonBed, inflow_m3_s: float) -> float:
    """Return the mean of what a bed holds over its cycle, by quadrature of its distribution.

    Args:
        bed: the bed.
        inflow_m3_s: its inflow, above the start flow and up to the stop flow.

    Raises:
        ValueError: for an inflow at which the bed does not cycle.
    """
    from scipy.integrate import quad  # noqa: PLC0415  # slow to import, and seldom asked for

    rim = bed.store_m2 * (bed.crest_level_m - bed.drain_level_m)
    drowned = rim + bed.store_m2 * ORIFICE_START * bed.mouth_m
    kinks = [volume for volume in (rim, drowned) if volume < bed.held_m3]
    below, _ = quad(
        lambda volume: share_of_time_below(volume, bed, inflow_m3_s),
        0.0,
        bed.held_m3,
        points=kinks,
        epsrel=1e-10,
    )
    return bed.held_m3 - float(below)


@dataclass(frozen=True)
class HeldQuantile:
    """A volume that the beds together hold at most for a stated share of the time.

    Attributes:
        value_m3: upper end of the bracket, the safe side for a sump's lowest level.
        error_bound_m3: width of the bracket; the quantile is at least ``least_m3``.
        worst_m3: all beds full at once.
        mean_m3: mean over time.
    """

    value_m3: float
    error_bound_m3: float
    worst_m3: float
    mean_m3: float

    @property
    def least_m3(self) -> float:
        """Lower end of the bracket, the safe side for a sump's highest level while running."""
        return self.value_m3 - self.error_bound_m3


@dataclass(frozen=True, eq=False)
class HeldDistribution:
    """Distribution of what all beds hold together, with its bounds.

    Attributes:
        step_m3: step of the grid.
        beds: number of beds.
        worst_m3: all beds full at once.
        mean_m3: mean over time.
        chance_error: bound on the rounding error of every one of ``chances``.
        chances: chance that the volumes, each rounded down to the grid, add up to at most 0, 1, 2
            ... steps.
    """

    step_m3: float
    beds: int
    worst_m3: float
    mean_m3: float
    chance_error: float
    chances: Array = field(repr=False)

    def _chances_at(self, steps: Array) -> Array:
        inside = np.clip(steps, 0, len(self.chances) - 1).astype(np.int64)
        return np.where(steps < 0, 0.0, self.chances[inside])

    def chance_at_most(self, volume_m3: Array) -> tuple[Array, Array]:
        """Return bounds on the chance that the beds hold at most each volume: the whole curve.

        Args:
            volume_m3: volumes, an array.

        Returns:
            The least and the greatest chance, each as an array; 0 and 1 outside 0 to ``worst_m3``.
        """
        steps = np.floor(np.asarray(volume_m3, dtype=np.float64) / self.step_m3)
        low = np.clip(self._chances_at(steps - self.beds) - self.chance_error, 0.0, 1.0)
        high = np.clip(self._chances_at(steps) + self.chance_error, 0.0, 1.0)
        full, none = volume_m3 >= self.worst_m3, volume_m3 < 0.0
        return np.where(full, 1.0, low), np.where(full, 1.0, np.where(none, 0.0, high))

    def _steps_for(self, chance: float) -> float:
        """Return the least number of steps whose chance is reached; infinite where none is."""
        steps = int(np.searchsorted(self.chances, chance))
        return steps if steps < len(self.chances) else math.inf

    def quantile(self, confidence: float) -> HeldQuantile:
        """Return the volume held at most for a share of the time.

        Args:
            confidence: share of time, above 0 and up to 1; at 1 all beds full at once.

        Raises:
            ValueError: for a confidence outside its limits.
        """
        if not 0.0 < confidence <= 1.0:
            raise ValueError(f"a confidence must lie above 0 and up to 1, not {confidence}")
        if confidence == 1.0:
            return HeldQuantile(self.worst_m3, 0.0, self.worst_m3, self.mean_m3)
        above = self._steps_for(confidence + self.chance_error) + self.beds
        below = self._steps_for(confidence - self.chance_error)
        high = min(above * self.step_m3, self.worst_m3)
        low = min(below * self.step_m3, high)
        return HeldQuantile(high, high - low, self.worst_m3, self.mean_m3)


def held_distribution(kinds: Sequence[Kind], resolution: float = RESOLUTION) -> HeldDistribution:
    """Return the distribution of what all beds hold together at a random moment.

    Time and memory grow with beds over resolution, and time with the number of kinds: put beds
    that are alike into one kind.

    Args:
        kinds: beds, inflows and how many of each, at least one; phases independent and uniform.
        resolution: width of the bracket over all beds full at once, above 0 and up to 1.

    Raises:
        ValueError: for no kinds, a count below 1, a resolution outside its limits, or an inflow at
            which a bed does not cycle.
    """
    if not kinds or min(count for _, _, count in kinds) < 1:
        raise ValueError("a held volume needs at least one bed of every kind")
    if not 0.0 < resolution <= 1.0:
        raise ValueError(f"a resolution must lie above 0 and up to 1, not {resolution}")
    counts = [count for _, _, count in kinds]
    worst = math.fsum(count * bed.held_m3 for bed, _, count in kinds)
    mean = math.fsum(count * mean_held_m3(bed, inflow) for bed, inflow, count in kinds)
    step = resolution * worst / sum(counts)
    chances = [_rounded_down(bed, inflow, step) for bed, inflow, _ in kinds]
    summed, error = sum_of_independent(chances, counts)
    error += sum(counts) * _SHARE_ERROR
    return HeldDistribution(step, sum(counts), worst, mean, error, summed)


def _rounded_down(bed: SiphonBed, inflow: float, step_m3: float) -> Array:
    """Return the chances of 0, 1, 2 ... steps of one bed's volume rounded down."""
    steps = math.ceil(bed.held_m3 / step_m3)
    edges = step_m3 * np.arange(steps + 1, dtype=np.float64)
    below: Array = share_of_time_below(np.asarray(edges, dtype=np.float64), bed, inflow)
    return np.diff(below)


def held_quantile_m3(
    kinds: Sequence[Kind], confidence: float, resolution: float = RESOLUTION
) -> HeldQuantile:
    """Return the volume that all beds together hold at most for a share of the time.

    Args:
        kinds: beds, inflows and how many of each, at least one; phases independent and uniform.
        confidence: share of time, above 0 and up to 1.
        resolution: width of the bracket over all beds full at once, above 0 and up to 1.

    Raises:
        ValueError: as :func:`held_distribution`, and for a confidence outside its limits.
    """
    return held_distribution(kinds, resolution).quantile(confidence)
