"""Plans in steps: what each costs, that the best is the best, and that none undercuts the bound."""

from __future__ import annotations

import threading
from dataclasses import replace
from itertools import product

import pytest

from optimizer.candidates.network import candidate_network
from optimizer.errors import Infeasible, SolverFailed
from optimizer.extension import standing_job
from optimizer.formulate.build import formulate
from optimizer.phasing.ahead import held_to
from optimizer.phasing.compare import plan_phases
from optimizer.phasing.search import ways_ahead
from optimizer.phasing.steps import steps_of
from optimizer.pipeline import find_design, job_of
from optimizer.reading.site import read_site_text
from optimizer.search_settings import SearchSettings
from tests.oracles.enumerate_problem import least_cost
from tests.phasing.phase_texts import THREE_PHASES, YARD

ROUNDING_CENTS = 3
"""A plan's worth is rounded once, each of its three steps' money by the cent."""


def yard(text=YARD, phases=THREE_PHASES):
    return job_of(read_site_text(text + phases, "yard.toml"))


@pytest.fixture(scope="module")
def found():
    return plan_phases(yard(), gap=0.0)


def bought(design):
    capital = [line for line in design.costs if line.group == "capital"]
    anything = any(line.cents for line in capital if line.unit != "site")
    return sum(line.cents for line in capital) if anything else 0


def running(design):
    return sum(line.cents for line in design.costs if line.group == "running")


def worth(designs):
    """Money of years 0, 1.5 and 4 brought to today at 6 % a year, by hand."""
    factors = (1.0, 1.06**-1.5, 1.06**-4.0)
    return sum(f * (bought(d) + running(d)) for f, d in zip(factors, designs, strict=True))


def test_with_three_steps_each_part_may_be_bought_ahead_from_one_of_three_on():
    # sump, pump and header each from step 1, from step 2, or never: 3 x 3 x 3.
    ways = ways_ahead(3)
    assert len(set(ways)) == 27
    assert ways[0] == (frozenset(), frozenset(), frozenset())
    assert all(not way[-1] and way[0] <= way[1] for way in ways)


def test_a_plan_costs_what_its_bills_say_brought_to_today(found):
    for plan in found.plans:
        designs = [step.design for step in plan.steps]
        assert abs(plan.worth_cents - worth(designs)) <= ROUNDING_CENTS
        assert [step.bought_cents for step in plan.steps] == [bought(d) for d in designs]


def test_the_plans_are_in_order_and_none_costs_less_than_the_bound(found):
    worths = [plan.worth_cents for plan in found.plans]
    assert worths == sorted(worths)
    assert found.bound_cents <= worths[0] + ROUNDING_CENTS
    assert found.compared == found.ways == 27
    assert any(not plan.looks_ahead for plan in found.plans)


def only(job, pump, sump):
    """The site with nothing else for sale than one pump and one sump, at the same water level.

    A part of another kind that stands is taken away: it is not what this step has.
    """
    site, standing = job.site, job.site.standing
    if standing.pump not in (None, pump):
        standing = replace(standing, pump=None, pump_count=0)
    if standing.sump not in (None, sump):
        standing = replace(standing, sump=None, sump_count=0)
    level = max(job.catalog.pumps[p].submergence_m for p in site.purchase.pumps)
    purchase = replace(site.purchase, pumps=(pump,), sumps=(sump,), lowest_level_least_m=level)
    return replace(job, site=replace(site, purchase=purchase, standing=standing))


def test_the_best_plan_lies_between_the_bound_and_no_step_plan_enumerated_undercuts_the_bound(
    found,
):
    # Every sequence of (pump, sump) over the three steps, each step designed on what the one before
    # left: 6 pairs, 216 plans. The ways compared are some of them, so the best of all is no dearer
    # than the best found; the bound must hold for all.
    steps = steps_of(yard())
    site = steps[0].job.site
    kinds = list(product(site.purchase.pumps[1:], site.purchase.sumps[1:]))
    level = max(steps[0].job.catalog.pumps[p].submergence_m for p in site.purchase.pumps)
    assert level > 0.0
    prefixes = {(): []}
    for step in steps:
        further = {}
        for chosen, designs in prefixes.items():
            for kind in kinds:
                job = step.job if not designs else standing_job(step.job, designs[-1])
                try:
                    design = find_design(only(job, *kind), SearchSettings(gap=0.0))
                except Infeasible:
                    continue
                further[(*chosen, kind)] = [*designs, design]
        prefixes = further
    assert prefixes
    least = min(worth(designs) for designs in prefixes.values())
    assert found.bound_cents <= least + ROUNDING_CENTS
    steps_taken = [(s.design.pump.id, s.design.sump.id) for s in found.best.steps]
    if tuple(steps_taken) in prefixes:
        assert found.best.worth_cents >= least - ROUNDING_CENTS


def test_each_step_of_the_plan_without_looking_ahead_costs_what_trying_every_choice_finds(found):
    # The oracle shares no code with the program: it walks every combination of the same tables.
    plan = found.step_by_step
    steps = steps_of(yard())
    before = None
    for step, built in zip(steps, plan.steps, strict=True):
        job = step.job if before is None else standing_job(step.job, before)
        problem = formulate(job.site, job.catalog, candidate_network(job.site)).problem
        assert built.design.record.cost_cents == least_cost(problem)
        before = built.design


def test_a_stretch_held_to_a_size_is_laid_in_it_and_costs_what_every_choice_in_it_finds():
    job = steps_of(yard())[0].job
    made = formulate(job.site, job.catalog, candidate_network(job.site)).problem
    riser = next(table for table in made.stretches if table.tail == "pump")
    for size in riser.builds:
        held = held_to(made, {riser.id: size})
        design = find_design(
            job, SearchSettings(gap=0.0), narrow=lambda p, s=size: held_to(p, {riser.id: s})
        )
        assert next(s.pipe for s in design.stretches if s.id == riser.id) == size
        assert design.record.cost_cents == least_cost(held)


def test_every_step_of_the_best_plan_passes_its_check_and_keeps_its_beds(found):
    assert found.passed
    beds = [{bed.id for bed in step.design.beds} for step in found.best.steps]
    assert beds[0] <= beds[1] <= beds[2]
    assert [len(each) for each in beds] == [2, 3, 5]


def test_the_pump_of_a_step_serves_the_beds_of_that_step_at_least(found):
    # What runs fits: the program once lowered the sump's water for a pump alone, and refused it.
    for step, room in zip(found.best.steps[:-1], found.rooms[:-1], strict=True):
        assert room.beds_before == len(step.design.beds)
        assert room.fits is not None
        assert room.beds_before <= room.fits <= room.fits_at_most <= room.places == 5
    assert found.rooms[-1] is None


def test_stopped_after_some_ways_the_best_so_far_is_kept_and_says_how_many():
    stop = threading.Event()

    def tell(words):
        if words.startswith("plan 3 "):
            stop.set()

    part = plan_phases(yard(), tell=tell, stop=stop)
    assert 1 <= part.compared < part.ways
    assert part.plans[0].worth_cents == min(plan.worth_cents for plan in part.plans)
    assert part.bound_cents is None


def test_stopped_before_a_first_plan_there_is_none():
    stop = threading.Event()
    stop.set()
    with pytest.raises(SolverFailed):
        plan_phases(yard(), stop=stop)


def test_a_budget_holds_at_every_step_of_every_plan_and_one_too_small_for_the_first_allows_none():
    # The twin: 40 do not buy a pump, a sump and two beds.
    free = plan_phases(yard(), room=False)
    most = max(step.bought_cents for step in free.best.steps)
    tight = YARD.replace("[goal]", f"[goal]\nbudget = {most / 100.0}")
    for plan in plan_phases(yard(tight), room=False).plans:
        assert all(step.bought_cents <= most for step in plan.steps)
    poor = YARD.replace("[goal]", "[goal]\nbudget = 40.0")
    with pytest.raises(Infeasible):
        plan_phases(yard(poor), room=False)
