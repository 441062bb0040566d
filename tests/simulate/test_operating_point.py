"""Operating points of whole designs, against the independent oracle and against themselves."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from optimizer.physics.water import kinematic_viscosity_m2_s
from optimizer.simulate.operating_point import operating_point
from optimizer.simulate.valves import set_valves
from tests.builders.make_design import make_design, make_design_of
from tests.oracles import network_oracle
from tests.simulate.random_designs import oracle_edges, random_design
from tests.tolerances import FORMULA, SOLVER

SUMP_LEVEL_M = 0.45
NOTHING_M3_S = 1e-6
"""Below 60 mL/min a bed counts as dry."""


def oracle_point(design, valve_losses):
    edges = oracle_edges(design, valve_losses)
    curve = PchipInterpolator(design.pump.flows_m3_s, design.pump.heads_m, extrapolate=True)
    return network_oracle.solve(
        edges,
        network_oracle.darcy_loss(edges, kinematic_viscosity_m2_s(20.0)),
        "pump",
        lambda q: design.sump.floor_level_m + SUMP_LEVEL_M + float(curve(q)),
        {bed.id: bed.outlet_level_m for bed in design.beds},
        start=1.5e-4,
    )


def assert_as_the_oracle(design, valve_losses):
    flows, heads = oracle_point(design, valve_losses)
    assert min(flows[bed.drop] for bed in design.beds) > NOTHING_M3_S
    point = operating_point(design, valve_losses, SUMP_LEVEL_M)
    greatest = point.pump_flow_m3_s
    for name, flow in flows.items():
        assert point.flows_m3_s[name] == pytest.approx(flow, rel=SOLVER, abs=SOLVER * greatest)
    for node, head in point.heads_m.items():
        assert head == pytest.approx(heads[node], rel=SOLVER)


@pytest.mark.parametrize("name", ["sump water", "tank inlet", "sump", "riser"])
def test_a_bed_and_its_pipe_may_be_called_as_something_else_of_the_network_is(name):
    # A name is a name: the same design runs the same whatever its first bed is called.
    design = make_design_of(2, 2)
    first, *others = design.beds
    renamed = dataclasses.replace(
        design,
        beds=(dataclasses.replace(first, id=name, drop="pump"), *others),
        stretches=tuple(
            dataclasses.replace(s, id="pump", head=name) if s.id == first.drop else s
            for s in design.stretches
        ),
    )
    losses = set_valves(design).losses
    plain = operating_point(design, losses, SUMP_LEVEL_M)
    losses[name] = losses.pop(first.id)
    point = operating_point(renamed, losses, SUMP_LEVEL_M)
    assert point.flows_m3_s["pump"] == pytest.approx(plain.flows_m3_s[first.drop], rel=FORMULA)
    assert point.pump_flow_m3_s == pytest.approx(plain.pump_flow_m3_s, rel=FORMULA)


@pytest.mark.parametrize(("seed", "beds"), [(s, 5 + 5 * s) for s in range(12)])
def test_random_trees_run_as_the_oracle_says(seed, beds):
    assert_as_the_oracle(*random_design(seed, beds))


@pytest.mark.parametrize(("seed", "beds", "rings"), [(1, 6, 1), (2, 10, 2), (3, 16, 3), (4, 30, 5)])
def test_random_networks_with_rings_run_as_the_oracle_says(seed, beds, rings):
    assert_as_the_oracle(*random_design(seed, beds, rings))


@pytest.mark.parametrize("rings", [0, 2])
@pytest.mark.parametrize("seed", [5, 6])
def test_valves_set_then_solved_give_the_promised_inflows(seed, rings):
    design, _ = random_design(seed, 12, rings)
    valves = set_valves(design)
    point = operating_point(design, valves.losses, design.sump.setting_m)
    kinds = {kind.id: kind for kind in design.kinds}
    for bed in design.beds:
        promised = kinds[bed.kind].inflow_m3_s
        assert point.flows_m3_s[bed.drop] == pytest.approx(promised, rel=SOLVER)


def test_valves_set_by_the_check_stand_where_the_builder_worked_out_by_hand():
    # The builder adds losses along each path of its tree and leaves the rest to the valve.
    design = make_design()
    settings_found = set_valves(design).settings
    for bed in design.beds:
        assert settings_found[bed.id].head_m == pytest.approx(bed.valve_head_m, rel=FORMULA)
        assert settings_found[bed.id].opening == pytest.approx(bed.valve_opening, rel=FORMULA)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.floats(0.0, 0.8), st.floats(0.001, 0.5))
def test_raising_the_sump_level_raises_every_inflow(seed, low_m, rise_m):
    design, losses = random_design(seed, 8)
    before = operating_point(design, losses, low_m)
    after = operating_point(design, losses, low_m + rise_m)
    for bed in design.beds:
        assert after.flows_m3_s[bed.drop] > before.flows_m3_s[bed.drop]


def test_opening_one_valve_takes_water_from_every_other_bed():
    design, losses = random_design(7, 9)
    opened = {**losses, "bed_0": losses["bed_0"] / 10.0}
    before = operating_point(design, losses, SUMP_LEVEL_M).flows_m3_s
    after = operating_point(design, opened, SUMP_LEVEL_M).flows_m3_s
    assert after["drop_0"] > before["drop_0"]
    assert all(after[f"drop_{i}"] < before[f"drop_{i}"] for i in range(1, 9))


def test_a_bed_above_the_pumps_reach_gets_nothing_and_gives_nothing_back():
    # Shut-off head 9 m and a level of 0.45 m cannot lift water to 15 m.
    design, losses = random_design(8, 6)
    high = dataclasses.replace(design.beds[0], outlet_level_m=15.0)
    design = dataclasses.replace(design, beds=(high, *design.beds[1:]))
    point = operating_point(design, losses, SUMP_LEVEL_M)
    assert abs(point.flows_m3_s["drop_0"]) < NOTHING_M3_S
    assert all(point.flows_m3_s[bed.drop] > NOTHING_M3_S for bed in design.beds[1:])


def test_two_pumps_in_parallel_are_one_pump_of_twice_the_flow():
    design, losses = random_design(9, 6)
    half = tuple(q / 2.0 for q in design.pump.flows_m3_s)
    pair = dataclasses.replace(design.pump, flows_m3_s=half, count=2)
    one = operating_point(design, losses, SUMP_LEVEL_M)
    two = operating_point(dataclasses.replace(design, pump=pair), losses, SUMP_LEVEL_M)
    assert two.pump_flow_m3_s == pytest.approx(one.pump_flow_m3_s, rel=FORMULA)


@pytest.mark.parametrize("level_m", [-30.0, 0.5, 30.0])
def test_a_thousand_beds_are_solved_at_any_sump_level(level_m):
    design = make_design_of(50, 20)
    losses = dict.fromkeys((bed.id for bed in design.beds), 100.0)
    point = operating_point(design, losses, level_m)
    drawn = sum(point.flows_m3_s[bed.drop] for bed in design.beds)
    assert drawn == pytest.approx(point.pump_flow_m3_s, rel=FORMULA, abs=NOTHING_M3_S)


def test_a_pipe_all_but_shut_is_still_solved():
    # K 5e5 in the second row's header loses over 1000 m at its promised inflow.
    design = make_design()
    shut = tuple(
        dataclasses.replace(s, loss_coefficient=5e5) if s.id == "header_2" else s
        for s in design.stretches
    )
    settings_found = set_valves(dataclasses.replace(design, stretches=shut)).settings
    assert settings_found["bed_2_1"].head_m < -1000.0
    assert settings_found["bed_1_1"].head_m == pytest.approx(
        set_valves(design).settings["bed_1_1"].head_m, rel=SOLVER
    )
