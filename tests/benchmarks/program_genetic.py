"""The same design problem given to the genetic algorithm of pymoo (the extra ``bench``)."""

from __future__ import annotations

import numpy as np
from pymoo.algorithms.soo.nonconvex.ga import GA
from pymoo.core.problem import Problem
from pymoo.operators.crossover.sbx import SBX
from pymoo.operators.mutation.pm import PM
from pymoo.operators.repair.rounding import RoundingRepair
from pymoo.operators.sampling.rnd import IntegerRandomSampling
from pymoo.optimize import minimize
from pymoo.termination.max_time import TimeBasedTermination

from tests.benchmarks.program_evolution import Evolution


class Costs(Problem):
    """Costs of many candidates at once.

    Args:
        problem: the problem as arrays.
        handed: whether the proven pump duty is given.
    """

    def __init__(self, problem: Evolution, *, handed: bool) -> None:
        self.of = problem
        self.handed = handed
        most = problem.highest(handed)
        super().__init__(n_var=len(most), n_obj=1, xl=0, xu=most, vtype=int)

    def _evaluate(self, x, out, *_args, **_kwargs):
        out["F"] = self.of.cost_of(x.astype(float), self.handed)


def genetic(problem: Evolution, seconds: float, seed: int, *, handed: bool) -> float:
    """Cost of the best candidate after a time, with the library's settings for whole numbers."""
    whole = {"vtype": float, "repair": RoundingRepair()}
    search = GA(
        pop_size=100,
        sampling=IntegerRandomSampling(),
        crossover=SBX(prob=1.0, eta=3.0, **whole),
        mutation=PM(prob=1.0, eta=3.0, **whole),
        eliminate_duplicates=True,
    )
    costs, end = Costs(problem, handed=handed), TimeBasedTermination(seconds)
    return float(np.ravel(minimize(costs, search, end, seed=seed, verbose=False).F)[0])
