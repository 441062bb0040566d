"""The drift allowance against the true flows of random trees."""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import replace

import numpy as np
import pytest

from optimizer.physics.drift import (
    GREATEST_EXPONENT,
    LEAST_EXPONENT,
    uniform_growth,
    valve_authority,
)
from optimizer.physics.friction import friction_factor
from optimizer.physics.pump import PumpCurve
from tests.physics.random_tree import Tree, pipe_law, random_tree, square_law
from tests.tolerances import FORMULA, SOLVER

ALLOWED = 0.08
SWINGS_M = (0.075, 0.15, 0.30)
RESIDUALS_M = np.geomspace(0.05, 60.0, 400)
SEEDS = range(14)
FLAT_PUMP = PumpCurve((0.0, 0.004), (5.0, 4.99), ())
FLAT_ENOUGH = 0.01
"""Relative: the flat pump's own slope, 10 mm in 5 m."""


def one(pump: PumpCurve, flow: float, residual: float, swing: float, allowed: float) -> float:
    return float(valve_authority(pump, np.array([flow]), np.array([residual]), swing, allowed)[0])


def least_residual_m(tree: Tree, swing_m: float) -> float | None:
    """The least head over the lowest outlet at which every bed keeps its authority.

    By halving: a head at which all keep it, where the next lower one tried lets some lose it.
    """
    flows = np.full(RESIDUALS_M.shape, tree.total_m3_s)
    authorities = valve_authority(tree.pump, flows, RESIDUALS_M, swing_m, ALLOWED)
    open_drops = tree.dropped_m(tree.flows_m3_s)

    def is_kept(at: int) -> bool:
        heads = tree.take_off_heads_m(RESIDUALS_M[at])
        return bool(np.all(heads >= open_drops) and np.all(heads >= authorities[at] * tree.rises_m))

    if not is_kept(len(RESIDUALS_M) - 1):
        return None
    least = bisect_left(range(len(RESIDUALS_M)), True, key=is_kept)
    return float(RESIDUALS_M[least])


def worst_drift(tree: Tree, residual_m: float, swing_m: float) -> float:
    return max(float(np.max(np.abs(tree.drift(residual_m, rise)))) for rise in (swing_m, -swing_m))


@pytest.mark.parametrize("swing_m", SWINGS_M)
@pytest.mark.parametrize("smooth", [False, True], ids=["square losses", "smooth pipe"])
def test_no_inflow_drifts_beyond_the_allowance_where_authority_is_kept(smooth, swing_m):
    # The tightest head that passes, valves set exactly, true flows by balancing every path.
    drifts = {}
    for seed in SEEDS:
        tree = random_tree(seed, smooth=smooth)
        residual = least_residual_m(tree, swing_m)
        if residual is not None:
            drifts[seed] = worst_drift(tree, residual, swing_m)
    assert len(drifts) > len(SEEDS) // 2
    assert {seed: drift for seed, drift in drifts.items() if drift > ALLOWED} == {}


def high_bed(rise_m: float) -> Tree:
    """Two beds on a flat pump, the second higher than the first."""
    flows = np.array([2.0e-4, 2.0e-4])
    drops = (square_law(2.0e-4, 0.1), square_law(2.0e-4, 0.1))
    return Tree(FLAT_PUMP, flows, ((), ()), (), drops, np.array([0.0, rise_m]))


def test_a_high_bed_without_its_authority_breaks_the_allowance():
    # Infeasible twin. The pump leaves 2 m over the lower outlet, so 0.7 m at a bed 1.3 m higher.
    # Its authority would ask for more. A fall of 0.15 m leaves it sqrt(0.55 / 0.7) = 88.6 % of its
    # inflow, while the lower bed keeps sqrt(1.85 / 2) = 96.2 %.
    tree = high_bed(1.3)
    assert tree.take_off_heads_m(2.0)[1] < 1.3 * one(FLAT_PUMP, 4.0e-4, 2.0, 0.15, ALLOWED)
    drift = tree.drift(2.0, -0.15)
    assert drift[0] == pytest.approx(math.sqrt(1.85 / 2.0) - 1.0, rel=FLAT_ENOUGH)
    assert drift[1] == pytest.approx(math.sqrt(0.55 / 0.7) - 1.0, rel=FLAT_ENOUGH)
    assert -drift[1] > ALLOWED


def test_the_same_high_bed_with_its_authority_keeps_the_allowance():
    # 1.4 m more at the pump leave 2.1 m at the high bed, more than its authority asks for; a fall
    # then takes 1 - sqrt(1.95 / 2.1) = 3.6 %.
    tree = high_bed(1.3)
    assert tree.take_off_heads_m(3.4)[1] > 1.3 * one(FLAT_PUMP, 4.0e-4, 3.4, 0.15, ALLOWED)
    assert worst_drift(tree, 3.4, 0.15) < ALLOWED


@pytest.mark.parametrize("rise_m", [0.15, -0.15])
def test_level_outlets_with_square_losses_all_grow_by_exactly_the_uniform_factor(rise_m):
    for seed in SEEDS:
        tree = random_tree(seed, smooth=False, level=True)
        flow, residual = np.array([tree.total_m3_s]), np.array([4.0])
        factor = uniform_growth(tree.pump, flow, residual, rise_m, 1.0 + math.copysign(0.2, rise_m))
        assert tree.drift(4.0, rise_m) == pytest.approx(factor[0] - 1.0, rel=SOLVER)


def test_level_outlets_on_smooth_pipe_grow_more_than_by_squares_but_within_the_least_power():
    # Losses that grow by a power between a and b: the growth lies between (1 + s/R)^(1/b) on a
    # flat pump and (1 + s/R)^(1/a).
    for seed in SEEDS:
        tree = random_tree(seed, smooth=True, level=True)
        tree = replace(tree, pump=PumpCurve((0.0, 0.1), (9.0, 8.999), ()))
        residual = float(np.max(tree.lost_m(tree.flows_m3_s)) + 1.0)
        grown = 1.0 + tree.drift(residual, 0.1 * residual)
        assert np.max(grown) < 1.1 ** (1.0 / LEAST_EXPONENT)
        assert np.max(grown) > 1.1 ** (1.0 / GREATEST_EXPONENT) * (1.0 - 1e-3)


def test_a_far_bed_on_smooth_pipe_keeps_the_allowance_beside_valves_on_a_steep_pump():
    # The hard case for mixed powers: ten beds whose valves lose by the square hold the pump's flow
    # back, so its head sinks less than smooth pipe would have it, and the far bed, its head lost
    # in 38 m of smooth pipe, gets the difference. Counting the pump's relief by the power 1.75 of
    # the far bed let this one drift by 9.1 %; counting it by the square keeps 8 %.
    far, near = 6.0 / 60_000.0, 60.0 / 60_000.0
    speed = far / (math.pi / 4.0 * 0.0209**2)
    drops = (pipe_law(far, speed, 37.8, 4.0), square_law(near, 0.3))
    steps = np.linspace(0.0, 1.5, 40)
    pump = PumpCurve(tuple(steps * (far + near)), tuple(20.0 - 8.0 * steps**2), ())
    tree = Tree(pump, np.array([far, near]), ((), ()), (), drops, np.zeros(2))
    residual = 0.3
    swing = _greatest_swing_m(pump, tree.total_m3_s, residual)
    assert 0.95 * ALLOWED < worst_drift(tree, residual, swing) < ALLOWED


def _greatest_swing_m(pump: PumpCurve, flow: float, residual: float) -> float:
    """The greatest swing at which level outlets are allowed, by halving."""
    low, high = 0.0, 5.0
    for _ in range(50):
        middle = (low + high) / 2.0
        if math.isnan(one(pump, flow, residual, middle, ALLOWED)):
            high = middle
        else:
            low = middle
    return low


def test_on_a_flat_pump_the_authority_is_that_of_the_formula():
    # A pump whose head never changes: Y^2 - 1 = s / R, so t = s / R for a rise and a fall alike;
    # the fall has the smaller u, 1 - 0.92^1.7.
    flat = PumpCurve((0.0, 1.0), (5.0, 5.0 - 1e-12), ())
    t, u = 0.15 / 2.0, 1.0 - 0.92**LEAST_EXPONENT
    assert one(flat, 4.0e-4, 2.0, 0.15, ALLOWED) == pytest.approx(t / (u - t), rel=FORMULA)


def test_a_steeper_pump_needs_less_authority():
    steep = PumpCurve((0.0, 0.004), (9.0, 1.0), ())
    assert one(steep, 4.0e-4, 2.0, 0.15, ALLOWED) < one(FLAT_PUMP, 4.0e-4, 2.0, 0.15, ALLOWED)


def test_a_still_sump_asks_for_no_authority():
    assert one(FLAT_PUMP, 4.0e-4, 2.0, 0.0, ALLOWED) == 0.0


def test_no_authority_suffices_where_level_outlets_drift_too_far_already():
    # On a flat pump t = s / R must stay below u = 1 - 0.92^1.7 = 0.132: R above 1.14 m.
    assert math.isnan(one(FLAT_PUMP, 4.0e-4, 1.0, 0.15, ALLOWED))
    assert one(FLAT_PUMP, 4.0e-4, 1.3, 0.15, ALLOWED) > 0.0


def test_no_authority_suffices_without_head_over_the_lift_or_off_the_curve():
    assert math.isnan(one(FLAT_PUMP, 4.0e-4, 0.0, 0.15, ALLOWED))
    assert math.isnan(one(FLAT_PUMP, 4.0e-4, -1.0, 0.15, ALLOWED))
    assert math.isnan(one(FLAT_PUMP, 0.0039, 2.0, 0.15, ALLOWED))


@pytest.mark.parametrize(("swing_m", "allowed"), [(-0.1, 0.08), (0.1, 0.0), (0.1, 1.0)])
def test_swings_and_allowances_outside_their_limits_are_refused(swing_m, allowed):
    with pytest.raises(ValueError, match="allowed drift"):
        one(FLAT_PUMP, 4.0e-4, 2.0, swing_m, allowed)


def test_the_least_power_is_that_of_smooth_pipe_where_turbulence_begins():
    # Loss grows as f Re^2. Between Re 4000 and 4004 in smooth pipe by Colebrook's formula.
    low, high = 4000.0, 4004.0
    factors = friction_factor(low, 0.0), friction_factor(high, 0.0)
    power = 2.0 + math.log(factors[1] / factors[0]) / math.log(high / low)
    assert 0.0 < power - LEAST_EXPONENT < 0.005
