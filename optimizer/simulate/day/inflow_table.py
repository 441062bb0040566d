"""Inflow of every bed against the sump level, as a few shared functions of the level.

Inflows depend on the sump level alone, and hardly differ in shape: over the range of levels the
matrix of inflows (beds by levels) has a numerical rank of 2 to 4. Its singular vectors give shared
functions phi_k(level), and each bed's inflow is a weighted sum of them. So whatever is integrated
over time is integrated once for all beds.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from scipy.interpolate import CubicSpline

from optimizer.physics.arrays import Array
from optimizer.records.design import Design
from optimizer.simulate.operating_point import OperatingPoint, operating_point
from optimizer.simulate.plant_findings import pump_watts

TABLE_ERROR_SHARE = 1e-8
"""Error of an inflow, over the greatest inflow, at which a table is fine enough."""

_RANK_SHARE = 1e-11
"""Singular values below this share of the greatest are left out."""

_LEVELS = (5, 9, 17, 33, 65, 129)
_LEAST_SPAN_M = 0.02


@dataclass(frozen=True, eq=False)
class InflowTable:
    """Inflows and pump watts against the sump level.

    Attributes:
        levels_m: tabulated levels above the sump's floor, equally spaced.
        weights: share of each basis function in each bed's inflow, (beds, rank).
        basis: basis functions at the levels, (levels, rank), m3/s.
        watts: pump watts at the levels.
        error_share: greatest error measured half way between levels, over the greatest inflow.
    """

    levels_m: Array
    weights: Array
    basis: Array
    watts: Array
    error_share: float

    @cached_property
    def _spline(self) -> CubicSpline:
        return CubicSpline(self.levels_m, self.basis)

    @cached_property
    def _watts(self) -> CubicSpline:
        return CubicSpline(self.levels_m, self.watts)

    def basis_at(self, level_m: Array) -> Array:
        """Return the basis functions at levels: shape of the levels, then rank."""
        return np.asarray(self._spline(level_m))

    def inflows_m3_s(self, level_m: float) -> Array:
        """Return the inflow of every bed at one level."""
        return np.asarray(self.weights @ self._spline(level_m))

    def watts_at(self, level_m: Array) -> Array:
        """Return the pump's watts at levels."""
        return np.asarray(self._watts(level_m))

    @cached_property
    def range_m3_s(self) -> tuple[Array, Array]:
        """Least and greatest inflow of every bed at the tabulated levels."""
        flows = self.basis @ self.weights.T
        return flows.min(axis=0), flows.max(axis=0)


def inflow_table(
    design: Design,
    valve_losses: Mapping[str, float],
    low_m: float,
    high_m: float,
    error_share: float = TABLE_ERROR_SHARE,
) -> InflowTable:
    """Return the table of a design with given valves over a range of sump levels.

    Levels are halved until cubic splines through them miss the operating point half way between
    by less than ``error_share`` of the greatest inflow, or 129 levels are reached (a corner
    of the pump's curve inside the range); the error met is kept.

    Args:
        design: the design.
        valve_losses: bed id to the valve's K; a bed left out has its valve shut.
        low_m: lowest level above the sump's floor.
        high_m: highest level.
        error_share: error that is small enough.

    Raises:
        NotSolved: if an operating point was not found.
    """
    if high_m - low_m < _LEAST_SPAN_M:
        middle = (low_m + high_m) / 2.0
        low_m, high_m = middle - _LEAST_SPAN_M / 2.0, middle + _LEAST_SPAN_M / 2.0
    opened = _without_shut(design, valve_losses)
    levels = np.linspace(low_m, high_m, _LEVELS[0])
    rows = _rows(design, opened, valve_losses, levels)
    for count in _LEVELS[1:]:
        halves = _rows(design, opened, valve_losses, (levels[1:] + levels[:-1]) / 2.0)
        error = _spline_error(levels, rows, halves)
        levels, rows = np.linspace(low_m, high_m, count), _between(rows, halves)
        if error <= error_share:
            break
    return _reduced(levels, rows, error)


def _without_shut(design: Design, valve_losses: Mapping[str, float]) -> Design:
    """Return the design without the beds whose valve is shut, nor their drops."""
    shut = {bed.drop for bed in design.beds if bed.id not in valve_losses}
    if not shut:
        return design
    beds = tuple(bed for bed in design.beds if bed.id in valve_losses)
    stretches = tuple(each for each in design.stretches if each.id not in shut)
    return replace(design, beds=beds, stretches=stretches)


def _rows(
    design: Design, opened: Design, valve_losses: Mapping[str, float], levels: Array
) -> Array:
    """Return one row for each level: every bed's inflow (0 where shut), then the watts."""
    if not opened.beds:
        return np.array([[0.0] * len(design.beds) + [pump_watts(design, 0.0)]] * levels.size)
    point, rows = None, []
    for level_m in levels.tolist():
        point = operating_point(opened, valve_losses, level_m, near=point)
        rows.append(_row(design, point, valve_losses))
    return np.array(rows)


def _row(design: Design, point: OperatingPoint, valve_losses: Mapping[str, float]) -> list[float]:
    flows = [
        max(0.0, point.flows_m3_s[bed.drop]) if bed.id in valve_losses else 0.0
        for bed in design.beds
    ]
    return [*flows, pump_watts(design, point.pump_flow_m3_s)]


def _spline_error(levels: Array, rows: Array, halves: Array) -> float:
    spline = CubicSpline(levels, rows[:, :-1])
    missed = np.abs(spline((levels[1:] + levels[:-1]) / 2.0) - halves[:, :-1])
    greatest = float(np.max(rows[:, :-1]))
    return float(np.max(missed)) / greatest if greatest > 0.0 else 0.0


def _between(rows: Array, halves: Array) -> Array:
    both = np.empty((rows.shape[0] + halves.shape[0], rows.shape[1]))
    both[0::2], both[1::2] = rows, halves
    return both


def _reduced(levels: Array, rows: Array, error: float) -> InflowTable:
    flows, watts = rows[:, :-1], rows[:, -1]
    left, sizes, right = np.linalg.svd(flows, full_matrices=False)
    rank = max(1, int(np.sum(sizes > _RANK_SHARE * sizes[0])))
    basis = left[:, :rank] * sizes[:rank]
    weights = right[:rank].T.copy()
    weights[~np.any(flows > 0.0, axis=0)] = 0.0
    return InflowTable(levels, weights, basis, watts, error)
