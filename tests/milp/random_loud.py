"""Random problems of which some pumps are loud for longer than they may be (figures invented)."""

import random
from dataclasses import replace

from optimizer.records.problem import DesignProblem
from tests.milp.random_problem import random_problem


def loud(problem: DesignProblem, hours: dict[str, float], most: float = 8.0) -> DesignProblem:
    """A problem whose pumps are loud for so many hours a day, by id, and may be for ``most``."""
    pumps = tuple(replace(p, loud_hours=hours.get(p.id, 0.0)) for p in problem.pumps)
    asked = replace(problem.requirements, loud_hours_most=most)
    return replace(problem, pumps=pumps, requirements=asked)


def random_loud(seed: int) -> DesignProblem:
    """A random problem with a limit on noise."""
    rng, problem = random.Random(f"noise {seed}"), random_problem(seed)
    return loud(problem, {p.id: rng.choice((0.0, 6.0, 20.0)) for p in problem.pumps})
