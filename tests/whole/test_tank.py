"""Beds fed by gravity from a tank that the pump fills, from site file to checked design."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from optimizer.alternatives import design_layouts
from optimizer.candidates.network import candidate_network
from optimizer.errors import BadInput, Infeasible
from optimizer.formulate.build import formulate
from optimizer.job import Job
from optimizer.milp.composed import solve_composed
from optimizer.milp.solve import solve_complete
from optimizer.pack.reconcile import UNEXPLAINED, differences
from optimizer.pack.shopping import shopping_list
from optimizer.physics.pump import PumpCurve
from optimizer.records.header_tank import TANK_RISER, HeaderTank
from optimizer.simulate.day.power_cut import power_cut
from optimizer.simulate.day.run import simulate_day
from optimizer.simulate.day.scenario import Scenario
from tests.builders.random_site import random_site
from tests.oracles.network_oracle import Edge, darcy_loss
from tests.tolerances import FORMULA, SOLVER
from tests.whole.feature_sites import job_of, row_text, site_text

VISCOSITY_20_M2_S = 1.0034e-6
"""Water at 20 C."""
VISCOSITY_SHARE = 1e-3
"""Relative: loss under that viscosity against the program's own."""
ROWS = (row_text("A", (2, 1), 2), row_text("B", (2, 4), 2))


def tank_text(level_m: float = 2.0, more: str = "") -> str:
    return (
        f'[header_tank]\nat = ["0.5 m", "1 m"]\nwater_level = "{level_m} m"\n'
        f'part = "sump_0200"\n{more}'
    )


def job_with(folder, *tables: str, rows=ROWS):
    return job_of(folder, site_text(*rows, *tables))


@pytest.fixture(scope="module")
def answer(tmp_path_factory):
    return design_layouts(job_with(tmp_path_factory.mktemp("tank"), tank_text()))


def test_a_tank_fed_design_passes_its_check_and_a_day(answer):
    assert answer.check.passed, answer.check.failures
    assert answer.design.record.status == "optimal"


@pytest.mark.parametrize("fed_by_tank", [True, False])
def test_a_sump_too_shallow_for_the_level_that_is_kept_is_told_with_both(tmp_path, fed_by_tank):
    # The one sump allowed is 1 m deep with 0.08 m kept dry.
    job = job_with(tmp_path, tank_text())
    site = replace(job.site, purchase=replace(job.site.purchase, lowest_level_least_m=5.0))
    tank = site.header_tank if fed_by_tank else None
    with pytest.raises(Infeasible, match=r"kept at least 5\.00 m deep") as told:
        design_layouts(Job(replace(site, header_tank=tank), job.catalog))
    assert "at most 0.92 m" in told.value.clash


def test_no_inflow_moves_with_the_sump_while_the_pump_does(answer):
    # The tank's overflow holds its level, and nothing below the tank knows of the sump.
    for run in answer.check.beds:
        low, middle, high = run.inflow_m3_s
        assert (low, high) == (pytest.approx(middle, rel=FORMULA),) * 2
    low, middle, high = answer.check.pump_flow_m3_s
    assert low < middle < high
    # It brings more than the beds take with every valve set 7 % too wide.
    taken = sum(run.inflow_m3_s[0] for run in answer.check.beds)
    assert low >= 1.07 * taken


def test_the_pump_and_the_riser_meet_where_an_independent_law_says(answer):
    # Head of the pump = rise from the sump's water to the riser's end + loss at that flow.
    design = answer.design
    riser = next(s for s in design.stretches if s.id == TANK_RISER)
    k = sum(f.count * f.loss_coefficient for f in riser.fittings)
    edge = Edge(riser.id, "pump", "tank", riser.length_m, riser.bore_m, riser.roughness_m, k)
    loss = darcy_loss([edge], VISCOSITY_20_M2_S)
    pump = PumpCurve(design.pump.flows_m3_s, design.pump.heads_m, design.pump.watts)
    for level_m, flow in zip(
        (design.sump.lowest_m, design.sump.setting_m, design.sump.highest_m),
        design.tank.pump_flow_m3_s,
        strict=True,
    ):
        rise_m = design.tank.inlet_level_m - design.sump.floor_level_m - level_m
        lost_m = float(loss(np.array([flow]))[0])
        assert pump.head_m(flow) == pytest.approx(rise_m + lost_m, rel=VISCOSITY_SHARE)


def test_a_power_cut_brings_down_the_pipes_below_the_tank_and_the_water_over_its_outlet(answer):
    # sump_0200 has 0.4 m2 of water: 0.2 m over the outlet are 80 L. The riser's valve holds.
    design = answer.design
    below = sum(s.volume_m3 for s in design.stretches if s.id != TANK_RISER)
    area = design.sump.area_m2 * design.sump.count
    rise_m = design.sump.power_cut_m - design.sump.highest_m
    assert rise_m == pytest.approx((below + 0.4 * 0.2) / area, rel=FORMULA)
    assert design.sump.power_cut_m <= design.sump.depth_m - design.sump.freeboard_m
    cut = power_cut(design)
    assert cut.keeps_freeboard and not cut.overflows
    # The simulated day with the pump standing for an hour reaches no higher.
    day = simulate_day(design, Scenario(hours=3.0, pump_off=((3600.0, 7200.0),)))
    assert day.sump_highest_m <= cut.highest_m + 1e-9


def test_a_tank_whose_water_would_overflow_the_sump_is_refused_with_the_room_it_lacks(tmp_path):
    # sump_1500 as a tank has 2 m2 of water: with its outlet 0.6 m down, 1.2 m3 run down in a power
    # cut; four sump_0500 of 0.9 m2 hold at most 4 x 0.9 x 0.51 = 1.8 m3 in all, and swing.
    tank = tank_text(more='outlet_below_water = "0.6 m"\n').replace("sump_0200", "sump_1500")
    text = site_text(*ROWS, tank).replace('"sump_0500", "sump_1000"', '"sump_0300"')
    with pytest.raises(Infeasible) as caught:
        design_layouts(job_of(tmp_path, text))
    told = {r.requirement: r.change for r in caught.value.remedies}
    assert "a power cut must not overflow the sump" in told
    assert '"sump_2000"' in told["sumps that may be bought"]
    wider = text.replace('"sump_0300"', '"sump_0300", "sump_2000"')
    assert design_layouts(job_of(tmp_path, wider)).check.passed


def test_a_tank_too_low_for_the_pipes_is_refused_with_how_much_higher_it_must_stand(tmp_path):
    # Water enters the tubs at 0.6 + 0.3 + 0.05 = 0.95 m. A tank 1 cm higher cannot drive a drop.
    low = tank_text(0.96, 'outlet_below_water = "0.1 m"\n')
    with pytest.raises(Infeasible) as caught:
        design_layouts(job_with(tmp_path, low))
    remedy = caught.value.remedies[0]
    assert remedy.requirement == "the head that the tank must give"
    assert remedy.change.startswith("raise the water of the tank over the beds by at least")
    # The change suffices, to the centimetre.
    more_m = float(remedy.change.split()[-2])
    enough = tank_text(0.96 + more_m, 'outlet_below_water = "0.1 m"\n')
    assert design_layouts(job_with(tmp_path, enough)).check.passed
    less = tank_text(0.96 + more_m - 0.02, 'outlet_below_water = "0.1 m"\n')
    with pytest.raises(Infeasible):
        design_layouts(job_with(tmp_path, less))


def test_the_least_cost_is_that_of_the_cheapest_lift_and_the_cheapest_pipes(tmp_path):
    # The tank parts the design in two: what fills it (pump, riser, overflow, band of levels) and
    # what it feeds (each stretch's size), bound only by the flow. For one bed every size of every
    # stretch is tried with losses by an independent law, and of every lift the cheapest is taken.
    job = job_with(tmp_path, tank_text(1.3), rows=(row_text("A", (2, 1), 1),))
    answer = design_layouts(job)
    design, network = answer.design, candidate_network(job.site)
    made = formulate(job.site, job.catalog, network)
    pipes = [job.catalog.pipes[p] for p in job.site.purchase.pipes]
    supply = {s.id: s for s in made.problem.stretches}
    inflow = design.kinds[0].inflow_m3_s

    def loss_m(stretch, pipe, build):
        laid = next(s for s in design.stretches if s.id == stretch)
        k = laid.loss_coefficient + (design.beds[0].valve_losses[-1] if "drop" in stretch else 0.0)
        edge = Edge(stretch, "a", "b", laid.length_m, pipe.bore_m, pipe.roughness_m, k)
        lost = float(darcy_loss([edge], VISCOSITY_20_M2_S)(np.array([inflow]))[0])
        assert build.loss_m == pytest.approx(lost, rel=VISCOSITY_SHARE)
        return lost

    ways = []
    for stretch in supply.values():
        found = []
        for (_, name), build in stretch.table.items():
            pipe = next(p for p in pipes if name.split(" + ")[0] == p.id)
            found.append((build.cost_cents, loss_m(stretch.id, pipe, build)))
        ways.append(found)
    head_m = 1.3 - design.beds[0].outlet_level_m
    fed = [
        sum(cost for cost, _ in picks)
        for picks in product(*ways)
        if sum(lost for _, lost in picks) <= head_m
    ]
    lifted = [
        option.cost_cents + duty.running_cents
        for option in made.problem.pumps
        for duty in made.problem.pump_duties
        if duty.pump == option.id and math.isclose(duty.flow_steps * 0.1 / 60_000.0, inflow)
    ]
    bed = min(p.cost_cents for p in made.problem.plans)
    sump = min(s.cost_cents for s in made.problem.sumps)
    drains = sum(c.cents for c in design.costs if "return" in c.what)
    known = bed + sump + drains + made.problem.fixed_cents
    assert design.record.cost_cents == min(fed) + min(lifted) + known


def test_what_a_lift_costs_is_added_up_from_the_catalog(tmp_path, answer):
    # Riser, overflow, tank: metres by price, fittings by count and price, each line rounded once.
    design, catalog = answer.design, job_with(tmp_path, tank_text()).catalog
    lines = {line.what: line for line in design.costs}
    tank = next(line for what, line in lines.items() if what.startswith("header tank"))
    assert tank.cents == round(100 * catalog.sumps["sump_0200"].price)
    pipe = catalog.pipes[design.tank.overflow_pipe]
    overflow = lines[f"overflow pipe {pipe.nominal}"]
    assert overflow.cents == round(100 * pipe.price_per_m * design.tank.overflow_length_m)
    assert sum(line.cents for line in design.costs) == design.record.cost_cents


@pytest.mark.parametrize("seed", range(4))
def test_random_sites_fed_by_a_tank_pass_their_check_whichever_program_designs_them(seed):
    # The tank stands a metre over the highest bed that may be built.
    site, catalog = random_site(seed, 6)
    types = {t.id: t for t in site.bed_types}
    inlet_m = max(
        row.level_m + catalog.stands[types[t].stand].height_m
        + catalog.containers[types[t].container].depth_m
        for row in site.rows for t in row.bed_types
    )  # fmt: skip
    tank = HeaderTank((site.ground.sump[0] - 0.4, site.ground.sump[1]), inlet_m + 1.05, "sump_0300")
    ground = replace(site.ground, corridors=(), keep_outs=())
    site = replace(site, ground=ground, header_tank=tank)
    problem = formulate(site, catalog, candidate_network(site)).problem
    try:
        complete = solve_complete(problem, gap=0.0)
    except Infeasible:
        with pytest.raises(Infeasible):
            solve_composed(problem, gap=0.0)
        return
    composed = solve_composed(problem, gap=0.0)
    assert composed.record.cost_cents == pytest.approx(complete.record.cost_cents, rel=SOLVER)
    answer = design_layouts(Job(site, catalog))
    assert answer.check.passed, answer.check.failures


FISH = """\
[fish_tank]
volume = "800 L"
water_level = "{level} m"
turnovers = "1 per hour"
feed_per_day = "0.1 kg"
crop = "leafy"
"""
FISH_FEEDS = '[header_tank]\nat = ["0.5 m", "1 m"]\nwater_level = "1.9 m"\nsurface = "1.2 m2"\n'


def test_the_fish_tank_may_feed_the_beds_with_the_whole_pumped_flow_through_it(tmp_path):
    answer = design_layouts(job_with(tmp_path, FISH.format(level=1.9), FISH_FEEDS))
    design = answer.design
    assert answer.check.passed, answer.check.failures
    assert design.fish.feeds_beds and design.tank.part == ""
    assert not any(line.what.startswith("header tank") for line in design.costs)
    # All that is pumped, overflow included, turns its water over.
    often = design.pump.duty_flow_m3_s * 3600.0 / 0.8
    assert design.fish.turnovers_per_hour == pytest.approx(often, rel=FORMULA)


def test_fish_that_need_more_flow_than_any_pump_brings_are_refused(tmp_path):
    # 60 turnovers of 800 L an hour are 800 L/min.
    busy = FISH.format(level=1.9).replace("1 per hour", "60 per hour")
    with pytest.raises(Infeasible):
        design_layouts(job_with(tmp_path, busy, FISH_FEEDS))


def test_a_fish_tank_on_the_return_has_all_return_pipe_end_above_its_water(tmp_path):
    answer = design_layouts(job_with(tmp_path, FISH.format(level=0.15)))
    (last,) = (d for d in answer.design.drains if d.head == "sump")
    assert answer.check.passed, answer.check.failures
    assert last.lower_invert_m >= 0.15 - 1e-6


def test_a_fish_tank_too_high_for_the_return_pipes_fall_is_refused_with_the_fall_it_lacks(tmp_path):
    # Siphons end at 0.6 - 0.15 = 0.45 m; the air gap, the pipe and its fall need more than 2 cm.
    with pytest.raises(Infeasible) as caught:
        design_layouts(job_with(tmp_path, FISH.format(level=0.43)))
    assert [r.requirement for r in caught.value.remedies] == ["return pipe must fall to the sump"]


def test_a_tank_beyond_a_keep_out_cannot_be_filled(tmp_path):
    wall = '[[ground.keep_out]]\nname = "wall"\nfrom = ["-1 m", "0.4 m"]\nto = ["1 m", "0.6 m"]'
    with pytest.raises(BadInput) as caught:
        design_layouts(job_with(tmp_path, tank_text(), wall))
    (problem,) = caught.value.problems
    assert (problem.where, "keep-out 'wall'" in problem.what) == ("header_tank.at", True)


def test_the_shopping_list_of_a_tank_fed_site_leaves_no_cent_unexplained(answer):
    # Tank, riser and overflow are on it; every step from the design's cost to the list's total is
    # named, the last is rounding.
    found = shopping_list(answer.design)
    _, steps = differences(answer.design, found)
    assert UNEXPLAINED not in {step.why for step in steps}
    assert any(line.note == "over the beds" for line in found.lines)
    pieces = {piece.stretch for cut in found.cuts for piece in cut.pieces}
    assert {"overflow of the tank", TANK_RISER} <= pieces
