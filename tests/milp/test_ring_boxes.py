"""The parts of the proof for rings: lines, boxes, bounds, true flows."""

import threading

import numpy as np
import pytest

from optimizer import DarcyWeisbach, rings
from optimizer.errors import SolverFailed
from optimizer.milp import ring_flows, ring_search
from optimizer.milp.bare_solver import new_solver
from optimizer.milp.beside import Beside
from optimizer.milp.ring_box import is_narrow, least_in_box
from optimizer.milp.ring_flows import true_flows
from optimizer.milp.ring_input import read_rings
from optimizer.milp.ring_lines import lines_of
from optimizer.milp.ring_reach import Box, reach_of, shrunk, whole_box
from tests.milp.random_ring import SIZES, random_two_rings
from tests.milp.two_loop import INCHES, PUBLISHED, two_loop_network
from tests.oracles.enumerate_tree import HazenWilliamsByHand
from tests.tolerances import FORMULA, SOLVER

C130, C150 = HazenWilliamsByHand(130.0), HazenWilliamsByHand(150.0)
PLASTIC = DarcyWeisbach(roughness_m=1.5e-6)


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("law", [C150, PLASTIC], ids=["hazen", "darcy"])
def test_every_loss_in_a_box_lies_between_its_two_lines(law, seed):
    rng = np.random.default_rng(seed)
    network = read_rings(random_two_rings(seed), SIZES, law)
    reach = reach_of(network)
    low = rng.uniform(-1.0, 1.0, 2) * network.total_m3_s
    box = Box(low, low + rng.uniform(0.0, 0.5, 2) * network.total_m3_s)
    lines = lines_of(network, reach, box)
    for share in np.linspace(0.0, 1.0, 41):
        flows = lines.low_m3_s + share * lines.width_m3_s
        for i, (edge, size) in enumerate(zip(lines.edge, lines.size, strict=True)):
            loss = network.loss_m(edge, size, flows[i])
            under, over = (
                start[i] + share * lines.rise_m[i] for start in (lines.under_m, lines.over_m)
            )
            rounding = FORMULA * max(1.0, abs(loss))
            assert under - rounding <= loss <= over + rounding


@pytest.mark.parametrize("seed", range(25))
def test_no_box_that_holds_a_working_network_is_bounded_above_its_cost(seed):
    # Random sizes that keep all heads, and a random box round their true flows.
    rng = np.random.default_rng(seed)
    network = read_rings(random_two_rings(seed), SIZES, C150)
    beside = Beside(threading.Event())
    reach, solver = reach_of(network), new_solver(2000, beside)
    for _ in range(20):
        chosen = tuple(rng.integers(0, 3, 5).tolist())
        flows, heads = true_flows(network, chosen)
        if np.any(heads < network.required_m):
            continue
        # Loop flows are those of the pipes outside the tree.
        loops = np.linalg.lstsq(network.turns, flows - network.base_m3_s, rcond=None)[0]
        sides = rng.uniform(0.0, 10.0 ** rng.uniform(-4, 0), (2, 2)) * network.total_m3_s
        box = shrunk(network, reach, Box(loops - sides[0], loops + sides[1]))
        assert box is not None
        assert np.all(box.low <= loops + FORMULA) and np.all(loops <= box.high + FORMULA)
        cost = float(network.prices[np.arange(5), list(chosen)].sum())
        assert least_in_box(network, reach, box, solver, beside).bound <= cost * (1.0 + FORMULA)


def published_loops(network):
    """The loop flows of the published sizes."""
    names = INCHES["size"].tolist()
    flows, _ = true_flows(network, [names.index(PUBLISHED[e]) for e in network.edges])
    return np.linalg.lstsq(network.turns, flows - network.base_m3_s, rcond=None)[0]


def test_the_first_box_holds_every_flow_that_keeps_the_heads():
    network = read_rings(two_loop_network(), INCHES, C130)
    box = shrunk(network, reach_of(network), whole_box(network))
    assert box is not None
    loops = published_loops(network)
    assert np.all(box.low <= loops) and np.all(loops <= box.high)


def test_a_box_that_is_broken_off_promises_no_more_than_one_looked_at_to_its_end():
    # Asked whether to go on, the solver is told at once that it is over. The box holds the
    # published network of 419,000, so no bound may lie above that.
    network = read_rings(two_loop_network(), INCHES, C130)
    reach, loops, half = reach_of(network), published_loops(network), 0.06 * network.total_m3_s
    box = shrunk(network, reach, Box(loops - half, loops + half))
    assert is_narrow(network, box)
    going, over = Beside(threading.Event()), Beside(threading.Event())
    over.stop.set()
    whole, broken = (
        least_in_box(network, reach, box, new_solver(2000, beside), beside)
        for beside in (going, over)
    )
    assert broken.bound < whole.bound <= 419_000.0 * (1.0 + FORMULA)


def test_the_operating_point_refuses_heads_that_are_not_its_own():
    network = read_rings(two_loop_network(), INCHES, C130)
    names = INCHES["size"].tolist()
    chosen = tuple(names.index(PUBLISHED[e]) for e in network.edges)
    _, heads = true_flows(network, chosen)
    rings._require_agreement(network, chosen, heads)
    with pytest.raises(SolverFailed, match="does not bear the sizes out"):
        rings._require_agreement(network, chosen, heads + 1e-5)
    with pytest.raises(SolverFailed, match="short"):
        thin = (chosen[0] - 1, *chosen[1:])
        rings._require_agreement(network, thin, true_flows(network, thin)[1])


def test_flows_that_are_not_found_in_the_steps_allowed_are_no_answer(monkeypatch):
    network = read_rings(two_loop_network(), INCHES, C130)
    widest = (INCHES.index[-1],) * len(network.edges)
    monkeypatch.setattr(ring_flows, "STEPS_MOST", 1)
    with pytest.raises(SolverFailed, match="not found in 1 steps"):
        true_flows(network, widest)


@pytest.mark.parametrize("seed", range(5))
def test_whole_steps_lead_to_the_same_flows_as_steps_kept_short(seed, monkeypatch):
    # The energy has one least point, so whatever steps lead there lead to the same flows.
    network = read_rings(random_two_rings(seed), SIZES, C150)
    expected, _ = true_flows(network, (1,) * 5)
    monkeypatch.setattr(ring_flows, "HALVINGS_MOST", 0)
    flows, _ = true_flows(network, (1,) * 5)
    assert flows == pytest.approx(expected, rel=SOLVER, abs=SOLVER * network.total_m3_s)


def test_only_a_box_that_is_cut_no_more_is_looked_at_to_its_end(monkeypatch):
    # Boxes are told here to be cut no more from a tenth of all demands on, so that both kinds
    # come in turn.
    seen = []

    def looked_at(network, reach, box, solver, *rest):
        point = bool(np.all(box.high - box.low <= 0.1 * network.total_m3_s))
        seen.append((point, solver.getOptionValue("mip_max_nodes")[1]))
        return least_in_box(network, reach, box, solver, *rest)

    monkeypatch.setattr(ring_search, "POINT_SHARE", 0.1)
    monkeypatch.setattr(ring_search, "least_in_box", looked_at)
    network = read_rings(random_two_rings(3), SIZES, C150)
    ring_search.RingSearch(network, 0.0, threading.Event()).run()
    assert {point for point, _ in seen} == {True, False}
    assert all(point == (nodes > ring_search.NODES_MOST) for point, nodes in seen)
