"""A tank over the beds together with a budget, few sizes of pipe or pipe in stock."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.alternatives import design_layouts
from optimizer.candidates.layouts import is_one_layout
from optimizer.errors import Infeasible
from optimizer.formulate import tank_tables
from optimizer.job import Job
from optimizer.pipeline import design_job
from optimizer.records.header_tank import TANK_RISER
from optimizer.records.site import StockPipe
from optimizer.search_settings import SearchSettings
from optimizer.simulate.check import check_design
from tests.builders.every_feature import every_feature
from tests.whole.feature_sites import job_of, row_text, site_text

TANK = '[header_tank]\nat = ["0.5 m", "1 m"]\nwater_level = "2.0 m"\npart = "sump_0200"\n'
ROWS = (row_text("A", (2, 1), 2),)
NO_RETURNS = "[returns]\ndesigned = false\n"


@pytest.fixture
def job(tmp_path):
    return job_of(tmp_path, site_text(*ROWS, TANK, NO_RETURNS))


def cost(job) -> int:
    return designed(job).record.cost_cents


def designed(job):
    answer = design_layouts(job, SearchSettings(gap=0.0))
    assert answer.check.passed, answer.check.failures
    assert sum(line.cents for line in answer.design.costs) == answer.design.record.cost_cents
    return answer.design


def with_budget(job, cents):
    return Job(replace(job.site, goals=replace(job.site.goals, budget=cents / 100)), job.catalog)


def with_sizes(job, most):
    buy = replace(job.site.purchase, pipe_sizes_most=most)
    return Job(replace(job.site, purchase=buy), job.catalog)


def with_stock(job, pipe, length_m):
    stock = (StockPipe(pipe, length_m),)
    standing = replace(job.site.standing, stock=stock)
    return Job(replace(job.site, standing=standing), job.catalog)


def laid(design) -> set[str]:
    return {s.pipe for s in design.stretches} | {design.tank.overflow_pipe}


def test_a_budget_of_what_the_best_design_takes_changes_nothing_though_pumps_wear_out(job):
    # Replacing the pump later is no money to buy with, below a tank as elsewhere.
    best = designed(job)
    later = sum(c.cents for c in best.costs if "replacements" in c.what)
    capital = sum(c.cents for c in best.costs if c.group == "capital")
    assert later > 0
    assert cost(with_budget(job, capital)) == best.record.cost_cents


def test_a_cent_less_than_the_cheapest_to_buy_is_refused(job):
    with pytest.raises(Infeasible) as refusal:
        design_layouts(with_budget(job, 1000), SearchSettings(gap=0.0))
    said = {r.requirement: r.change for r in refusal.value.remedies}
    least = round(100 * float(said["the money to buy with"].split()[-1].rstrip(".")))
    paid = designed(with_budget(job, least)).costs
    assert sum(c.cents for c in paid if c.group == "capital") <= least
    with pytest.raises(Infeasible):
        design_layouts(with_budget(job, least - 1), SearchSettings(gap=0.0))


def test_riser_and_overflow_are_sizes_to_keep(job):
    # All supply pipe comes in one size, and the overflow must be wider: two sizes are needed, and
    # where they are allowed the limit costs nothing.
    one_size = Job(
        replace(job.site, purchase=replace(job.site.purchase, pipes=("pvcu10_40",))), job.catalog
    )
    best = designed(one_size)
    assert laid(best) == {"pvcu10_40", best.tank.overflow_pipe}
    assert len(laid(best)) == 2
    assert cost(with_sizes(one_size, 2)) == best.record.cost_cents
    with pytest.raises(Infeasible):
        design_layouts(with_sizes(one_size, 1), SearchSettings(gap=0.0))


@pytest.mark.parametrize("size", ["riser", "overflow"])
def test_stock_without_end_costs_what_pipe_for_nothing_costs(job, size):
    best = designed(job)
    riser = next(s.pipe for s in best.stretches if s.id == TANK_RISER)
    name = riser if size == "riser" else best.tank.overflow_pipe
    pipes = dict(job.catalog.pipes)
    pipes[name] = replace(pipes[name], price_per_m=0.0)
    free = cost(Job(job.site, replace(job.catalog, pipes=pipes)))
    stocked = designed(with_stock(job, name, 500.0))
    assert stocked.record.cost_cents == free
    assert any(c.group == "stock" and c.part == name for c in stocked.costs)


def test_the_check_counts_the_overflow_among_the_sizes_laid(job):
    best = designed(job)
    number = len(laid(best))
    fewer = replace(best, promise=replace(best.promise, pipe_sizes_most=number - 1))
    assert {f.promise for f in check_design(fewer).failures} == {"sizes of pipe laid anew"}


@pytest.mark.parametrize("seed", [6, 18])
def test_offers_left_out_as_beaten_change_no_cost(seed, monkeypatch):
    # Designed once with every pump and pipe that fills the tank, once with the unbeaten alone.
    case = next(_tank_cases(seed))
    costs = [_cost_or_none(case)]
    monkeypatch.setattr(tank_tables, "unbeaten", lambda offers, _: list(offers))
    costs.append(_cost_or_none(case))
    assert costs[0] == costs[1]


def _tank_cases(seed):
    for k in range(seed, seed + 60):
        case = every_feature(k, 3, tiny=True)
        if case.site.header_tank is not None and is_one_layout(case.site):
            yield case


def _cost_or_none(case):
    try:
        return design_job(
            Job(case.site, case.catalog), SearchSettings(gap=0.0)
        ).design.record.cost_cents
    except Infeasible:
        return None
