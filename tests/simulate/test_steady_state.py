"""The solver alone, against hand arithmetic, printed answers and a published ring network."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from optimizer.errors import BadInput
from optimizer.physics.pipe import head_loss_m
from optimizer.physics.pump import PumpCurve
from optimizer.simulate import newton_system
from optimizer.simulate import steady_state as steady
from optimizer.simulate.edge_losses import DarcyWeisbachPipes
from optimizer.simulate.network import Network
from optimizer.simulate.newton_system import NewtonSystem
from optimizer.simulate.operating_point import operating_point
from optimizer.simulate.steady_state import NotSolved, steady_state
from optimizer.simulate.valves import set_valves
from tests.builders.make_design import make_design_of
from tests.tolerances import FORMULA

INCH_M = 0.0254

PRINTED_THREE_FIGURES = 1e-3
"""Relative: the pump problem's answer, as reproduced, is stated to 0.1 %."""

PRINTED_HEAD_M = 0.01
"""The two-loop heads are printed to 0.01 m."""

TWO_LOOPS = (  # tail, head, bore in inches
    ("1", "2", 18),
    ("2", "3", 10),
    ("2", "4", 16),
    ("3", "5", 10),
    ("4", "5", 4),
    ("4", "6", 16),
    ("5", "7", 1),
    ("6", "7", 10),
)
TWO_LOOP_DRAWS_M3_H = {"2": 100, "3": 100, "4": 120, "5": 270, "6": 330, "7": 200}
TWO_LOOP_HEADS_M = {"2": 203.25, "3": 190.46, "4": 198.45, "5": 183.81, "6": 195.45, "7": 190.55}


class TwoLoopPipes:
    """Eight pipes of 1000 m with h = 10.667 L Q^1.852/(C^1.852 D^4.871), C 130."""

    def __init__(self, bores_m):
        self.scales = 10.667 * 1000.0 / (130.0**1.852 * bores_m**4.871)

    def head_loss_m(self, flows):
        return self.scales * np.sign(flows) * np.abs(flows) ** 1.852


def two_loop_network():
    tails, heads, inches = zip(*TWO_LOOPS, strict=True)
    network = Network(tuple(f"{a}-{b}" for a, b, _ in TWO_LOOPS), tails, heads, ("1",))
    bores = np.array(inches) * INCH_M
    draws = np.array([TWO_LOOP_DRAWS_M3_H[node] / 3600.0 for node in network.nodes])
    return network, TwoLoopPipes(bores), draws


class PumpAndSystem:
    """Edge 0 a pump 7.46 - 0.0453 V^2, edge 1 a pipe 0.0261 V^2; metres and L/min."""

    def head_loss_m(self, flows):
        return flows * np.abs(flows) * [0.0453, 0.0261] - [7.46, 0.0]


def test_a_pump_against_a_rising_main_meets_where_the_textbook_says():
    # Cengel & Cimbala, Fluid Mechanics, ch. 14 problem (data read, answer recalled and
    # reproduced): 7.46 - 0.0453 V^2 = 3.52 + 0.0261 V^2 at 7.428 L/min and 4.960 m.
    network = Network(("pump", "pipe"), ("well", "outlet"), ("outlet", "tank"), ("well", "tank"))
    state = steady_state(
        network, PumpAndSystem(), np.array([0.0, 3.52]), np.zeros(1), np.array([1.0, 1.0])
    )
    assert state.flows_m3_s[0] == pytest.approx(7.428, rel=PRINTED_THREE_FIGURES)
    assert state.heads_m[0] == pytest.approx(4.960, rel=PRINTED_THREE_FIGURES)


def test_the_published_two_loop_network_has_its_published_heads():
    # Alperovits & Shamir, Water Resources Research 13(6), 1977 (numbers read from the MINLPLib
    # instance waternd_shamir); both loops kept, 419,000; h = 10.667 L Q^1.852/(C^1.852 D^4.871).
    network, pipes, draws = two_loop_network()
    state = steady_state(network, pipes, np.array([210.0]), draws, np.full(8, 0.05))
    found = dict(zip(network.nodes, state.heads_m, strict=True))
    for node, head_m in TWO_LOOP_HEADS_M.items():
        assert found[node] == pytest.approx(head_m, abs=PRINTED_HEAD_M)


@pytest.mark.parametrize("start_m3_s", [-1.0, 0.0, 1e-6, 0.3, 50.0])
def test_the_answer_does_not_depend_on_where_the_search_starts(start_m3_s):
    network, pipes, draws = two_loop_network()
    near = steady_state(network, pipes, np.array([210.0]), draws, np.full(8, 0.05))
    far = steady_state(network, pipes, np.array([210.0]), draws, np.full(8, start_m3_s))
    assert far.heads_m == pytest.approx(near.heads_m, rel=FORMULA)


def test_one_bed_gets_the_flow_that_closes_the_sum_of_heads():
    # One path: sump level + pump head = outlet + every pipe's loss + the valve's K V^2/2g,
    # solved by bisection on the one unknown with the scalar pipe formula.
    design, loss = make_design_of(1, 1), 200.0
    (bed,) = design.beds
    curve = PumpCurve(design.pump.flows_m3_s, design.pump.heads_m, design.pump.watts)

    def left_m(q):
        pipes = sum(
            head_loss_m(q, s.length_m, s.bore_m, s.roughness_m, 20.0, s.loss_coefficient)
            for s in design.stretches
        )
        valve = loss * (q / (np.pi / 4.0 * bed.valve_bore_m**2)) ** 2 / (2.0 * 9.80665)
        water_m = design.sump.floor_level_m + 0.5
        return water_m + curve.head_m(q) - bed.outlet_level_m - pipes - valve

    expected = brentq(left_m, 1e-7, curve.end_flow_m3_s, xtol=1e-16, rtol=1e-14)
    point = operating_point(design, {bed.id: loss}, 0.5)
    assert point.flows_m3_s[bed.drop] == pytest.approx(expected, rel=FORMULA)
    assert point.pump_head_m == pytest.approx(curve.head_m(expected), rel=FORMULA)


def test_starting_from_a_point_near_by_leads_to_the_same_point():
    design = make_design_of(3, 4)
    losses = {bed.id: 5.0 + 10.0 * i for i, bed in enumerate(design.beds)}
    alone, other = (operating_point(design, losses, level) for level in (0.5, 0.2))
    near = operating_point(design, losses, 0.5, near=other)
    assert near.flows_m3_s == pytest.approx(alone.flows_m3_s, rel=FORMULA)
    assert near.heads_m == pytest.approx(alone.heads_m, rel=FORMULA)
    assert other.flows_m3_s != pytest.approx(alone.flows_m3_s, rel=1e-3)


def test_the_system_is_that_of_the_incidence_matrix():
    # Newton's equations with the flows eliminated: (E' D E) h = b, E the edges by nodes with +1 at
    # an edge's tail and -1 at its head, made here as a full matrix
    network, _, _ = two_loop_network()
    full = np.zeros((len(network.edges), len(network.nodes)))
    for edge, (tail, head) in enumerate(zip(network.tails, network.heads, strict=True)):
        for node, sign in ((tail, 1.0), (head, -1.0)):
            if node in network.nodes:
                full[edge, network.nodes.index(node)] += sign
    system, chance = NewtonSystem.of(network), np.random.default_rng(5)
    heads, flows = chance.normal(size=full.shape[1]), chance.normal(size=full.shape[0])
    ease = chance.uniform(0.1, 9.0, size=full.shape[0])
    assert system.falls_m(heads) == pytest.approx(full @ heads, rel=FORMULA)
    assert system.gathered(flows) == pytest.approx(full.T @ flows, rel=FORMULA)
    right = full.T @ (ease * (full @ heads))
    assert system.solved_for(ease, right) == pytest.approx(heads, rel=FORMULA)


@pytest.mark.parametrize("full_nodes_most", [0, newton_system.FULL_NODES_MOST])
def test_a_system_is_solved_alike_as_a_full_and_as_a_sparse_matrix(full_nodes_most, monkeypatch):
    monkeypatch.setattr(newton_system, "FULL_NODES_MOST", full_nodes_most)
    network, _, _ = two_loop_network()
    system, chance = NewtonSystem.of(network), np.random.default_rng(7)
    heads, ease = chance.normal(size=system.nodes), chance.uniform(0.1, 9.0, len(network.edges))
    right = system.gathered(ease * system.falls_m(heads))
    assert system.solved_for(ease, right) == pytest.approx(heads, rel=FORMULA)
    # The twin: pipes that no head moves water through join nothing.
    with pytest.raises(RuntimeError):
        system.solved_for(0.0 * ease, right)


def test_many_pipes_at_once_lose_what_each_loses_alone():
    flows = np.array([-3e-4, 0.0, 1e-7, 4.2e-5, 6e-5, 2e-3])
    ones = np.ones(6)
    pipes = DarcyWeisbachPipes(7.0 * ones, 0.0266 * ones, 7e-6 * ones, 1.3 * ones, 12.0)
    alone = head_loss_m(flows, 7.0, 0.0266, 7e-6, 12.0, 1.3)
    assert pipes.head_loss_m(flows) == pytest.approx(alone, rel=FORMULA)


def test_steps_that_are_never_cut_short_lead_to_the_same_point(monkeypatch):
    # Cutting a step keeps the search from swinging; from near by it converges without.
    design = make_design_of(2, 3)
    losses = set_valves(design).losses
    whole = operating_point(design, losses, 0.4)
    monkeypatch.setattr(steady, "_CUTS_MOST", 0)
    uncut = operating_point(design, losses, 0.4)
    assert uncut.pump_flow_m3_s == pytest.approx(whole.pump_flow_m3_s, rel=FORMULA)


def test_a_pipe_that_nothing_feeds_is_told_by_its_node():
    with pytest.raises(BadInput, match="lonely"):
        Network(("a", "b"), ("source", "lonely"), ("end", "island"), ("source",))


def test_edges_without_ease_have_no_single_operating_point():
    network = Network(("a", "b"), ("source", "middle"), ("middle", "end"), ("source", "end"))
    with pytest.raises(NotSolved, match="no single answer"):
        steady_state(network, EndlesslySteep(), np.zeros(2), np.zeros(1), np.ones(2))


class EndlesslySteep:
    """A law by which no head whatever changes a flow."""

    def head_loss_m(self, flows):
        return np.where(flows > 1.0, np.inf, 0.0)


class NeverRises:
    """A law that breaks the solver's premise: head falls with flow."""

    def head_loss_m(self, flows):
        return 5.0 - np.tanh(flows)


def test_a_network_without_an_operating_point_is_refused_by_name():
    network = Network(("a", "b"), ("source", "middle"), ("middle", "end"), ("source", "end"))
    with pytest.raises(NotSolved):
        steady_state(network, NeverRises(), np.zeros(2), np.zeros(1), np.ones(2))
