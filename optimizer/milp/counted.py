"""Other ways to count the bursts in return pipe, as the rows and variables of the program see them.

A stretch may be sized by the plain sum of its bursts, or by any other way its table has.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from optimizer.milp.tables import Tables


def counts(tables: Tables) -> list[tuple[str, int]]:
    """(Return stretch, number of another way to count) wherever there is one."""
    return [(s.id, c) for s in tables.problem.drains for c in range(len(s.otherwise_beds))]


def not_covered(tables: Tables) -> list[tuple[str, int, str]]:
    """(Stretch, way to count, branch) where that way does not cover some plan of the branch."""
    return [
        (drain, count, branch)
        for drain, count in counts(tables)
        for branch in tables.plans_of_branch
        if plans_not_covered(tables, drain, count, branch)
    ]


def plans_not_covered(tables: Tables, drain: str, count: int, branch: str) -> list[str]:
    """The plans of a branch that a way to count does not cover."""
    loads = tables.drain[drain].otherwise_beds[count]
    return [p.id for p in tables.plans_of_branch[branch] if math.isinf(loads.get(p.id, 0.0))]


def most_load(tables: Tables, loads: Mapping[str, float]) -> float:
    """The most that one plan of every branch may come to, of the plans that are covered."""
    finite = {plan: load for plan, load in loads.items() if math.isfinite(load)}
    return sum(
        max((finite.get(plan.id, 0.0) for plan in plans), default=0.0)
        for plans in tables.plans_of_branch.values()
    )
