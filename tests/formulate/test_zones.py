"""Zones in the tables, the bill and the heads of a design."""

from __future__ import annotations

import dataclasses

import pytest

from optimizer.candidates.network import candidate_network
from optimizer.errors import Infeasible
from optimizer.explore.changes import changed
from optimizer.explore.reprice import repriced
from optimizer.formulate.build import formulate
from optimizer.formulate.turns import flooding_inflows
from optimizer.formulate.zone_parts import timer_cents, valve_power_cents
from optimizer.job import Job
from optimizer.physics.turn import slowest_bed
from optimizer.pipeline import find_design
from optimizer.records.zones import POWER_LINE
from tests.builders.random_site import shipped_catalog
from tests.builders.zoned_design import SITE, ZONES, job_of, zoned_design
from tests.formulate.two_rows import SITE as ALL_AT_ONCE
from tests.tolerances import EXACT, FORMULA


def lines():
    return {line.what: line for line in zoned_design().costs}


def test_the_bill_has_timed_valves_their_power_and_a_timer_and_adds_up():
    # Two valves: one on row A's lateral, one on the header beyond it, which B and C have alone.
    design = zoned_design()
    assert sum(line.cents for line in design.costs) == design.record.cost_cents
    valves = [line for what, line in lines().items() if what.startswith("timed valves")]
    assert sum(line.quantity for line in valves) == len(design.zones.valves) == 2
    assert lines()[design.zones.timer_label].cents == 3900
    # 6 W open half the time, 24 h a day at 0.30 a kWh, for ten years at 5 %: factor 7.7217
    each = 6.0 / 2.0 / 1000.0 * 8760.0 * 0.30 * 7.72173
    assert lines()[POWER_LINE].cents == pytest.approx(2 * 100.0 * each, abs=2.0)


def test_at_the_prices_it_was_designed_at_the_bill_made_again_is_the_same():
    job = job_of(SITE + ZONES)
    assert repriced(zoned_design(), job).costs == zoned_design().costs
    dearer = repriced(zoned_design(), changed(job, {"energy_price": 0.6}))
    power = next(line for line in dearer.costs if line.what == POWER_LINE)
    assert power.cents == pytest.approx(2 * lines()[POWER_LINE].cents, abs=2)


def test_shared_pipe_carries_the_greatest_zone_and_no_sum():
    # Zone 1 has two beds, zone 2 three: the riser carries three beds' inflow.
    design = zoned_design()
    inflow = design.kinds[0].inflow_m3_s
    riser = next(s for s in design.stretches if s.kind == "riser")
    assert riser.flow_m3_s == pytest.approx(3 * inflow, rel=FORMULA)


def test_a_smaller_pump_serves_zones_than_all_beds_at_once():
    # Siphons ask their starting flow at any frequency: five beds at once ask five of them.
    alone = find_design(job_of(SITE))
    assert zoned_design().pump.duty_flow_m3_s < 0.7 * alone.pump.duty_flow_m3_s


def test_the_inflows_of_a_zone_keep_the_slowest_bed_and_more_zones_leave_fewer():
    kind = zoned_design().kinds[0]
    bands = kind.start_froude, kind.loss_coefficient, kind.porosity
    slow = slowest_bed(kind.siphon, *bands, "most")
    zones = job_of(SITE + ZONES).site.zones
    three = dataclasses.replace(zones, groups=(("A",), ("B",), ("C",)))
    two = flooding_inflows(kind.siphon, slow, zones, 0.5, None)
    narrow = flooding_inflows(kind.siphon, slow, three, 0.5, None)
    assert (kind.target.low_m3_s, kind.target.high_m3_s) == flooding_inflows(
        kind.siphon, slow, zones, 0.5, None
    )
    assert narrow[0] > two[0]
    assert flooding_inflows(kind.siphon, slow, zones, 20.0, None) is None


def test_a_site_that_floods_too_often_for_zones_says_so():
    text = SITE.replace('floods = "0.5 per hour"', 'floods = "20 per hour"') + ZONES
    with pytest.raises(Infeasible, match="in 2 zones that flood in turn"):
        find_design(job_of(text))


def test_no_zone_is_left_empty_where_rows_may_be():
    # Only two beds are asked for; row A alone could hold them, but zone 2 must have water too.
    text = SITE.replace("[goal]", "[goal]\nbeds = 2") + ZONES
    design = find_design(job_of(text))
    assert all(zone.rows for zone in design.zones.zones)


def test_a_timed_valve_is_bought_on_pipe_that_lies_already_too():
    job = job_of(SITE + ZONES + '\n[[standing.pipe]]\nrun = "A"\nsize = "25 mm"\n')
    network = candidate_network(job.site)
    problem = formulate(job.site, job.catalog, network).problem
    lateral = next(s for s in problem.stretches if s.id == "lateral to A1")
    laid = [b for (_, name), b in lateral.table.items() if name == "pvcu10_25"]
    assert laid
    assert all(build.pipe == "" and build.cost_cents > build.later_cents > 0 for build in laid)
    design = find_design(Job(job.site, job.catalog))
    assert sum(line.cents for line in design.costs) == design.record.cost_cents


def test_without_zones_no_valve_draws_power_and_no_timer_is_bought():
    assert valve_power_cents(ALL_AT_ONCE) == EXACT
    assert timer_cents(ALL_AT_ONCE, shipped_catalog()) == EXACT
