"""Size a network with rings at least cost and prove it: branch and bound over the loop flows.

With one flow known for every loop, all flows are known and sizing is a program of whole sizes. The
flows are not known: they follow from the sizes. So the space of loop flows is cut into boxes, each
box gets a bound that holds for every network whose flows lie in it
(:mod:`optimizer.milp.ring_box`), and boxes that cannot hold a cheaper network are dropped. The
others are cut again. Sizes that a box proposes are tried with their true flows; those that keep all
heads become the best so far, the others are ruled out once and for all.
"""

from __future__ import annotations

import heapq
import itertools
import math
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import numpy as np

from optimizer.errors import Infeasible, Remedy, SolverFailed
from optimizer.milp.bare_solver import new_solver
from optimizer.milp.beside import Beside
from optimizer.milp.engine import Progress, ctrl_c_sets
from optimizer.milp.ring_box import BoxAnswer, is_narrow, least_in_box
from optimizer.milp.ring_flows import true_flows
from optimizer.milp.ring_input import RingNetwork, Sizes
from optimizer.milp.ring_mending import cost_of, mended, short_m, trimmed, widest
from optimizer.milp.ring_reach import Box, reach_of, shrunk, whole_box

NODES_MOST = 2000
"""Nodes the solver may look at in one box before the box is cut instead."""
NODES_TO_THE_END = 2**31 - 1
"""Nodes it may look at in a box that is cut no more: as many as there are."""
POINT_SHARE = 1e-4
"""Width of a box, as a share of all demands, below which it is cut no more."""
EDGE_SHARE = 0.2
"""A cut leaves at least this share of a box on either side."""
STEP_SHARE = 1e-4
"""Share of the least step between two costs that is left for rounding."""


GAP_LEAST = 1e-6
"""Least gap that can be asked for: more than the solver's own rounding."""
WORTH_MENDING = 1.1
"""Sizes are mended only up to this many times the best cost: trimming then may still pay."""


@dataclass(frozen=True)
class Found:
    """Where a search ended: the best sizes, their cost, a proven bound, boxes looked at."""

    chosen: Sizes
    cost: float
    bound: float
    boxes: int


@dataclass
class RingSearch:
    """A search under way.

    Attributes:
        network: what is sized.
        gap: relative gap between cost and bound at which to stop; ``GAP_LEAST`` where less.
        stop: set from outside to stop early.
        ends_at: time on the performance counter at which to stop, or None.
        progress: called after every box.
        banned: choices of sizes that are not wanted, though they may keep all heads.
    """

    network: RingNetwork
    gap: float
    stop: threading.Event
    ends_at: float | None = None
    progress: Callable[[Progress], None] | None = None
    banned: frozenset[Sizes] = frozenset()
    best: Sizes = ()
    cost: float = math.inf
    boxes: int = 0
    refuted: list[Sizes] = field(default_factory=list)
    numbers: Iterator[int] = field(default_factory=itertools.count)

    def run(self) -> Found:
        """Search to the gap, or to the stop.

        Raises:
            Infeasible: where it is proven that no sizes keep all heads.
            SolverFailed: if it is stopped before the first sizes that do.
        """
        self.started = time.perf_counter()
        self.step = _least_step(self.network)
        self.gap = max(self.gap, GAP_LEAST)
        self.beside = Beside(self.stop, self.ends_at)
        self.reach, self.solver = reach_of(self.network), new_solver(NODES_MOST, self.beside)
        self.refuted = sorted(self.banned)
        self.waiting: list[tuple[float, int, Box]] = [
            (0.0, next(self.numbers), whole_box(self.network))
        ]
        if not self.network.edges:
            return self._without_pipes()
        with ctrl_c_sets(self.stop):
            self._try(widest(self.network))
            while self.waiting and not self._is_over():
                bound, _, box = heapq.heappop(self.waiting)
                if not self._looked_at(bound, box):
                    break
                self._tell()
        if not self.best:
            raise self._no_answer()
        return Found(self.best, self.cost, self._bound(), self.boxes)

    def _without_pipes(self) -> Found:
        self.waiting = []
        if short_m(self.network, ()) > 0.0:
            raise self._no_answer()
        return Found((), 0.0, 0.0, 0)

    @property
    def below(self) -> float:
        """Greatest cost that is still of interest."""
        if not self.best:
            return math.inf
        return self.cost - max(self.gap * self.cost, self.step * (1.0 - STEP_SHARE))

    def _bound(self) -> float:
        """Return what is proven: boxes dropped hold nothing below ``below``, nor between steps."""
        proven = self.cost if self.step > self.gap * self.cost else self.below
        left = (bound for bound, _, _ in self.waiting if not self._is_beaten(bound))
        return min([proven, *left])

    def _is_beaten(self, bound: float) -> bool:
        return math.isinf(bound) or bound > self.below

    def _is_over(self) -> bool:
        return self.beside.is_over or self._is_beaten(self.waiting[0][0])

    def _looked_at(self, bound: float, box: Box) -> bool:
        """Look at a box; False where the solver failed, and the box waits as it was.

        Raises:
            SolverFailed: if there are no sizes yet to keep.
        """
        try:
            self._look_at(bound, box)
        except SolverFailed:
            if not self.best:
                raise
            heapq.heappush(self.waiting, (bound, next(self.numbers), box))
            return False
        return True

    def _look_at(self, bound: float, box: Box) -> None:
        self.boxes += 1
        left = shrunk(self.network, self.reach, box)
        if left is None:
            return
        to_the_end = self._is_a_point(left)
        nodes = NODES_TO_THE_END if to_the_end else NODES_MOST
        self.solver.setOptionValue("mip_max_nodes", nodes)
        answer = least_in_box(
            self.network,
            self.reach,
            left,
            self.solver,
            self.beside,
            self.below,
            self.refuted,
        )
        bound = max(bound, answer.bound)
        if self._is_beaten(bound):
            return
        if answer.chosen:
            self._try(answer.chosen)
        for part in (left,) if to_the_end else self._halves(left, answer):
            if not self._is_beaten(bound):
                heapq.heappush(self.waiting, (bound, next(self.numbers), part))

    def _is_a_point(self, box: Box) -> bool:
        """Whether a box is so nearly a point that it is cut no more."""
        return bool(np.all(box.high - box.low <= POINT_SHARE * self.network.total_m3_s))

    def _halves(self, box: Box, answer: BoxAnswer) -> tuple[Box, Box]:
        """Return a box cut in two."""
        width = box.high - box.low
        loop, at = int(np.argmax(width)), None
        if answer.chosen and is_narrow(self.network, box):
            pull = np.abs(self.network.turns) * width
            worst = int(np.argmax(answer.misses_m * (pull.max(axis=1, initial=0.0) > 0.0)))
            loop, at = int(np.argmax(pull[worst])), answer.loops_m3_s
        low, room = float(box.low[loop]), float(width[loop])
        share = 0.5 if at is None or room == 0.0 else (float(at[loop]) - low) / room
        return box.halves(loop, low + room * min(max(share, EDGE_SHARE), 1.0 - EDGE_SHARE))

    def _try(self, chosen: Sizes) -> None:
        """Try sizes with their true flows, and what mending and trimming makes of them."""
        found: Sizes | None = chosen
        if short_m(self.network, chosen) > 0.0:
            self.refuted.append(chosen)
            found = mended(self.network, chosen, WORTH_MENDING * self.cost)
        if found is not None and found not in self.banned:
            found = trimmed(self.network, found, self.banned)
            cost = cost_of(self.network, found)
            if cost < self.cost:
                self.best, self.cost = found, cost

    def _tell(self) -> None:
        if self.progress is not None:
            cost = self.cost if self.best else None
            seconds = time.perf_counter() - self.started
            bound = self._bound() if self.best or self.waiting else None
            self.progress(Progress(seconds, cost, bound))

    def _no_answer(self) -> Exception:
        if self.waiting:
            return SolverFailed("The search was stopped before it found sizes that keep all heads.")
        network = self.network
        _, heads = true_flows(network, widest(network))
        lack = network.required_m - heads
        worst = int(np.argmax(lack))
        where = f"Node {network.nodes[worst]} is {lack[worst]:.3f} m short of the "
        return Infeasible(
            f"No sizes keep all heads. {where}{network.required_m[worst]:.3f} m it needs with the "
            "largest size everywhere.",
            [
                Remedy(
                    "the head at the source",
                    f"{lack[worst]:.3f} m more head at {network.nodes[0]} is enough.",
                )
            ],
        )


def _least_step(network: RingNetwork) -> float:
    """Return a step that all costs are multiples of, or 0: the greatest that divides all prices.

    Prices of pipes must be whole hundredths of the money for it.
    """
    hundredths = np.rint(network.prices * 100.0)
    if (
        np.any(np.abs(network.prices * 100.0 - hundredths) > 1e-6)
        or hundredths.max(initial=0.0) > 2.0**52
    ):
        return 0.0
    return math.gcd(*hundredths.astype(np.int64).ravel().tolist()) / 100.0
