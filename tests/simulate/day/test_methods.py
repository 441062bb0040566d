"""The parts that the engines are made of, each against an independent form of it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.physics.bed import SiphonBed
from optimizer.simulate.day import march
from optimizer.simulate.day.bed_arrays import bed_arrays
from optimizer.simulate.day.initial import cycle_parts_s, initial_state
from optimizer.simulate.day.passages import DRAIN_NODES, Passages, drain_passages
from optimizer.simulate.day.plant import plant_of
from optimizer.simulate.day.returns import given_at_nodes, given_terms, polynomial
from optimizer.simulate.day.run import run_plant
from optimizer.simulate.day.scenario import Scenario
from optimizer.simulate.day.segment import Segment
from tests.builders.make_design import make_design
from tests.tolerances import FORMULA, SOLVER

ORDER = 1e-14
"""Rounding of sums of a dozen fractions near 1."""

BED = SiphonBed(1.2, 0.4, 0.03, 0.25, 0.02664, -0.15, 5.0)


def test_the_marchs_coefficients_keep_the_order_conditions_of_a_fifth_order_pair():
    # Butcher's conditions sum b c^(k-1) = 1/k, k to 5, and rows that sum to their times
    # (textbook; E. Hairer, S. Norsett, G. Wanner, Solving ODEs I: from memory, not verified).
    times = np.array([0.0, *march._TIMES[:5]])
    weights = np.array(march._STAGES[5])
    for k in range(1, 6):
        assert np.sum(weights * times ** (k - 1)) == pytest.approx(1.0 / k, abs=ORDER)
    for row, at in zip(march._STAGES, march._TIMES, strict=True):
        assert sum(row) == pytest.approx(at, abs=ORDER)


@given(share=st.floats(0.01, 0.99))
@settings(max_examples=50, deadline=None)
def test_parts_of_a_cycle_equal_the_bed_s_own_closed_forms(share):
    inflow = BED.start_flow_m3_s + share * (BED.stop_flow_m3_s - BED.start_flow_m3_s)
    fill, prime, drain = (
        float(part[0]) for part in cycle_parts_s(np.array([inflow]), bed_arrays([BED]))
    )
    assert prime == pytest.approx(BED.prime_s(inflow), rel=FORMULA)
    assert fill + prime == pytest.approx(BED.fill_s(inflow), rel=FORMULA)
    assert drain == pytest.approx(BED.drain_s(inflow), rel=FORMULA)


@pytest.mark.parametrize("swing", [0.02, -0.05])
def test_draining_under_a_changing_inflow_equals_stepping_it(swing):
    # Inflow q (1 + swing t / 300), t the time since priming, stepped by 20,000 midpoint steps.
    q, arrays = 2e-4, bed_arrays([BED])
    volume, time, step = arrays.prime_m3[0], 0.0, 0.02

    def inflow(t):
        return q * (1.0 + swing * t / 300.0)

    def rate(t, v):
        return inflow(t) - float(arrays.siphon_m3_s(np.array([v]))[0])

    while volume > 0.0:
        middle = volume + 0.5 * step * rate(time, volume)
        change = step * rate(time + 0.5 * step, middle)
        if volume + change <= 0.0:
            break
        volume, time = volume + change, time + step
    stepped = time + volume / -rate(time, volume)
    mine = drained_under(lambda t: q * (t + swing * t * t / 600.0), q, arrays)
    assert mine == pytest.approx(stepped, rel=SOLVER)


def drained_under(total, first, arrays):
    """Sweep one draining under an inflow of given integral until it settles."""
    columns = type(arrays)(*(getattr(arrays, n)[:, None] for n in arrays.__dataclass_fields__))
    start = arrays.prime_m3[:, None]
    found = drain_passages(start, np.full((1, 1), first), np.zeros((1, 1, DRAIN_NODES)), columns)
    for _ in range(30):
        mean = total(found.length_s) / found.length_s
        strays = total(found.nodes_s) - mean[..., None] * found.nodes_s
        found = drain_passages(start, mean, strays, columns)
    return float(found.length_s[0, 0])


def one_passage():
    return Passages(
        length_s=np.array([100.0]),
        nodes_s=np.zeros((1, 1)),
        total_m3=np.array([2.0]),
        middle_share=np.array([0.4]),
        middle_m3=np.array([0.9]),
        flows_m3_s=(np.array([0.03]), np.array([0.02]), np.array([0.01])),
    )


def test_the_water_given_has_the_right_values_and_flows_at_three_times():
    terms, step = given_terms(one_passage())[:, 0], 1e-6
    for share, value, flow in ((0.0, 0.0, 0.03), (0.4, 0.9, 0.02), (1.0, 2.0, 0.01)):
        around = polynomial(terms, np.array([share - step, share, share + step]))
        assert around[1] == pytest.approx(value, abs=FORMULA)
        assert (around[2] - around[0]) / (2.0 * step * 100.0) == pytest.approx(flow, rel=SOLVER)


def test_water_given_at_nodes_is_the_polynomial_inside_and_the_total_after():
    # Cells of 30 s: the passage of 100 s from 20 s on ends in the fourth.
    begin = np.array([20.0 / 30.0])
    held, means = given_at_nodes(begin, 30.0, one_passage(), 0, 6)
    terms = given_terms(one_passage())[:, 0]

    def water(t):
        return np.where(t < 20.0, 0.0, polynomial(terms, np.clip((t - 20.0) / 100.0, 0.0, 1.0)))

    assert held == pytest.approx(water(30.0 * np.arange(7)), rel=FORMULA)
    for cell in range(6):
        fine = 30.0 * (cell + (np.arange(20000) + 0.5) / 20000)
        assert means[cell] == pytest.approx(water(fine).mean(), rel=SOLVER)


@pytest.mark.parametrize("phase", [0.0, 0.3, 0.64, 0.66, 0.7, 0.95])
def test_a_bed_at_a_phase_breaks_after_the_rest_of_its_cycle(phase):
    plant = plant_of(make_design())
    scenario = Scenario(hours=0.5, start=(phase,) * 4)
    state = initial_state(plant, scenario)
    assert np.all(state.volume_m3 <= plant.beds.prime_m3 * (1.0 + FORMULA))
    run = run_plant(plant, scenario, feedback=False)
    inflow = plant.setting_inflows_m3_s().tolist()
    times, beds = run.times_of(2)
    for bed, siphon in enumerate(plant.siphons):
        expected = (1.0 - phase) * siphon.cycle_s(inflow[bed])
        assert times[beds == bed][0] == pytest.approx(expected, rel=FORMULA)


@pytest.mark.parametrize("over_m", [0.004, 0.0005])
def test_a_bed_whose_valve_shut_over_its_rim_runs_out_as_a_weir_does(over_m):
    # Without inflow A dH/dt = -w H^1.5, so H^-1/2 grows by w t / (2 A), the sump whatever it does;
    # the march may take long steps there, and what it runs beside it still floods.
    plant = plant_of(make_design())
    shut, beds = plant.design.beds[0].id, plant.beds
    state = initial_state(plant, Scenario(hours=0.5, start=(0.3,) * 4))
    state.volume_m3[0] = beds.crest_m3[0] + over_m * beds.store_m2[0]
    times = np.array([0.0, 10.0, 60.0, 300.0, 899.0])
    table, held = plant.table(frozenset({shut})), plant.design.sump.setting_m
    segment = Segment(0.0, 900.0, beds, table, held, plant.area_m2, plant.free_m3, 0.0, times)
    run = march.march(segment, state)
    root = over_m**-0.5 + beds.weir_scale[0] * times / (2.0 * beds.store_m2[0])
    expected = beds.crest_m3[0] + beds.store_m2[0] * root**-2.0
    assert run.volumes_m3[:, 0] - beds.crest_m3[0] == pytest.approx(
        expected - beds.crest_m3[0], rel=SOLVER
    )
    assert set(run.bed.tolist()) == {1, 2, 3}
