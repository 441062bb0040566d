"""What stands costs nothing to keep, and its full price to change, in both programs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.candidates.built import with_built
from optimizer.candidates.network import candidate_network
from optimizer.errors import Infeasible
from optimizer.formulate.build import formulate
from optimizer.job import Job
from optimizer.milp.formulations import solve
from optimizer.pipeline import find_design
from optimizer.records.design import Design
from optimizer.records.site import Site
from optimizer.records.standing import ChangeLabour
from optimizer.search_settings import SearchSettings
from optimizer.simulate.check import check_design
from tests.builders.full_site import full_site
from tests.builders.random_site import random_site
from tests.oracles.enumerate_problem import least_cost

FULL_SEEDS = (0, 1, 3, 4, 6, 7)
TINY_SEEDS = (2, 3, 5, 6, 9, 11, 14)
BOTH = ("composed", "complete")


def grown_from(site: Site, design: Design) -> Site:
    """The site with all of a design standing on it; what it never needs is not asked again."""
    return with_built(site, candidate_network(site), design)


def bought_cents(design: Design, job: Job) -> int:
    """Money for parts and work on them, without the services that every site pays."""
    services = {s.id for s in job.catalog.services.values() if s.per == "site"}
    lines = (line for line in design.costs if line.group == "capital")
    return sum(line.cents for line in lines if line.part not in services)


def designed(job: Job, formulation: str = "best") -> Design:
    return find_design(job, SearchSettings(formulation=formulation, gap=0.0))


def full_job(seed: int) -> Job:
    site, catalog, _ = full_site(seed)
    return Job(replace(site, returns=replace(site.returns, bursts="all", held="worst")), catalog)


@pytest.mark.parametrize("seed", FULL_SEEDS)
def test_keeping_all_that_stands_costs_nothing_to_buy_and_the_design_still_passes(seed):
    # Every part stands, so the design that was built is one answer, at no money to buy with. A
    # cheaper one may only save running costs, so no more is bought than it saves.
    job = full_job(seed)
    built = designed(job)
    kept = designed(Job(grown_from(job.site, built), job.catalog))
    running = sum(line.cents for line in built.costs if line.group == "running")
    now = sum(line.cents for line in kept.costs if line.group == "running")
    assert bought_cents(kept, job) + now <= running
    assert kept.record.bound_cents <= kept.record.cost_cents
    assert check_design(kept).passed


@pytest.mark.parametrize("seed", TINY_SEEDS)
def test_both_programs_and_every_combination_agree_where_a_weaker_system_stands(seed):
    # What stands was built for fewer floods; now more are asked for, so part of it must change.
    # The enumeration tries every combination of the same tables.
    site, catalog = random_site(seed, tiny=True)
    slower = replace(site.goals, floods_per_hour_least=0.8 * site.goals.floods_per_hour_least)
    built = designed(Job(replace(site, goals=slower), catalog))
    labour = ChangeLabour(
        pipe_per_m=1.5, siphon=4.0, valve=2.0, pump=9.0, sump=20.0, return_per_m=1.0
    )
    stood = grown_from(site, built)
    stood = replace(stood, standing=replace(stood.standing, labour=labour))
    problem = formulate(stood, catalog, candidate_network(stood)).problem
    oracle = least_cost(problem)
    for formulation in BOTH:
        if oracle is None:
            with pytest.raises(Infeasible):
                solve(problem, formulation, gap=0.0)
        else:
            assert solve(problem, formulation, gap=0.0).record.cost_cents == oracle


@pytest.mark.parametrize("seed", FULL_SEEDS)
def test_both_programs_agree_where_return_pipe_and_siphons_stand(seed):
    # A fifth more floods are asked than it was built for; both programs read the same tables.
    job = full_job(seed)
    built = designed(job)
    stood = grown_from(job.site, built)
    goals = replace(
        stood.goals,
        floods_per_hour_least=1.2 * stood.goals.floods_per_hour_least,
        floods_per_hour_most=None,
    )
    problem = formulate(replace(stood, goals=goals), job.catalog, candidate_network(stood)).problem
    costs = {solve(problem, each, gap=0.0).record.cost_cents for each in BOTH}
    assert len(costs) == 1


@pytest.mark.parametrize("seed", TINY_SEEDS)
def test_the_bill_adds_up_and_what_stands_is_listed_at_no_cost(seed):
    site, catalog = random_site(seed, tiny=True)
    built = designed(Job(site, catalog))
    kept = designed(Job(grown_from(site, built), catalog))
    assert sum(line.cents for line in kept.costs) == kept.record.cost_cents
    free = [line for line in kept.costs if line.group == "standing"]
    assert free
    assert all(line.cents == 0 for line in free)
    metres = sum(line.quantity for line in free if line.what.startswith("kept: pipe"))
    assert metres == pytest.approx(sum(s.length_m for s in kept.stretches if s.standing))


def test_every_other_choice_costs_its_full_price_and_the_work_named_for_it():
    # The same tables with nothing standing price every way in full; with the riser standing each
    # other way costs 3.00 more for a metre, and the way it stands costs nothing.
    site, catalog = random_site(3, tiny=True)
    network = candidate_network(site)
    built = designed(Job(site, catalog))
    stood = with_built(site, network, built)
    only = tuple(s for s in stood.standing.stretches if s.stretch.startswith("riser"))
    labour = ChangeLabour(pipe_per_m=3.0)
    bare = replace(site, standing=replace(site.standing, pipes=()))
    riser = replace(bare.standing, stretches=only, labour=labour)
    plain = formulate(bare, catalog, network).problem.stretches[0]
    table = formulate(replace(bare, standing=riser), catalog, network).problem.stretches[0]
    length = next(s.length_m for s in network.stretches if s.id == only[0].stretch)
    both = set(plain.table) & set(table.table)
    assert both
    for key in both:
        duty, way = key
        extra = 0 if way == only[0].pipe else round(length * 300.0)
        full = 0 if way == only[0].pipe else plain.table[key].cost_cents
        assert table.table[duty, way].cost_cents == full + extra


def test_a_standing_pump_that_is_not_sold_is_not_bought_twice():
    # The pump that stands is one of a kind. Twin: sold like any other, two of it may run.
    site, catalog = random_site(3, tiny=True)
    network = candidate_network(site)
    built = designed(Job(site, catalog))
    stood = with_built(site, network, built)
    purchase = replace(site.purchase, pumps=(built.pump.id,), pumps_in_parallel_most=3)
    standing = replace(stood.standing, pump_count=1, not_sold=(built.pump.id,))
    one = formulate(replace(stood, purchase=purchase, standing=standing), catalog, network)
    assert {p.count for p in one.problem.pumps} == {1}
    sold = replace(standing, not_sold=())
    more = formulate(replace(stood, purchase=purchase, standing=sold), catalog, network)
    assert max(p.count for p in more.problem.pumps) > 1 or len(more.problem.pumps) == 1


def test_a_site_that_grows_by_a_bed_finds_its_old_pipe_again_and_buys_only_what_is_new():
    # Everything of the smaller design stands; the longer row's new beds, drops and laterals do not.
    site, catalog = random_site(3, tiny=True)
    built = designed(Job(site, catalog))
    row = next(row for row in site.rows if not row.named)
    longer = replace(row, positions=row.positions + 1, beds_most=row.positions + 1)
    grown = replace(site, rows=tuple(longer if r is row else r for r in site.rows))
    stood = grown_from(grown, built)
    names = {each.stretch for each in stood.standing.stretches}
    assert {s.id for s in built.stretches if s.kind == "drop"} <= names
    assert f"drop {row.id}{row.positions + 1}" not in names
