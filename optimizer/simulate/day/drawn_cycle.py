"""How long a flood cycle takes, for many draws of one siphon's coefficients at once."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.physics.bed import SiphonBed
from optimizer.simulate.day.bed_arrays import BedArrays, bed_arrays
from optimizer.simulate.day.cycle_arrays import drain_time_s, rim_time_s


def drawn_cycle_s(
    siphon: SiphonBed, inflow_m3_s: Array, start: Array, loss: Array, store: Array
) -> Array:
    """Return the time from flood to flood, draw by draw; infinite where a bed does not start.

    It is :meth:`optimizer.physics.bed.SiphonBed.cycle_s` with three coefficients drawn.

    Args:
        siphon: the siphon with its nominal coefficients.
        inflow_m3_s: inflow in each draw, above 0.
        start: start Froude number over its nominal value.
        loss: loss coefficient over its nominal value.
        store: porosity over its nominal value.

    Returns:
        Seconds; infinite too from the discharge at the drain level on, where it never breaks.
    """
    starts = siphon.start_flow_m3_s * start
    slots = siphon.greatest_inflow_m3_s / np.sqrt(loss)
    times = np.full(inflow_m3_s.shape, np.inf)
    works = (inflow_m3_s > starts) & (inflow_m3_s < slots)
    if works.any():
        beds = _drawn(siphon, store[works], loss[works])
        times[works] = _cycle_s(siphon, beds, inflow_m3_s[works], starts[works], slots[works])
    return times


def _drawn(siphon: SiphonBed, store: Array, loss: Array) -> BedArrays:
    one = bed_arrays([siphon])
    return replace(
        one, store_m2=one.store_m2 * store, siphon_scale=one.siphon_scale / np.sqrt(loss)
    )


def _cycle_s(
    siphon: SiphonBed, beds: BedArrays, inflow: Array, starts: Array, slots: Array
) -> Array:
    weir_head = (starts / beds.weir_scale) ** (2.0 / 3.0)
    drowned = weir_head > beds.drowned_m
    head = np.where(drowned, (starts / beds.orifice_scale) ** 2, weir_head)
    rise = beds.store_m2 * (siphon.crest_level_m - siphon.drain_level_m) / inflow
    rim = rim_time_s(inflow, np.minimum(weir_head, beds.drowned_m), beds)
    span = np.where(drowned, starts - beds.orifice_scale * np.sqrt(beds.drowned_m), 0.0)
    late = 2.0 * beds.store_m2 / beds.orifice_scale**2
    late = late * (inflow * np.log1p(span / (inflow - starts)) - span)
    above = siphon.crest_level_m + head - siphon.outlet_level_m
    high = beds.siphon_scale * np.sqrt(above)
    return np.asarray(rise + rim + late + drain_time_s(inflow, high, slots, beds))
