"""The bill of a chosen design adds up to what the program minimised."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.errors import Infeasible
from optimizer.formulate.assemble import assemble
from optimizer.milp.solve import solve_complete
from optimizer.records.site import Standing
from tests.builders.random_site import random_site
from tests.formulate.two_rows import SITE, made
from tests.tolerances import FORMULA


def design_of(site):
    found = made(site)
    choice = solve_complete(found.formulation.problem)
    return assemble(site, found.catalog, found.network, found.formulation, choice)


@pytest.mark.parametrize("seed", range(16))
def test_cost_lines_add_up_to_the_cost_to_the_cent(seed):
    site, _ = random_site(seed, 4, tiny=True)
    try:
        design = design_of(site)
    except Infeasible:
        pytest.skip("no design exists for this site")
    assert sum(line.cents for line in design.costs) == design.record.cost_cents


def test_lines_count_what_is_built():
    design = design_of(SITE)
    lines = {(line.what, line.part): line for line in design.costs}
    valves = [line for (what, _), line in lines.items() if "valve" in what]
    assert sum(line.quantity for line in valves) == len(design.beds)
    kits = [line for (what, _), line in lines.items() if what.startswith("siphon kits")]
    assert sum(line.quantity for line in kits) == len(design.beds)
    metres = [line.quantity for (what, _), line in lines.items() if what.startswith("pipe ")]
    laid = sum(s.length_m for s in design.stretches)
    assert sum(metres) == pytest.approx(laid, rel=FORMULA)


def test_what_stands_already_is_on_the_bill_for_nothing():
    # The cheapest pump is there already and lasts longer than the plan: no line of it costs money.
    design = design_of(SITE)
    standing = Standing(
        pump=design.pump.id,
        pump_count=design.pump.count,
        sump=design.sump.id,
        sump_count=design.sump.count,
    )
    again = design_of(replace(SITE, standing=standing))
    bought = {line.what: line.cents for line in again.costs}
    assert bought[f"pump: {again.pump.label}"] == 0
    assert bought[f"sump: {again.sump.label}"] == 0
    assert again.pump.standing
    assert again.sump.standing
    assert again.record.cost_cents < design.record.cost_cents


def test_the_design_has_as_many_beds_as_asked_each_with_a_valve_that_takes_what_is_left():
    design = design_of(SITE)
    assert len(design.beds) >= SITE.goals.beds_least
    assert all(bed.valve_head_m > 0.0 for bed in design.beds)
