"""The same design problem given to differential evolution, a general search without proof.

Each stretch has a number that picks its build, one more number picks the pump duty; sump and all
else follow. Shortage of head is charged so dearly that any design without it is cheaper.
"""

from __future__ import annotations

import time

import numpy as np
from scipy.optimize import differential_evolution

from optimizer.records.choice import Choice
from optimizer.records.problem import DesignProblem

SHORTAGE_CENTS_PER_M = 1e8


class Evolution:
    """A problem with one plan for each row and no return pipe, as arrays.

    Args:
        problem: the problem.
        choice: a proven design, for its plans and sump.
    """

    def __init__(self, problem: DesignProblem, choice: Choice) -> None:
        self.stretches = [s for s in problem.stretches if s.id in choice.builds]
        ladders = [self._ladder(s, choice.builds[s.id][0]) for s in self.stretches]
        most = max(len(found) for found in ladders)
        self.counts = np.array([len(found) for found in ladders])
        self.loss_m = np.zeros((len(ladders), most))
        self.cents = np.zeros((len(ladders), most))
        for row, found in enumerate(ladders):
            self.loss_m[row, : len(found)] = [b.loss_m for b in found]
            self.cents[row, : len(found)] = [b.cost_cents for b in found]
        self.paths, self.levels_m = self._paths(choice)
        root = self.stretches[0]
        flow = next(u.flow_steps for u in root.duties if u.id == choice.builds[root.id][0])
        pumps = {p.id: p for p in problem.pumps}
        duties = [d for d in problem.pump_duties if d.flow_steps == flow]
        held = sum(p.held_m3 + p.lost_m3 for p in problem.plans if choice.plans[p.branch] == p.id)
        sump = {
            w.id: min(
                (k.cost_cents for k in problem.sumps if k.band == w.id and k.working_m3 >= held),
                default=10**9,
            )
            for w in problem.bands
        }
        self.heads_m = np.array([d.head_m for d in duties])
        self.drive_cents = np.array(
            [d.running_cents + pumps[d.pump].cost_cents + sump[d.band] for d in duties]
        )
        self.known = next(
            n for n, d in enumerate(duties) if (d.pump, d.band) == (choice.pump, choice.band)
        )
        plans = sum(p.cost_cents for p in problem.plans if choice.plans[p.branch] == p.id)
        self.fixed = plans + problem.fixed_cents

    def _ladder(self, stretch, duty):
        builds = [stretch.table[duty, j] for j in stretch.builds if (duty, j) in stretch.table]
        return sorted(builds, key=lambda b: -b.loss_m)

    def _paths(self, choice):
        into = {s.head: n for n, s in enumerate(self.stretches)}
        rows, levels = [], []
        for s in self.stretches:
            level = next(u.outlet_level_m for u in s.duties if u.id == choice.builds[s.id][0])
            if level is not None:
                row, node = np.zeros(len(self.stretches)), s.head
                while node in into:
                    row[into[node]] = 1.0
                    node = self.stretches[into[node]].tail
                rows.append(row)
                levels.append(level)
        return np.array(rows), np.array(levels)

    def cost(self, picks, drive):
        """Cost of many candidates at once; ``picks`` is (stretches, candidates)."""
        picks = np.minimum(np.rint(picks).astype(int), self.counts[:, np.newaxis] - 1)
        rows = np.arange(len(self.counts))[:, np.newaxis]
        need = (self.paths @ self.loss_m[rows, picks] + self.levels_m[:, np.newaxis]).max(axis=0)
        drive = np.rint(drive).astype(int)
        short = np.maximum(0.0, need - self.heads_m[drive])
        pipes = self.cents[rows, picks].sum(axis=0)
        return pipes + self.drive_cents[drive] + self.fixed + SHORTAGE_CENTS_PER_M * short

    def cost_of(self, rows, handed: bool):
        """Cost of candidates given as (candidates, numbers)."""
        picks = rows[:, : len(self.counts)].T
        drive = np.full(len(rows), self.known) if handed else rows[:, -1]
        return self.cost(picks, drive)

    def highest(self, handed: bool):
        """The greatest value of each number."""
        most = self.counts - 1
        return most if handed else np.append(most, len(self.heads_m) - 1)

    def differential(self, seconds: float, seed: int, *, handed: bool) -> float:
        """Cost of the best candidate of differential evolution after a time.

        Args:
            seconds: the time.
            seed: its random seed.
            handed: whether the proven pump duty is given.
        """
        started = time.perf_counter()
        bounds = [(0, n + 1e-9) for n in self.highest(handed)]
        found = differential_evolution(
            lambda x: self.cost_of(np.atleast_2d(x.T), handed),
            bounds,
            integrality=[True] * len(bounds),
            vectorized=True,
            updating="deferred",
            popsize=2,
            maxiter=10**6,
            tol=0.0,
            rng=seed,
            polish=False,
            callback=lambda *_a, **_k: time.perf_counter() - started > seconds,
        )
        return float(found.fun)
