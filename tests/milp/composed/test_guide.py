"""Guides on ever finer grids, against the whole table with nothing left out."""

import math

import numpy as np
import pytest

from optimizer.milp.composed_branches import Branches, Setting
from optimizer.milp.composed_guide import End
from optimizer.milp.composed_labels import Limits
from optimizer.milp.composed_read import Reading
from optimizer.milp.composed_states import States
from optimizer.milp.composed_steps import steps
from optimizer.milp.composed_table import Table
from tests.milp.composed.wide_problem import wide_problem

SEEDS = range(60)
HEAD_MOST_M = 1e6
COARSE_TO_FINE = (16, 64, 256, 1024)
NEAR = 0.99  # of the true cost, for the finest guide


def table_of(seed):
    """The table of one pick of options, and a head that pump duties give."""
    problem = wide_problem(seed)
    reading = Reading(problem)
    options = next(iter(reading.picks()))
    plans = {
        b: [p for p in found if p.option is None or p.option in options]
        for b, found in reading.tables.plans_of_branch.items()
    }
    branches = Branches(reading, Setting(0.0, 0.0, 0.0, Limits(HEAD_MOST_M)))
    states = States(reading, plans)
    table = Table(branches, states, steps(reading), least_returns=False, tick=lambda: None)
    return table, float(np.median([u.head_m for u in reading.tables.pump_duty.values()]))


def guided(table, head_m, grids, limit):
    """(Least cost that the last of some guides says, least cost in the table it keeps)."""

    def ends(states):
        count = len(states)
        yield End(np.arange(count), np.array([head_m]), np.zeros(1), np.zeros(count))

    guide = None
    for cells in grids:
        guide = table.guide(cells, guide, limit)
        guide.back(ends, lambda: None)
    flat = table.root(guide, limit, 0.0)
    return guide.least, float(np.min(flat.cents[flat.need_m <= head_m], initial=math.inf))


def compared(seed):
    """(What ever finer guides say, what their table says, the true least cost), or None."""
    table, head_m = table_of(seed)
    # Two cells and no limit: of all points only those that no pump lifts are left out.
    _, least = guided(table, head_m, (2,), math.inf)
    if math.isinf(least):
        return None
    return *guided(table, head_m, COARSE_TO_FINE, 1.01 * least + 1.0), least


@pytest.mark.parametrize("seed", SEEDS)
def test_finer_guides_keep_the_cheapest_way_and_never_say_more_than_it_costs(seed):
    # Every head is rounded down to its cell, and only what reaches the limit is left out.
    found = compared(seed)
    if found is not None:
        said, kept, least = found
        assert said <= least
        assert kept == least


def test_the_finest_guide_is_mostly_near_the_true_cost():
    # A guide that says 0 everywhere would pass the test above.
    found = [pair for seed in SEEDS if (pair := compared(seed)) is not None]
    assert len(found) > 30
    assert sum(said >= NEAR * least for said, _, least in found) > 0.8 * len(found)


@pytest.mark.parametrize("seed", SEEDS)
def test_nothing_is_kept_below_the_cost_of_the_cheapest_way(seed):
    # The infeasible twin: a limit at the least cost leaves no way below it.
    table, head_m = table_of(seed)
    _, least = guided(table, head_m, (2,), math.inf)
    if math.isfinite(least):
        said, kept = guided(table, head_m, COARSE_TO_FINE, least)
        assert said == pytest.approx(least, rel=1 - NEAR)
        assert kept >= least
