"""The least cost of a network whose loop flows lie in a box: a small mixed-integer program.

Each pipe takes one size. Its flow lies between two limits, and its head loss between two lines of
its size (:mod:`optimizer.milp.ring_lines`). Every network that works with loop flows in the box
satisfies the program, so what the solver proves of it holds for them all. The narrower the box, the
nearer the lines.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array, csr_array, vstack

from optimizer.milp.bare_solver import BareProgram, Rows, solved
from optimizer.milp.beside import Beside
from optimizer.milp.fronts import Floats, Whole
from optimizer.milp.modeling import Handle
from optimizer.milp.ring_input import RingNetwork, Sizes
from optimizer.milp.ring_lines import Lines, lines_of
from optimizer.milp.ring_reach import Box, Reach

SLACK_M = 1e-7
"""Head by which all lines and needs are eased: more than rounding and the solver's tolerance."""
SLACK_SHARE = 1e-10
"""Flow by which continuity is eased, as a share of all demands."""
NARROW_SHARE = 0.125
"""Width of a box, as a share of all demands, from which on its pipes are asked for whole sizes."""
LEAST_UNIT = 1e-9
"""Least unit of cost, where every pipe is free."""


@dataclass(frozen=True, eq=False)
class BoxAnswer:
    """What the program of a box says.

    Attributes:
        bound: no network of the box costs less; infinite where it holds none.
        chosen: the size of every pipe in the best answer found; empty where none was.
        loops_m3_s: its loop flows, or the middle of the box.
        misses_m: by how much each pipe's loss in that answer differs from the true loss there.
    """

    bound: float
    chosen: Sizes
    loops_m3_s: Floats
    misses_m: Floats


def least_in_box(
    network: RingNetwork,
    reach: Reach,
    box: Box,
    solver: Handle,
    beside: Beside,
    below: float = np.inf,
    refuted: Sequence[Sizes] = (),
) -> BoxAnswer:
    """Bound the cost of every network with loop flows in a box.

    Args:
        network: the network.
        reach: what each pipe can carry.
        box: the loop flows.
        solver: from :func:`optimizer.milp.bare_solver.new_solver`.
        beside: what the solver asks whether to go on.
        below: greater costs are of no interest; the bound may be infinite for those.
        refuted: choices of sizes known not to keep all heads.

    Raises:
        SolverFailed: if the solver proves nothing.
    """
    lines = lines_of(network, reach, box)
    if len(np.unique(lines.edge)) < len(network.edges):
        return _without_answer(network, box, np.inf)
    program = _Program(network, box, lines)
    unit = max(float(network.prices.max(axis=1).sum()), LEAST_UNIT)
    found = solved(solver, program.bare(unit, below, refuted), beside)
    if found.columns is None:
        return _without_answer(network, box, found.bound * unit)
    return program.read(found.columns, found.bound * unit)


def is_narrow(network: RingNetwork, box: Box) -> bool:
    """Return whether whole sizes are worth asking for: in a wide box that takes long for little."""
    return bool(np.all(box.high - box.low <= NARROW_SHARE * network.total_m3_s))


def _without_answer(network: RingNetwork, box: Box, bound: float) -> BoxAnswer:
    return BoxAnswer(bound, (), (box.low + box.high) / 2.0, np.zeros(len(network.edges)))


class _Program:
    """The program's arrays.

    Columns: loop flows (in units of all demands), heads, then for every line whether it is chosen,
    and the share of the way from its least to its greatest flow (0 unless chosen).
    """

    def __init__(self, network: RingNetwork, box: Box, lines: Lines) -> None:
        self.network, self.box, self.lines = network, box, lines
        self.unit_m3_s = network.total_m3_s or 1.0
        self.loops, self.pipes = network.turns.shape[1], len(network.edges)
        self.heads = slice(self.loops, self.loops + len(network.nodes))
        count = len(lines.edge)
        self.width = self.heads.stop + 2 * count
        self.chosen = self.heads.stop + np.arange(count)
        self.share = self.chosen + count

    def bare(self, unit: float, below: float, refuted: Sequence[Sizes]) -> BareProgram:
        """Return the program with cost counted in a unit."""
        cost, whole = np.zeros(self.width), np.zeros(self.width, dtype=np.int64)
        cost[self.chosen] = self.network.prices[self.lines.edge, self.lines.size] / unit
        whole[self.chosen] = int(is_narrow(self.network, self.box))
        rows = [self._one_size(), self._flow(), self._shares(), self._under(), self._over()]
        rows += [row for sizes in refuted if (row := self._never(sizes)) is not None]
        if np.isfinite(below):
            rows.append(_rows(csr_array(cost[np.newaxis, :]), -np.inf, below / unit))
        return BareProgram(cost, *self._limits(), whole, _joined(rows))

    def read(self, columns: Floats, bound: float) -> BoxAnswer:
        """Return what the solver's columns say."""
        picked = np.flatnonzero(columns[self.chosen] > 0.5)
        if len(picked) < self.pipes:
            return _without_answer(self.network, self.box, bound)
        order = picked[np.argsort(self.lines.edge[picked], kind="stable")]
        sizes = tuple(self.lines.size[order].tolist())
        loops = np.clip(columns[: self.loops] * self.unit_m3_s, self.box.low, self.box.high)
        flows = self.network.flows_m3_s(loops).tolist()
        true = [self.network.loss_m(e, s, flows[e]) for e, s in enumerate(sizes)]
        tails, heads = columns[self.heads][self.network.ends.T]
        return BoxAnswer(bound, sizes, loops, np.abs(tails - heads - np.array(true)))

    def _limits(self) -> tuple[Floats, Floats]:
        low, high = np.zeros(self.width), np.ones(self.width)
        low[: self.loops] = self.box.low / self.unit_m3_s
        high[: self.loops] = self.box.high / self.unit_m3_s
        low[self.heads] = self.network.least_heads_m - SLACK_M
        high[self.heads] = self.network.available_m
        low[self.heads.start] = self.network.available_m
        return low, high

    def _left(self, count: int, *parts: tuple[Whole, Whole, Floats]) -> csr_array:
        rows, columns, values = (np.concatenate(piece) for piece in zip(*parts, strict=True))
        return csr_array(coo_array((values, (rows, columns)), shape=(count, self.width)))

    def _one_size(self) -> Rows:
        """Every pipe takes one size."""
        ones = np.ones(len(self.chosen))
        return _rows(self._left(self.pipes, (self.lines.edge, self.chosen, ones)), 1.0, 1.0)

    def _flow(self) -> Rows:
        """The flow of the chosen line is the pipe's flow."""
        lines, turns = self.lines, self.network.turns
        pipe, loop = np.nonzero(turns)
        left = self._left(
            self.pipes,
            (lines.edge, self.chosen, lines.low_m3_s / self.unit_m3_s),
            (lines.edge, self.share, lines.width_m3_s / self.unit_m3_s),
            (pipe, loop, -turns[pipe, loop]),
        )
        base = self.network.base_m3_s / self.unit_m3_s
        return _rows(left, base - SLACK_SHARE, base + SLACK_SHARE)

    def _shares(self) -> Rows:
        """A line that is not chosen carries nothing."""
        ones = np.ones(len(self.chosen))
        row = np.arange(len(ones))
        left = self._left(len(ones), (row, self.share, ones), (row, self.chosen, -ones))
        return _rows(left, -np.inf, 0.0)

    def _under(self) -> Rows:
        """Heads at a pipe's ends differ by no less than the line under its loss."""
        return _rows(self._differ(self.lines.under_m), -SLACK_M, np.inf)

    def _over(self) -> Rows:
        """Heads at a pipe's ends differ by no more than the line over its loss."""
        return _rows(self._differ(self.lines.over_m), -np.inf, SLACK_M)

    def _differ(self, start_m: Floats) -> csr_array:
        pipe, ones = np.arange(self.pipes), np.ones(self.pipes)
        tails, heads = self.heads.start + self.network.ends.T
        return self._left(
            self.pipes,
            (pipe, tails, ones),
            (pipe, heads, -ones),
            (self.lines.edge, self.chosen, -start_m),
            (self.lines.edge, self.share, -self.lines.rise_m),
        )

    def _never(self, sizes: Sizes) -> Rows | None:
        """Sizes that do not work are not chosen again; None where the box rules them out."""
        columns = self.chosen[self.lines.size == np.array(sizes)[self.lines.edge]]
        if len(columns) < self.pipes:
            return None
        zero, ones = np.zeros(self.pipes, dtype=np.int64), np.ones(self.pipes)
        return _rows(self._left(1, (zero, columns, ones)), -np.inf, self.pipes - 1.0)


def _rows(left: csr_array, least: Floats | float, most: Floats | float) -> Rows:
    count = left.shape[0]
    return Rows(left, np.broadcast_to(least, count), np.broadcast_to(most, count))


def _joined(rows: Sequence[Rows]) -> Rows:
    return Rows(
        csr_array(vstack([each.left for each in rows])),
        np.concatenate([each.least for each in rows]),
        np.concatenate([each.most for each in rows]),
    )
