"""The bill of a chosen design adds up to what the program minimised."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.candidates.network import candidate_network
from optimizer.errors import Infeasible
from optimizer.formulate.assemble import assemble
from optimizer.formulate.build import formulate
from optimizer.formulate.stock import from_stock
from optimizer.milp.composed import solve_composed
from optimizer.milp.solve import solve_complete
from optimizer.records.design import CostLine
from optimizer.records.header_tank import HeaderTank
from optimizer.records.parts import Service
from optimizer.records.site import Returns, Standing, StockPipe
from optimizer.records.standing import ChangeLabour, StandingDrain
from tests.builders.random_site import random_site, shipped_catalog
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


# work by the metre, return pipe and a tank over the beds

PER_M = 3.0
"""Money for laying a metre of any pipe: an invented price."""
PAID = replace(
    shipped_catalog(),
    services={"laying": Service("laying", "laying pipe", "metre", PER_M, "invented")},
)


def design_at(site, catalog=PAID):
    network = candidate_network(site)
    found = formulate(site, catalog, network)
    return assemble(site, catalog, network, found, solve_composed(found.problem))


@pytest.fixture(scope="module")
def fed_by_a_tank():
    tank = HeaderTank((0.5, 0.5), 2.2, "sump_0200")
    return design_at(replace(SITE, header_tank=tank, returns=Returns()))


def test_laying_is_paid_by_the_metre_of_supply_return_and_overflow_pipe(fed_by_a_tank):
    # Every stretch is rounded to the cent by itself.
    design = fed_by_a_tank
    laid = {
        "laying supply pipe": [s.length_m for s in design.stretches],
        "laying return pipe": [d.length_m for d in design.drains],
        "laying overflow pipe": [design.tank.overflow_length_m],
    }
    for what, lengths_m in laid.items():
        (line,) = (line for line in design.costs if line.what == what)
        assert line.quantity == pytest.approx(sum(lengths_m), rel=FORMULA)
        assert line.cents == sum(round(100.0 * PER_M * length_m) for length_m in lengths_m)
    assert sum(line.cents for line in design.costs) == design.record.cost_cents


def test_no_laying_is_on_the_bill_where_no_work_is_priced():
    free = replace(PAID, services={})
    costs = design_at(replace(SITE, returns=Returns()), free).costs
    assert any(line.what.startswith("return pipe") for line in costs)
    assert not any(line.what.startswith("laying") for line in costs)


def test_return_pipe_that_is_too_narrow_is_taken_out_and_the_work_is_paid_by_the_metre():
    # Pipe of 20 mm bore carries no burst: the first stretch, laid in it, has to make way.
    plain = design_at(replace(SITE, returns=Returns()))
    first = plain.drains[0]
    narrow = min(
        (p for p in PAID.pipes.values() if p.series == "pvcu_pn10"), key=lambda p: p.bore_m
    )
    standing = Standing(
        drains=(StandingDrain(first.id, narrow.id, 0.01),), labour=ChangeLabour(return_per_m=7.0)
    )
    costs = design_at(replace(SITE, returns=Returns(), standing=standing)).costs
    (line,) = (line for line in costs if line.what == "work of taking out return pipe")
    assert line.cents == round(100.0 * 7.0 * first.length_m)


def test_pipe_in_stock_goes_to_the_first_lines_and_none_is_left_for_the_last():
    # 10 m lie ready: 8 m of supply pipe take 8, the next 5 m take 2, and the last 4 m are bought.
    price = PAID.pipes["pvcu10_25"].price_per_m
    site = replace(SITE, standing=Standing(stock=(StockPipe("pvcu10_25", 10.0),)))
    lines = [
        CostLine("capital", f"pipe {n}", "pvcu10_25", metres, "m", round(100 * metres * price))
        for n, metres in enumerate((8.0, 5.0, 4.0))
    ]
    found = [(line.what, line.quantity) for line in from_stock(site, PAID, lines)]
    assert found == [
        ("pipe 0 from stock", 8.0),
        ("pipe 1", 3.0),
        ("pipe 1 from stock", 2.0),
        ("pipe 2", 4.0),
    ]
