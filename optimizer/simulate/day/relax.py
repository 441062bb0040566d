"""Run a segment in which every bed works: windows of time, each relaxed until nothing moves.

The sump level is what water the beds do not hold: their inflow to date less what they gave back.
Both are known at the nodes of a grid (:mod:`level_grid`, :mod:`returns`). A window is swept
(:mod:`window`) until no event moves by more than ``SETTLED_S``. Work is proportional to beds times
cycles, and no event waits for another.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.simulate.day.bed_arrays import BedArrays, Flags, Indices
from optimizer.simulate.day.inflow_table import InflowTable
from optimizer.simulate.day.level_grid import LevelGrid
from optimizer.simulate.day.returns import given_at_nodes
from optimizer.simulate.day.segment import Event, Mode, Segment, SegmentRun, State
from optimizer.simulate.day.volumes import volumes_at
from optimizer.simulate.day.window import Cycles

CELL_S = 10.0
"""Longest cell of the level grid."""

LEAST_CELL_S = 1.0
"""Shortest cell."""

BEND_S = 0.012
"""Bound on cell squared, times the greatest bend of the sump level's path (all siphons priming at
once), times the relative growth of inflow per metre: what keeps event times within 0.01 s a day."""

WINDOW_S = 14400.0
"""Length of a window at first; one that does not settle is halved."""

_LEAST_WINDOW_CELLS = 30

SETTLED_S = 1e-7
"""Greatest move of any event in the last sweep."""

SPARE_SHARE = 0.01
"""How far inflows must stay from the start flow, and from the discharge at the slots."""

_SWEEPS_MOST = 40


@dataclass(eq=False)
class _Relax:
    """What is known so far: the grid up to a node, and each bed's cycle under way there."""

    segment: Segment
    grid: LevelGrid
    table: InflowTable
    begin_s: Array
    volume: Array
    primed: Flags
    node: int = 0
    events: list[tuple[Array, Indices, int]] = field(default_factory=list)
    samples: list[Array] = field(default_factory=list)
    siphoning: list[Flags] = field(default_factory=list)
    water_error: float = 0.0
    cycles: Cycles | None = None
    under_way: Indices = field(default_factory=lambda: np.zeros(0, dtype=np.int64))

    @property
    def weights(self) -> Array:
        """How every bed's inflow is made of the table's basis."""
        return self.table.weights


def relax(segment: Segment, state: State) -> SegmentRun:
    """Run a segment by relaxing windows of it, as far as every bed works.

    Args:
        segment: the segment; its pump runs.
        state: state at its beginning.

    Returns:
        The run up to the end, or to the last window in which every bed surely starts and stops:
        ``node_s`` tells. No node but the first means that nothing could be run.
    """
    run = _start(segment, state)
    cells = max(1, round(WINDOW_S / run.grid.cell_s))
    while run.node < run.grid.cells:
        last = min(run.node + cells, run.grid.cells)
        cycles = _window(run, last)
        if cycles is None and cells >= 2 * _LEAST_WINDOW_CELLS:
            cells //= 2
            continue
        if cycles is None or not _all_work(run, last):
            break
        _finish(run, cycles, last)
    return _result(run, state)


def _start(segment: Segment, state: State) -> _Relax:
    table = segment.table
    assert table is not None  # the pump runs
    level = segment.level_m(segment.begin_s, float(state.volume_m3.sum()))
    grid = LevelGrid(segment.begin_s, segment.end_s, _cell_s(segment, table), table, level)
    begin = np.full(len(segment.beds), segment.begin_s)
    primed = state.mode == Mode.DRAINING
    return _Relax(segment, grid, table, begin, state.volume_m3.copy(), primed)


def _cell_s(segment: Segment, table: InflowTable) -> float:
    """Return the cell: short where the sump is small or inflows follow it closely."""
    beds, (least, most) = segment.beds, table.range_m3_s
    growth = float(np.max((most - least) / most)) / float(np.ptp(table.levels_m))
    bend = float(beds.siphon_m3_s(beds.prime_m3).sum()) / segment.area_m2
    if segment.held_level_m is not None or growth * bend == 0.0:
        return CELL_S
    return float(np.clip(np.sqrt(BEND_S / (growth * bend)), LEAST_CELL_S, CELL_S))


def _window(run: _Relax, last: int) -> Cycles | None:
    """Return the cycles of a window, settled; None if they do not settle.

    Closely tied beds over a long window can swing further with every sweep; it is given up once a
    level lies where none can, or an inflow where no siphon starts or outruns it.
    """
    grid, first = run.grid, run.node
    count = last - first
    held = run.segment.held_level_m
    guess = float(np.mean(grid.level_m[max(0, first - count) : first + 1]))
    guess = guess if held is None else held
    grid.fill(first, last, np.full(count + 1, guess), np.full(count, guess))
    until = grid.node_s(last)
    inflow = run.segment.inflows_m3_s(guess)
    cycles = Cycles(run.begin_s, run.volume, run.primed, inflow, run.segment.beds, until)
    for sweep in range(_SWEEPS_MOST):
        move = cycles.correct(grid, run.weights)
        _settle_level(run, cycles, last)
        if not _can_be(run, last):
            return None
        if move <= SETTLED_S and sweep:
            return cycles if bool(np.all(cycles.end_s[:, -1] > until)) else None
    return None


def _can_be(run: _Relax, last: int) -> bool:
    """Return whether a window's levels lie in the table, and every siphon starts and outruns it."""
    table, levels = run.table, run.grid.level_m[run.node : last + 1]
    ends = np.array([levels.min(), levels.max()])
    if not (table.levels_m[0] <= ends[0] and ends[1] <= table.levels_m[-1]):
        return False
    flows, beds, spare = table.basis_at(ends) @ table.weights.T, run.segment.beds, SPARE_SHARE / 2.0
    starts = flows > (1.0 + spare) * beds.start_m3_s
    return bool(np.all(starts & (flows < (1.0 - spare) * beds.slots_m3_s)))


def _settle_level(run: _Relax, cycles: Cycles, last: int) -> None:
    """Set the sump level of a window from the water that the beds hold."""
    grid, first, segment = run.grid, run.node, run.segment
    shared, shared_means = grid.shared_integral(first, last, run.weights.sum(axis=0))
    held = shared + float(np.sum(cycles.first_m3 - cycles.begin_total))
    means = shared_means + float(np.sum(cycles.first_m3 - cycles.begin_total))
    for begin_s, passages in ((cycles.crest_s, cycles.rim), (cycles.prime_s, cycles.drain)):
        begin = (begin_s - grid.begin_s) / grid.cell_s
        given, given_means = given_at_nodes(begin, grid.cell_s, passages, first, last)
        held, means = held - given, means - given_means
    time = grid.nodes_s(first, last)
    middle = (time[:-1] + time[1:]) / 2.0
    if segment.held_level_m is None:
        grid.fill(first, last, _level(segment, held, time), _level(segment, means, middle))


def _level(segment: Segment, held_m3: Array, time_s: Array) -> Array:
    return np.asarray((segment.free_m3 - held_m3 - segment.loss_m3_s * time_s) / segment.area_m2)


def _all_work(run: _Relax, last: int) -> bool:
    """Return whether every bed starts and stops at every level of a window, with some to spare."""
    levels = run.grid.level_m[run.node : last + 1]
    some = np.linspace(levels.min(), levels.max(), 9)
    flows = run.table.basis_at(some) @ run.weights.T
    return works(flows.min(axis=0), flows.max(axis=0), run.segment.beds)


def works(least: Array, most: Array, beds: BedArrays) -> bool:
    """Return whether beds of these least and greatest inflows surely start and surely stop.

    Args:
        least: least inflow of each bed.
        most: greatest inflow.
        beds: the beds.
    """
    starts = least > (1.0 + SPARE_SHARE) * beds.start_m3_s
    stops = most < np.minimum(beds.stop_m3_s, (1.0 - SPARE_SHARE) * beds.slots_m3_s)
    return bool(np.all(starts & stops & beds.weir_only))


def _finish(run: _Relax, cycles: Cycles, last: int) -> None:
    """Keep the events of a window's finished cycles, and samples; go on from its last node."""
    until = run.grid.node_s(last)
    _sample(run, cycles, until)
    done = np.sum(cycles.end_s <= until, axis=1)
    _note(run, cycles, np.arange(cycles.end_s.shape[1]) < done[:, None], until)
    rows = np.arange(done.size)
    run.begin_s = cycles.begin_s[rows, done]
    run.volume = np.where(done > 0, 0.0, run.volume)
    run.primed = run.primed & (done == 0)
    run.node, run.cycles, run.under_way = last, cycles, done
    run.water_error = max(run.water_error, _water_error_m3(run, cycles, until))


def _water_error_m3(run: _Relax, cycles: Cycles, until: float) -> float:
    """Return the water missing or in excess at a window's end, counted bed by bed."""
    at, segment = np.array([until]), run.segment
    volumes, _ = volumes_at(cycles, run.grid, run.weights, segment.beds, at)
    if segment.held_level_m is not None:
        return 0.0
    sump = float(run.grid.level_m[run.node]) * segment.area_m2 + segment.loss_m3_s * until
    return abs(sump + float(volumes.sum()) - segment.free_m3)


def _sample(run: _Relax, cycles: Cycles, until: float) -> None:
    times = run.segment.sample_s
    since = run.grid.node_s(run.node)
    final = until >= run.segment.end_s
    mine = times[(times >= since) & ((times < until) | final)]
    if mine.size:
        volumes, primed = volumes_at(cycles, run.grid, run.weights, run.segment.beds, mine)
        run.samples.append(volumes)
        run.siphoning.append(primed)


def _note(run: _Relax, cycles: Cycles, which: Flags, until: float) -> None:
    """Note what happened in some cycles up to a time; a cycle may begin half way."""
    filled = cycles.need_m3 > 0.0
    passed = cycles.rim_from_m3 < run.segment.beds.prime_m3[:, None]
    for times, met, code in (
        (cycles.crest_s, filled, Event.FILLS),
        (cycles.prime_s, passed, Event.PRIMES),
        (cycles.end_s, np.ones_like(filled), Event.BREAKS),
    ):
        chosen = which & met & (times <= until)
        run.events.append((times[chosen], np.nonzero(chosen)[0], code))


def _result(run: _Relax, state: State) -> SegmentRun:
    count = len(run.segment.beds)
    if run.cycles is not None:
        state = _end_state(run, run.cycles, run.grid.node_s(run.node))
    times = np.concatenate([np.zeros(0), *(each[0] for each in run.events)])
    beds = np.concatenate([np.zeros(0, dtype=np.int64), *(each[1] for each in run.events)])
    codes = np.repeat([each[2] for each in run.events], [each[0].size for each in run.events])
    order = np.argsort(times, kind="stable")
    return SegmentRun(
        time_s=times[order],
        bed=beds[order],
        code=codes.astype(np.int8)[order],
        state=state,
        volumes_m3=np.concatenate([np.zeros((0, count)), *run.samples]),
        siphoning=np.concatenate([np.zeros((0, count), dtype=bool), *run.siphoning]),
        node_s=run.grid.nodes_s(0, run.node),
        node_m=run.grid.level_m[: run.node + 1].copy(),
        method="relax",
        water_error_m3=run.water_error,
    )


def _end_state(run: _Relax, cycles: Cycles, until: float) -> State:
    """Return the state at the last node, and note the events of cycles under way."""
    columns = np.arange(cycles.end_s.shape[1])
    _note(run, cycles, columns == run.under_way[:, None], until)
    at = np.array([until])
    volumes, primed = volumes_at(cycles, run.grid, run.weights, run.segment.beds, at)
    mode = np.where(primed[0], Mode.DRAINING, Mode.FILLING).astype(np.int8)
    return State(volumes[0], mode, np.zeros(mode.size, dtype=bool))
