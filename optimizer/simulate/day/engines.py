"""Choose how to run a segment: closed form, relaxed windows, or the march through whatever comes.

Beds that only wait (shut, stalled for good, held at the slots for good) are left out. Where
some bed may stall or not break, all are marched for a while, and then it is tried again.
"""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.simulate.day.bed_arrays import Flags, Indices
from optimizer.simulate.day.march import march
from optimizer.simulate.day.relax import relax, works
from optimizer.simulate.day.segment import Mode, Segment, SegmentRun, State
from optimizer.simulate.day.steady import run_steady

MARCH_S = 900.0
"""How long all beds are marched before the faster engine is tried again."""

CALM_HEAD_M = 1e-4
"""Head over a rim, of a bed without inflow, that counts as none: surface tension holds far more."""

STEADY_SHARE = 1e-3
"""How near outflow has to be to inflow for a stalled bed to count as settled.

Such a bed's volume is then held, though it still follows the sump a little: over a 2 % change of
inflow the head over a rim of 10 mm changes by 0.13 mm.
"""

ENGINES = ("best", "march")


def run_segment(segment: Segment, state: State, engine: str = "best") -> SegmentRun:
    """Run a segment.

    Args:
        segment: the segment.
        state: state at its beginning.
        engine: best, or march for the general engine throughout.

    Raises:
        ValueError: for an unknown engine.
    """
    if engine not in ENGINES:
        raise ValueError(f"the engine must be one of {', '.join(ENGINES)}, not {engine!r}")
    if engine == "march" or segment.table is None:
        return march(segment, state)
    runs: list[SegmentRun] = []
    while segment.begin_s < segment.end_s:
        run = _without_waiting(segment, state)
        if run is None:
            run = march(_until(segment, segment.begin_s + MARCH_S), state)
        runs.append(run)
        segment, state = _rest(segment, float(run.node_s[-1])), run.state
    return joined_runs(runs)


def _without_waiting(segment: Segment, state: State) -> SegmentRun | None:
    """Return a fast run with the waiting beds left out; None where it cannot begin."""
    waiting = _waiting(segment, state)
    if waiting.all():
        return _still(segment, state)
    if not waiting.any():
        return _fast(segment, state)
    run = _fast(_without(segment, state, waiting), _state_of(state, ~waiting))
    return None if run is None else _with_waiting(run, state, np.flatnonzero(~waiting))


def _still(segment: Segment, state: State) -> SegmentRun:
    """Return a run in which nothing happens but losses."""
    nodes, held = np.array([segment.begin_s, segment.end_s]), float(state.volume_m3.sum())
    samples = segment.sample_s.size
    siphoning = np.repeat((state.mode != Mode.FILLING)[None, :], samples, axis=0)
    return SegmentRun(
        time_s=np.zeros(0),
        bed=np.zeros(0, dtype=np.int64),
        code=np.zeros(0, dtype=np.int8),
        state=state,
        volumes_m3=np.repeat(state.volume_m3[None, :], samples, axis=0),
        siphoning=siphoning,
        node_s=nodes,
        node_m=np.array([segment.level_m(time, held) for time in nodes.tolist()]),
        method="still",
    )


def _fast(segment: Segment, state: State) -> SegmentRun | None:
    """Return the run as far as a fast engine takes it; None where it cannot begin."""
    level = segment.level_m(segment.begin_s, float(state.volume_m3.sum()))
    inflow, beds = segment.inflows_m3_s(level), segment.beds
    overfull = (state.mode == Mode.FILLING) & (state.volume_m3 >= beds.prime_m3)
    if overfull.any() or (state.mode == Mode.HELD).any() or not works(inflow, inflow, beds):
        return None
    if segment.held_level_m is not None and not (state.volume_m3 > beds.prime_m3).any():
        return run_steady(segment, state)
    run = relax(segment, state)
    return run if run.node_s.size > 1 else None


def _rest(segment: Segment, begin_s: float) -> Segment:
    samples = segment.sample_s[segment.sample_s >= begin_s]
    return replace(segment, begin_s=begin_s, sample_s=samples)


def _until(segment: Segment, end_s: float) -> Segment:
    if end_s > segment.end_s - MARCH_S / 2.0:
        return segment
    return replace(segment, end_s=end_s, sample_s=segment.sample_s[segment.sample_s < end_s])


def _waiting(segment: Segment, state: State) -> Flags:
    """Return which beds hold what they hold, whatever the sump does.

    Without inflow and calm; stalled for good, as much running over the rim as comes in; or held at
    the slots for good.
    """
    beds, volume = segment.beds, state.volume_m3
    least, most = _inflow_range(segment)
    filling = state.mode == Mode.FILLING
    calm = filling & ((volume - beds.crest_m3) / beds.store_m2 <= CALM_HEAD_M)
    gap = np.abs(most - beds.rim_m3_s(volume))
    stalled = filling & state.warned & (most <= beds.start_m3_s)
    stalled &= gap <= (most - least) + STEADY_SHARE * most
    held = (state.mode == Mode.HELD) & state.warned
    held &= (least > beds.stop_m3_s) & (most < beds.slots_m3_s)
    return np.asarray(((most == 0.0) & calm) | stalled | held)


def _inflow_range(segment: Segment) -> tuple[Array, Array]:
    assert segment.table is not None  # the pump runs
    if segment.held_level_m is None:
        return segment.table.range_m3_s
    steady = segment.table.inflows_m3_s(segment.held_level_m)
    return steady, steady


def _without(segment: Segment, state: State, waiting: Flags) -> Segment:
    """Return the segment of the beds that do not wait; what the others hold is out of play."""
    active, table = np.flatnonzero(~waiting), segment.table
    return replace(
        segment,
        beds=segment.beds.take(active),
        table=None if table is None else replace(table, weights=table.weights[active]),
        free_m3=segment.free_m3 - float(state.volume_m3[waiting].sum()),
    )


def _state_of(state: State, which: Flags) -> State:
    return State(*(getattr(state, each.name)[which] for each in fields(state)))


def _with_waiting(run: SegmentRun, state: State, active: Indices) -> SegmentRun:
    """Return the run of all beds: those left out as they were."""
    volume, mode = state.volume_m3.copy(), state.mode.copy()
    warned = state.warned.copy()
    volume[active], mode[active] = run.state.volume_m3, run.state.mode
    warned[active] = run.state.warned
    volumes = np.repeat(state.volume_m3[None, :], run.volumes_m3.shape[0], axis=0)
    volumes[:, active] = run.volumes_m3
    siphoning = np.repeat((mode != Mode.FILLING)[None, :], volumes.shape[0], axis=0)
    siphoning[:, active] = run.siphoning
    return replace(
        run,
        bed=active[run.bed],
        state=State(volume, mode, warned),
        volumes_m3=volumes,
        siphoning=siphoning,
    )


def joined_runs(runs: list[SegmentRun]) -> SegmentRun:
    """Return runs that follow each other as one."""
    if len(runs) == 1:
        return runs[0]
    names = ("time_s", "bed", "code", "volumes_m3", "siphoning", "node_s", "node_m")
    joined = {name: np.concatenate([getattr(run, name) for run in runs]) for name in names}
    methods = dict.fromkeys(run.method for run in runs)
    error = max(run.water_error_m3 for run in runs)
    return SegmentRun(
        state=runs[-1].state, method=" and ".join(methods), water_error_m3=error, **joined
    )
