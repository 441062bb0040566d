"""March all beds together through a segment, event by event: the engine for whatever may happen.

Between events the beds' volumes are one smooth system of equations, coupled by the sump level. It
is stepped by the fifth-order pair of J. R. Dormand and P. J. Prince, A family of embedded
Runge-Kutta formulae, 1980 (coefficients from memory; a test holds them against their order
conditions), in steps of at most ``STEP_S``. A step in which a bed crosses a threshold is taken
again, to the crossing. Stalls and siphons that do not break are followed like all else. Work grows
with beds times events; for beds that all work :mod:`optimizer.simulate.day.relax` is far faster.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.simulate.day.bed_arrays import Flags
from optimizer.simulate.day.segment import Codes, Event, Mode, Segment, SegmentRun, State

_FILLING, _DRAINING, _HELD = (int(mode) for mode in (Mode.FILLING, Mode.DRAINING, Mode.HELD))
"""The modes as plain numbers: arrays compare faster with those (a zoned day's check: a sixth)."""

STEP_S = 5.0
"""Longest step while no bed runs over its rim."""

RIM_STEP_S = 1.0
"""Longest step while one with inflow does."""

_FIRST_RIM_STEP_S = 0.02
"""Longest step just after water has come to a rim: the weir's power 1.5 is not smooth there."""

_STAGES: tuple[tuple[float, ...], ...] = (
    (1 / 5,),
    (3 / 40, 9 / 40),
    (44 / 45, -56 / 15, 32 / 9),
    (19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729),
    (9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656),
    (35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84),
)
_TIMES = (1 / 5, 3 / 10, 4 / 5, 8 / 9, 1.0, 1.0)
_SETTLING_SHARE = 0.2
"""Longest step while one without inflow does, over the time in which the head there settles."""

_CROSSING_STEPS = 12
_CROSSED_S = 1e-9
_TOGETHER_S = 1e-7
"""Crossings closer than this count as one moment."""
_LEAST_STEP_S = 1e-9


@dataclass
class _March:
    """The state on the way, and what was noted so far."""

    segment: Segment
    time_s: float
    volume: Array
    mode: Codes
    warned: Flags
    shut: Flags
    rim_s: float
    events: list[tuple[float, int, int]] = field(default_factory=list)
    nodes: list[tuple[float, float]] = field(default_factory=list)
    samples: list[Array] = field(default_factory=list)
    sample_modes: list[Codes] = field(default_factory=list)

    def inflow(self, time_s: float, volume: Array) -> Array:
        level = self.segment.level_m(time_s, float(volume.sum()))
        return self.segment.inflows_m3_s(level)

    def rate(self, time_s: float, volume: Array) -> Array:
        """Return the rise of every bed's volume, in m3/s."""
        inflow, beds = self.inflow(time_s, volume), self.segment.beds
        drained = np.where(self.mode == _DRAINING, beds.siphon_m3_s(volume), inflow)
        out = np.where(self.mode == _FILLING, beds.rim_m3_s(volume), drained)
        return np.asarray(inflow - out)

    def step(self, length_s: float, first: Array) -> tuple[Array, Array]:
        """Return volumes and rates after a step; ``first`` is the rate at its beginning."""
        rates = [first]
        volume = self.volume
        for shares, at in zip(_STAGES, _TIMES, strict=True):
            change = sum(s * r for s, r in zip(shares, rates, strict=True) if s)
            volume = self.volume + length_s * change
            rates.append(self.rate(self.time_s + at * length_s, volume))
        return volume, rates[-1]


def march(segment: Segment, state: State) -> SegmentRun:
    """Run a segment by marching all beds together.

    Args:
        segment: the segment.
        state: state at its beginning.
    """
    begin_s = segment.begin_s
    volume, mode, warned = state.volume_m3.copy(), state.mode.copy(), state.warned.copy()
    run = _March(segment, begin_s, volume, mode, warned, _shut(segment), begin_s)
    _note(run)
    rate = run.rate(run.time_s, run.volume)
    while run.time_s < segment.end_s - _LEAST_STEP_S:
        rate = _advance(run, rate)
    return _result(run)


def _shut(segment: Segment) -> Flags:
    """Return which beds get no water at any level of the sump."""
    if segment.table is None:
        return np.ones(len(segment.beds), dtype=np.bool_)
    return np.asarray(~segment.table.weights.any(axis=1))


def _advance(run: _March, rate: Array) -> Array:
    """Take one step, to the first crossing in it if there is one; return the rate after it."""
    length = min(_longest_s(run), run.segment.end_s - run.time_s)
    target, side = _targets(run), _side(run)
    after, rate_after = run.step(length, rate)
    beyond = np.flatnonzero((after - target) * side > 0.0)
    first = -1
    while beyond.size:
        shares = (target - run.volume)[beyond] / (after - run.volume)[beyond]
        first = int(beyond[np.argmin(shares)])
        length, after, rate_after = _to_crossing(run, rate, first, length, float(target[first]))
        late = (after - target) * side > _TOGETHER_S * np.abs(rate_after)
        late[first] = False
        beyond = np.flatnonzero(late)
    _keep(run, length, rate, after, rate_after)
    crossed = (after - target) * side >= 0.0
    if first >= 0:
        crossed[first] = True
    run.time_s, run.volume = run.time_s + length, np.where(crossed, target, after)
    for bed in np.flatnonzero(crossed):
        _cross(run, int(bed))
    return run.rate(run.time_s, run.volume) if _note(run) or crossed.any() else rate_after


def _longest_s(run: _March) -> float:
    beds, table = run.segment.beds, run.segment.table
    over_m3 = np.where(run.mode == _FILLING, run.volume - beds.crest_m3, -1.0)
    shut = run.shut & (over_m3 > 0.0)
    head_m = np.where(shut, over_m3, 0.0) / beds.store_m2
    settling = float(np.max(1.5 * beds.weir_scale * np.sqrt(head_m) / beds.store_m2, initial=0.0))
    longest = max(RIM_STEP_S, _SETTLING_SHARE / settling) if settling > 0.0 else np.inf
    if table is not None or bool((run.mode != _FILLING).any()):
        longest = min(longest, STEP_S)
    if bool(np.any(~run.shut & (over_m3 >= 0.0))):
        longest = min(longest, RIM_STEP_S, max(_FIRST_RIM_STEP_S, (run.time_s - run.rim_s) / 2.0))
    return longest


def _side(run: _March) -> Array:
    return np.where(run.mode == _FILLING, 1.0, np.where(run.mode == _DRAINING, -1.0, 0.0))


def _targets(run: _March) -> Array:
    """Return the volume at which each bed's next event lies, in the sense of its mode."""
    beds = run.segment.beds
    rim = np.where(run.volume < beds.crest_m3, beds.crest_m3, beds.prime_m3)
    return np.where(run.mode == _FILLING, rim, 0.0)


def _to_crossing(
    run: _March, rate: Array, bed: int, length: float, target: float
) -> tuple[float, Array, Array]:
    """Shorten a step until one bed ends it on its target (bracketed false position)."""
    low, high = 0.0, length
    at = length * (target - run.volume[bed]) / (run.step(length, rate)[0][bed] - run.volume[bed])
    side = float(_side(run)[bed])
    for _ in range(_CROSSING_STEPS):
        after, rate_after = run.step(at, rate)
        excess = float(after[bed] - target) * side
        low, high = (low, at) if excess > 0.0 else (at, high)
        slope = float(rate_after[bed]) * side
        move = excess / slope if slope > 0.0 else 0.0
        if abs(move) <= _CROSSED_S or high - low <= _CROSSED_S:
            break
        at = at - move if low < at - move < high else (low + high) / 2.0
    return at, after, rate_after


def _cross(run: _March, bed: int) -> None:
    """Change one bed's mode at its threshold, and note it."""
    beds = run.segment.beds
    if run.mode[bed] == _FILLING:
        if run.volume[bed] < beds.prime_m3[bed]:
            run.events.append((run.time_s, bed, Event.FILLS))
            run.rim_s = run.time_s
            return
        _prime(run, bed)
    elif run.inflow(run.time_s, run.volume)[bed] <= beds.stop_m3_s[bed]:
        _break(run, bed)
    else:
        run.mode[bed] = _HELD


def _prime(run: _March, bed: int) -> None:
    run.mode[bed], run.warned[bed] = _DRAINING, False
    run.events.append((run.time_s, bed, Event.PRIMES))


def _break(run: _March, bed: int) -> None:
    run.mode[bed], run.warned[bed] = _FILLING, False
    run.events.append((run.time_s, bed, Event.BREAKS))


def _note(run: _March) -> bool:
    """Note beds that stall or do not break; let held beds go. Return whether a mode changed."""
    beds, inflow = run.segment.beds, run.inflow(run.time_s, run.volume)
    changed = False
    for bed in np.flatnonzero(run.mode == _HELD):
        if inflow[bed] <= beds.stop_m3_s[bed]:
            _break(run, int(bed))
            changed = True
        elif inflow[bed] > beds.slots_m3_s[bed]:
            run.mode[bed], changed = _DRAINING, True
    for bed in np.flatnonzero((run.mode == _FILLING) & (run.volume >= beds.prime_m3)):
        _prime(run, int(bed))
        changed = True
    over = (run.mode == _FILLING) & (run.volume >= beds.crest_m3) & (inflow > 0.0)
    stalled = over & (inflow <= beds.start_m3_s) & ~run.warned
    primed = run.mode == _DRAINING
    rising = primed & (inflow >= beds.siphon_m3_s(run.volume)) & (inflow > beds.stop_m3_s)
    stuck = (rising | (run.mode == _HELD)) & ~run.warned
    for flags, code in ((stalled, Event.STALLS), (stuck, Event.NEVER_BREAKS)):
        run.events.extend((run.time_s, int(bed), code) for bed in np.flatnonzero(flags))
        run.warned[flags] = True
    return changed


def _keep(run: _March, length: float, rate: Array, after: Array, rate_after: Array) -> None:
    """Keep the sump level at the step's beginning, and volumes at sample times within it."""
    segment = run.segment
    run.nodes.append((run.time_s, segment.level_m(run.time_s, float(run.volume.sum()))))
    last = run.time_s + length >= segment.end_s - _LEAST_STEP_S
    while len(run.samples) < segment.sample_s.size:
        share = (segment.sample_s[len(run.samples)] - run.time_s) / max(length, _LEAST_STEP_S)
        if share >= 1.0 and not last:
            return
        run.samples.append(_hermite(share, length, run.volume, rate, after, rate_after))
        run.sample_modes.append(run.mode.copy())


def _hermite(
    share: float, length: float, before: Array, rate: Array, after: Array, rate_after: Array
) -> Array:
    rise, rest = after - before, 1.0 - share
    bend = rest * (length * rate - rise) - share * (length * rate_after - rise)
    return np.asarray(before + share * rise + share * rest * bend)


def _result(run: _March) -> SegmentRun:
    end = (run.time_s, run.segment.level_m(run.time_s, float(run.volume.sum())))
    nodes = np.array([*run.nodes, end])
    time, bed, code = zip(*run.events, strict=True) if run.events else ((), (), ())
    shape = (len(run.samples), len(run.segment.beds))
    return SegmentRun(
        time_s=np.array(time, dtype=np.float64),
        bed=np.array(bed, dtype=np.int64),
        code=np.array(code, dtype=np.int8),
        state=State(run.volume, run.mode, run.warned),
        volumes_m3=np.array(run.samples).reshape(shape),
        siphoning=np.array(run.sample_modes).reshape(shape) != _FILLING,
        node_s=nodes[:, 0],
        node_m=nodes[:, 1],
        method="march",
    )
