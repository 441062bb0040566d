"""Random supply trees with set valves, and a plain solver for their flows at any sump level.

The solver knows nothing of drift: it balances heads along every path from pump to outlet.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

import numpy as np
from scipy.optimize import root

from optimizer.physics.pipe import head_loss_m
from optimizer.physics.pump import PumpCurve

SOLVED_M = 1e-8
KINEMATIC_VISCOSITY_M2_S = 1.0e-6

Loss = Callable[[float], float]


@dataclass(frozen=True)
class Tree:
    """Beds on a tree of pipes.

    ``over[i]`` lists the pipes from the pump to bed i's take-off, ``pipes`` their loss laws,
    ``drops`` each bed's own loss with its valve open, ``rises_m`` outlets over the lowest one.
    """

    pump: PumpCurve
    flows_m3_s: np.ndarray
    over: tuple[tuple[int, ...], ...]
    pipes: tuple[Loss, ...]
    drops: tuple[Loss, ...]
    rises_m: np.ndarray

    @property
    def total_m3_s(self) -> float:
        return float(self.flows_m3_s.sum())

    def lost_m(self, flows: np.ndarray) -> np.ndarray:
        """Head lost from the pump to every take-off."""
        carried = np.zeros(len(self.pipes))
        for bed, pipes in enumerate(self.over):
            carried[list(pipes)] += flows[bed]
        losses = [law(q) for law, q in zip(self.pipes, carried, strict=True)]
        return np.array([sum(losses[pipe] for pipe in pipes) for pipes in self.over])

    def dropped_m(self, flows: np.ndarray) -> np.ndarray:
        """Head lost in every drop, valve open."""
        return np.array([law(q) for law, q in zip(self.drops, flows, strict=True)])

    def take_off_heads_m(self, residual_m: float) -> np.ndarray:
        """Head at every take-off over its own outlet, flows as set."""
        return residual_m - self.lost_m(self.flows_m3_s) - self.rises_m

    def drift(self, residual_m: float, rise_m: float) -> np.ndarray:
        """True relative change of every inflow after the sump's level rises.

        Every valve is set to take what its drop leaves over; it then loses by the square.
        """
        spare = self.take_off_heads_m(residual_m) - self.dropped_m(self.flows_m3_s)
        valves = spare / self.flows_m3_s**2
        given = float(self.pump.head_m(self.total_m3_s))

        def out_of_balance(factors: np.ndarray) -> np.ndarray:
            flows = np.abs(self.flows_m3_s * factors)
            head = float(self.pump.head_m(min(flows.sum(), self.pump.end_flow_m3_s)))
            needed = self.lost_m(flows) + self.rises_m + self.dropped_m(flows) + valves * flows**2
            return needed - (residual_m + rise_m + head - given)

        found = root(out_of_balance, np.ones(len(self.flows_m3_s)), tol=1e-12)
        assert np.max(np.abs(found.fun)) < SOLVED_M
        return found.x - 1.0


def square_law(flow_m3_s: float, loss_m: float) -> Loss:
    """A loss that grows with the square of the flow."""
    return lambda q: loss_m * (q / flow_m3_s) ** 2


def pipe_law(flow_m3_s: float, speed_m_s: float, length_m: float, fittings: float) -> Loss:
    """A smooth pipe of the bore that carries a flow at a speed."""
    bore = np.sqrt(4.0 * flow_m3_s / (np.pi * speed_m_s))
    return lambda q: float(head_loss_m(q, length_m, bore, 1.5e-6, 20.0, fittings))


def random_tree(seed: int, *, smooth: bool, level: bool = False) -> Tree:
    """A tree of 2 to 30 beds.

    Args:
        seed: equal seeds give equal trees.
        smooth: smooth pipes with some fittings by Darcy and Colebrook; else squares throughout.
        level: every outlet at one level.
    """
    random = Random(seed)
    beds = random.randint(2, 30)
    parents = [-1] + [random.randrange(max(0, bed - 2), bed) for bed in range(1, beds)]
    over = [_path(parents, bed) for bed in range(beds)]
    flows = np.array([random.uniform(4.0, 25.0) / 60_000.0 for _ in range(beds)])
    rises = np.array([0.0 if level else random.choice((0.0, 0.0, random.random())) for _ in over])
    rises[random.randrange(beds)] = 0.0
    total = flows.sum()
    carried = [sum(flows[b] for b in range(beds) if pipe in over[b]) for pipe in range(beds)]
    if smooth:
        pipes = [
            pipe_law(q, random.uniform(0.3, 1.4), random.uniform(0.3, 6.0), random.uniform(0.4, 3))
            for q in carried
        ]
        drops = [
            pipe_law(q, random.uniform(0.2, 1.2), random.uniform(0.5, 2.5), random.uniform(4, 6))
            for q in flows
        ]
    else:
        pipes = [square_law(q, random.uniform(0.0, 0.1)) for q in carried]
        drops = [square_law(q, random.uniform(0.0, 0.2)) for q in flows]
    end = total * random.uniform(1.4, 5.0)
    steps = np.linspace(0.0, 1.0, 9)
    heads = random.uniform(1.0, 8.0) * (1.0 - 0.95 * steps ** random.choice((1.0, 1.5, 2.0)))
    pump = PumpCurve(tuple(steps * end), tuple(heads), ())
    return Tree(pump, flows, tuple(over), tuple(pipes), tuple(drops), rises)


def _path(parents: list[int], bed: int) -> tuple[int, ...]:
    path = []
    while bed >= 0:
        path.append(bed)
        bed = parents[bed]
    return tuple(path)
