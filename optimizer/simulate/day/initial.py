"""How every bed stands when a run begins."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.simulate.day.bed_arrays import BedArrays, Flags, Indices
from optimizer.simulate.day.cycle_arrays import drain_time_s, rim_time_s
from optimizer.simulate.day.plant import Plant
from optimizer.simulate.day.scenario import Scenario
from optimizer.simulate.day.segment import Mode, State

_HALVINGS = 60


def initial_state(plant: Plant, scenario: Scenario) -> State:
    """Return the beds as the scenario says they stand at the start.

    Phases count from the last break, at the inflow that the valve was set to. A bed that does not
    work at that inflow, or whose rim is drowned before its siphon starts, is filled up to its
    phase's share of the crest instead.

    Args:
        plant: the plant.
        scenario: the scenario.
    """
    count = len(plant.beds)
    nothing = np.zeros(count, dtype=bool)
    if scenario.start in ("dry", "drained"):
        volume = -plant.beds.dead_m3 if scenario.start == "dry" else np.zeros(count)
        return State(volume, np.full(count, Mode.FILLING, dtype=np.int8), nothing)
    return _state(plant, _phases(plant, scenario))


def _phases(plant: Plant, scenario: Scenario) -> Array:
    if scenario.start == "random":
        return np.random.default_rng([scenario.seed, 1]).random(len(plant.beds))
    if scenario.start == "steady":
        return even_phases(plant)
    return np.array(scenario.start, dtype=np.float64)


def even_phases(plant: Plant) -> Array:
    """Return phases that spread the beds of every kind evenly over their cycle."""
    phases = np.zeros(len(plant.beds))
    for kind in plant.design.kinds:
        mine = [i for i, bed in enumerate(plant.design.beds) if bed.kind == kind.id]
        phases[mine] = np.arange(len(mine)) / max(1, len(mine))
    return phases


def working(beds: BedArrays, inflow: Array) -> Indices:
    """Return the beds that start and stop at steady inflows, their rims never drowned."""
    works = (inflow > beds.start_m3_s) & (inflow <= beds.stop_m3_s) & (inflow < beds.slots_m3_s)
    return np.flatnonzero(works & beds.weir_only)


def _state(plant: Plant, phases: Array) -> State:
    volume, inflow = phases * plant.beds.crest_m3, plant.setting_inflows_m3_s()
    mode = np.full(phases.size, Mode.FILLING, dtype=np.int8)
    mine = working(plant.beds, inflow)
    volume[mine], draining = at_phases(plant.beds.take(mine), inflow[mine], phases[mine])
    mode[mine[draining]] = Mode.DRAINING
    return State(volume, mode, np.zeros(phases.size, dtype=bool))


def at_phases(beds: BedArrays, inflow: Array, phases: Array) -> tuple[Array, Flags]:
    """Return the volumes of working beds at phases, and which of them drain.

    Args:
        beds: beds that all work at their inflow.
        inflow: of each bed, steady, m3/s.
        phases: shares of the cycle since the last break, (..., beds).
    """
    fill, prime, drain = cycle_parts_s(inflow, beds)
    at = phases * (fill + prime + drain)
    over = _between(beds.crest_m3, beds.prime_m3, at - fill, _rim_clock(inflow, beds))
    left = fill + prime + drain - at
    sinking = _between(np.zeros(len(beds)), beds.prime_m3, left, _drain_clock(inflow, beds))
    draining = at >= fill + prime
    filling = np.where(at < fill, inflow * at, over)
    return np.where(draining, sinking, filling), draining


def cycle_parts_s(inflow: Array, beds: BedArrays) -> tuple[Array, Array, Array]:
    """Return the times of filling to the rim, of priming and of draining at steady inflows."""
    prime = rim_time_s(inflow, (beds.prime_m3 - beds.crest_m3) / beds.store_m2, beds)
    drain = drain_time_s(inflow, beds.siphon_m3_s(beds.prime_m3), beds.slots_m3_s, beds)
    return beds.crest_m3 / inflow, prime, drain


def _rim_clock(inflow: Array, beds: BedArrays) -> Callable[[Array], Array]:
    return lambda volume: rim_time_s(inflow, (volume - beds.crest_m3) / beds.store_m2, beds)


def _drain_clock(inflow: Array, beds: BedArrays) -> Callable[[Array], Array]:
    """Return the time left until the slots, rising with the volume."""
    return lambda volume: drain_time_s(inflow, beds.siphon_m3_s(volume), beds.slots_m3_s, beds)


def _between(low: Array, high: Array, time: Array, clock: Callable[[Array], Array]) -> Array:
    """Return the volumes at which a rising clock shows the times, by halving."""
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        early = clock(middle) < time
        low, high = np.where(early, middle, low), np.where(early, high, middle)
    return (low + high) / 2.0
