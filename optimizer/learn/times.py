"""Fill and drain times and the prime level, for many sets of coefficients and readings at once.

They are the formulas of :class:`optimizer.physics.bed.SiphonBed` over arrays; a test holds both
against each other. Rows are sets of coefficients, columns are readings.
"""

from __future__ import annotations

import numpy as np

from optimizer.learn.cases import Cases
from optimizer.physics.arrays import Array
from optimizer.physics.siphon import ORIFICE_START
from optimizer.simulate.day.cycle_arrays import weir_integral

NEAREST = 1e-6
"""Least share by which the inflow stays clear of a flow at which a time becomes infinite."""


def rim_head_m(flow: Array, cases: Cases) -> Array:
    """Return the head over the rim at a flow over it, in metres."""
    weir = (flow / cases.weir) ** (2.0 / 3.0)
    drowned = ORIFICE_START * _mouth_m(cases)
    return np.where(weir > drowned, (flow / cases.orifice) ** 2, weir)


def _mouth_m(cases: Cases) -> Array:
    return np.asarray(cases.orifice / cases.weir / ORIFICE_START)


def fill_s(inflow: Array, start_flow: Array, porosity: Array, cases: Cases) -> Array:
    """Return the time from drain level to prime level, in s.

    Args:
        inflow: m3/s.
        start_flow: rim flow at which the siphon primes, below the inflow.
        porosity: drainable share.
        cases: the readings' beds.
    """
    store = porosity * cases.area_m2
    rise = store * (cases.crest_m - cases.drain_m) / inflow
    turn_flow = cases.weir * (ORIFICE_START * _mouth_m(cases)) ** 1.5
    end = np.minimum(start_flow, turn_flow)
    below_one = -np.expm1(np.log(np.minimum(end / inflow, 1.0 - NEAREST)) / 3.0)
    lead = 2.0 * store * cases.weir ** (-2.0 / 3.0) * inflow ** (-1.0 / 3.0)
    over_weir = lead * weir_integral(1.0 - below_one, below_one)
    span = np.maximum(start_flow - turn_flow, 0.0)
    gap = np.maximum(inflow - start_flow, NEAREST * inflow)
    drowned = 2.0 * store / cases.orifice**2 * (inflow * np.log1p(span / gap) - span)
    return np.asarray(rise + over_weir + drowned)


def drain_s(
    inflow: Array, start_flow: Array, porosity: Array, loss_coefficient: Array, cases: Cases
) -> Array:
    """Return the time from prime level to drain level with the inflow running, in s.

    Args:
        inflow: m3/s.
        start_flow: rim flow at which the siphon primed.
        porosity: drainable share.
        loss_coefficient: K.
        cases: the readings' beds.
    """
    prime = cases.crest_m + rim_head_m(start_flow, cases)
    scale = cases.siphon / np.sqrt(loss_coefficient)
    low = scale * np.sqrt(cases.drain_m - cases.outlet_m)
    high = scale * np.sqrt(prime - cases.outlet_m)
    span = high - low
    gap = np.maximum(low - inflow, NEAREST * low)
    lead = 2.0 * porosity * cases.area_m2 / scale**2
    return np.asarray(lead * (span + inflow * np.log1p(span / gap)))
