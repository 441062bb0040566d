"""Run a segment at steady inflows: every event of every bed in closed form.

With no feedback from the sump each bed repeats one cycle, so its events are three rows of equally
spaced times; nothing is stepped.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.simulate.day.bed_arrays import BedArrays, Flags, Indices
from optimizer.simulate.day.cycle_arrays import drain_time_s, rim_time_s
from optimizer.simulate.day.initial import cycle_parts_s
from optimizer.simulate.day.passages import (
    DRAIN_NODES,
    RIM_NODES,
    Passages,
    drain_passages,
    rim_passages,
)
from optimizer.simulate.day.returns import given_terms, polynomial
from optimizer.simulate.day.segment import Codes, Event, Mode, Segment, SegmentRun, State

_REFINEMENTS = 3

NODE_S = 60.0
"""Longest step between known sump levels; a second or so about the highest and the lowest."""
_CLOSE = 81


@dataclass(frozen=True, eq=False)
class _Orbit:
    """Each bed's one cycle: times from its beginning, at a break, to rim, prime and end."""

    beds: BedArrays
    inflow: Array
    crest_s: Array
    prime_s: Array
    cycle_s: Array
    rim_terms: Array
    drain_terms: Array


def run_steady(segment: Segment, state: State) -> SegmentRun:
    """Run a segment at steady inflows under which every bed works.

    Args:
        segment: the segment, its level held.
        state: state at its beginning; no bed fuller than its prime level.
    """
    level = segment.level_m(segment.begin_s, float(state.volume_m3.sum()))
    orbit = _orbit(segment.beds, segment.inflows_m3_s(level))
    since = segment.begin_s - _position_s(orbit, state)
    time, bed, code = _events(orbit, since, state, segment)
    volumes, primed = _volumes(orbit, since, np.append(segment.sample_s, segment.end_s))
    nodes, levels = _sump(orbit, since, segment, volumes)
    end = _end_state(orbit, segment.end_s - since, volumes[-1], primed[-1])
    return SegmentRun(
        time_s=time,
        bed=bed,
        code=code,
        state=end,
        volumes_m3=volumes[:-1],
        siphoning=primed[:-1],
        node_s=nodes,
        node_m=levels,
        method="closed form",
    )


def _sump(orbit: _Orbit, since: Array, segment: Segment, sampled: Array) -> tuple[Array, Array]:
    """Return times and sump levels: every ``NODE_S`` at least, and closely about both extremes.

    Args:
        orbit: the beds' cycles.
        since: when each bed's cycle began.
        segment: the segment.
        sampled: volumes at the sample times and at the segment's end.
    """
    nodes = np.append(segment.sample_s, segment.end_s)
    needed = int(np.ceil((segment.end_s - segment.begin_s) / NODE_S)) + 1
    if nodes.size < needed:
        nodes = np.linspace(segment.begin_s, segment.end_s, needed)
        sampled = _volumes(orbit, since, nodes)[0]
    held = sampled.sum(axis=1)
    near = np.linspace(-NODE_S, NODE_S, _CLOSE)
    close = np.concatenate([nodes[held.argmin()] + near, nodes[held.argmax()] + near])
    close = close[(close > segment.begin_s) & (close < segment.end_s)]
    times = np.concatenate([nodes, close])
    held = np.concatenate([held, _volumes(orbit, since, close)[0].sum(axis=1)])
    order = np.argsort(times, kind="stable")
    lost = segment.loss_m3_s * times
    return times[order], ((segment.free_m3 - held - lost) / segment.area_m2)[order]


def _orbit(beds: BedArrays, inflow: Array) -> _Orbit:
    fill, prime, drain = cycle_parts_s(inflow, beds)
    none = np.zeros(len(beds))
    rim = rim_passages(beds.crest_m3, inflow, np.zeros((len(beds), RIM_NODES)), beds)
    sink = drain_passages(beds.prime_m3, inflow, np.zeros((len(beds), DRAIN_NODES)), beds)
    return _Orbit(
        beds=beds,
        inflow=inflow,
        crest_s=fill + none,
        prime_s=fill + prime,
        cycle_s=fill + prime + drain,
        rim_terms=_in_seconds(rim),
        drain_terms=_in_seconds(sink),
    )


def _in_seconds(passages: Passages) -> Array:
    """Return the terms of the water given as a polynomial of the time since the beginning."""
    powers = passages.length_s ** np.arange(1, 6)[:, None]
    return given_terms(passages) / powers


def _position_s(orbit: _Orbit, state: State) -> Array:
    """Return how long ago each bed's cycle began; below 0 where it is drier than at a break."""
    beds, volume = orbit.beds, state.volume_m3
    head = np.maximum(volume - beds.crest_m3, 0.0) / beds.store_m2
    over = orbit.crest_s + rim_time_s(orbit.inflow, head, beds)
    sunk = np.clip(volume, 0.0, beds.prime_m3)
    left = drain_time_s(orbit.inflow, beds.siphon_m3_s(sunk), beds.slots_m3_s, beds)
    filling = np.where(volume < beds.crest_m3, volume / orbit.inflow, over)
    return np.where(state.mode == Mode.FILLING, filling, orbit.cycle_s - left)


def _events(
    orbit: _Orbit, since: Array, state: State, segment: Segment
) -> tuple[Array, Indices, Codes]:
    """Return times, beds and codes of all events in a segment, in order of time."""
    filling = state.mode == Mode.FILLING
    rising = filling & (state.volume_m3 < orbit.beds.crest_m3)
    rows = (
        (orbit.crest_s, rising, Event.FILLS),
        (orbit.prime_s, filling, Event.PRIMES),
        (orbit.cycle_s, np.ones_like(filling), Event.BREAKS),
    )
    firsts = np.concatenate([since + at + np.where(met, 0.0, orbit.cycle_s) for at, met, _ in rows])
    cycles = np.tile(orbit.cycle_s, 3)
    counts = np.maximum(np.floor((segment.end_s - firsts) / cycles) + 1.0, 0.0).astype(np.int64)
    row = np.repeat(np.arange(counts.size), counts)
    turn = np.arange(row.size) - np.repeat(np.cumsum(counts) - counts, counts)
    times = firsts[row] + turn * cycles[row]
    order = np.argsort(times)
    row = row[order]
    return times[order], row % len(orbit.beds), (row // len(orbit.beds)).astype(np.int8)


def _volumes(orbit: _Orbit, since: Array, times: Array) -> tuple[Array, Flags]:
    """Return volumes at times, (times, beds), and which beds are primed."""
    gone = times[:, None] - since
    at = np.where(gone < 0.0, gone, np.mod(gone, orbit.cycle_s))
    volume = orbit.inflow * at
    over, primed = at >= orbit.crest_s, at >= orbit.prime_s
    volume -= np.where(over, polynomial(orbit.rim_terms, np.maximum(at - orbit.crest_s, 0.0)), 0.0)
    sink = at - orbit.prime_s
    start = orbit.beds.prime_m3 + orbit.inflow * sink
    drained = start - polynomial(orbit.drain_terms, np.maximum(sink, 0.0))
    return np.where(primed, drained, volume), primed


def _end_state(orbit: _Orbit, gone: Array, volume: Array, primed: Flags) -> State:
    """Return the end state, volumes brought from the trace's accuracy to that of the clock."""
    mode = np.where(primed, Mode.DRAINING, Mode.FILLING).astype(np.int8)
    state = State(volume, mode, np.zeros(mode.size, dtype=bool))
    at = np.where(gone < 0.0, gone, np.mod(gone, orbit.cycle_s))
    for _ in range(_REFINEMENTS):
        out = np.where(primed, orbit.beds.siphon_m3_s(volume), orbit.beds.rim_m3_s(volume))
        volume = volume + (at - _position_s(orbit, state)) * (orbit.inflow - out)
        state = State(volume, mode, state.warned)
    return state
