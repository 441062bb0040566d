"""Sizing a tree: published networks, trying everything, and what every answer must satisfy."""

import math
from types import SimpleNamespace

import networkx as nx
import pandas as pd
import pytest

from optimizer.errors import BadInput, Infeasible, SolverFailed
from optimizer.milp import tree_bound
from optimizer.milp.fronts import Front
from optimizer.milp.size_tree import size_tree
from tests.milp.random_tree import SIZES, random_tree
from tests.milp.two_loop import INCHES, two_loop_tree
from tests.oracles.enumerate_tree import HazenWilliamsByHand, least_tree_cost
from tests.tolerances import EXACT, FORMULA, SOLVER

C130, C150 = HazenWilliamsByHand(130.0), HazenWilliamsByHand(150.0)

# Alperovits & Shamir, Water Resources Research 13(6), 1977 (numbers read from the MINLPLib
# instance waternd_shamir; elevations and 30 m recalled), demands as m3/h, with
# h = 10.667 L Q^1.852 / (C^1.852 D^4.871). Optima of the spanning trees: brute force over 14^6
# designs, our own computation.
TWO_LOOP = [
    ({(4, 5), (5, 7)}, 416_000.0),
    ({(3, 5), (5, 7)}, 437_000.0),
    ({(2, 3), (5, 7)}, 495_000.0),
]


def enumerated(tree, sizes, friction):
    nodes = {
        n: (d.get("demand_m3_s", 0.0), d.get("head_required_m")) for n, d in tree.nodes(data=True)
    }
    edges = {
        (a, b): (d["length_m"], d.get("loss_coefficient", 0.0)) for a, b, d in tree.edges(data=True)
    }
    root = next(n for n in tree if tree.in_degree(n) == 0)
    source = (root, tree.nodes[root]["head_available_m"])
    bought = list(zip(sizes["bore_m"], sizes["price_per_m"], strict=True))
    children = {n: list(tree.successors(n)) for n in tree}
    return least_tree_cost(source, children, nodes, edges, bought, friction)


@pytest.mark.parametrize(("without", "cost"), TWO_LOOP)
def test_the_two_loop_trees_cost_what_trying_all_designs_gave(without, cost):
    answer = size_tree(two_loop_tree(without), INCHES, C130)
    assert answer.cost == pytest.approx(cost, rel=SOLVER)
    assert answer.bound == pytest.approx(cost, rel=SOLVER)
    assert answer.gap == EXACT


@pytest.mark.parametrize(("without", "cost"), TWO_LOOP)
def test_the_oracle_too_finds_the_two_loop_costs(without, cost):
    assert enumerated(two_loop_tree(without), INCHES, C130) == pytest.approx(cost, rel=SOLVER)


@pytest.mark.parametrize("seed", range(60))
def test_a_random_tree_costs_what_trying_everything_costs(seed):
    tree = random_tree(seed, 2 + seed % 7)
    expected = enumerated(tree, SIZES, C150)
    if expected is None:
        with pytest.raises(Infeasible):
            size_tree(tree, SIZES, C150)
    else:
        assert size_tree(tree, SIZES, C150).cost == pytest.approx(expected, rel=FORMULA)


@pytest.mark.parametrize("seed", range(5))
def test_every_node_has_the_head_it_needs_and_the_cost_is_the_sum_of_its_parts(seed):
    tree = random_tree(seed, 80, head_m=12.0)
    answer = size_tree(tree, SIZES, C150)
    price = dict(zip(SIZES["size"], SIZES["price_per_m"], strict=True))
    parts = [tree.edges[e]["length_m"] * price[size] for e, size in answer.sizes.items()]
    assert answer.cost == pytest.approx(math.fsum(parts), rel=FORMULA)
    assert set(answer.sizes) == set(tree.edges)
    for node, data in tree.nodes(data=True):
        needed = data.get("head_required_m", -math.inf)
        assert answer.heads_m[node] >= needed - FORMULA


def test_heads_fall_by_the_friction_law():
    tree = random_tree(1, 30, head_m=12.0)
    answer = size_tree(tree, SIZES, C150)
    bore = dict(zip(SIZES["size"], SIZES["bore_m"], strict=True))
    for tail, head in tree.edges:
        below = nx.descendants(tree, head) | {head}
        flow = math.fsum(tree.nodes[n].get("demand_m3_s", 0.0) for n in below)
        data = tree.edges[tail, head]
        lost = C150.head_loss_m(
            flow, data["length_m"], bore[answer.sizes[tail, head]], data.get("loss_coefficient", 0)
        )
        assert answer.heads_m[tail] - answer.heads_m[head] == pytest.approx(lost, rel=SOLVER)


@pytest.mark.parametrize("seed", range(6))
def test_without_a_price_on_head_the_answer_is_the_same_and_its_bound_holds(seed, monkeypatch):
    # Whatever the prices, the bound lies below every design: a solver that ends without an answer
    # leaves prices of nothing, and the fronts then drop fewer points.
    expected = size_tree(random_tree(seed, 5, head_m=8.0), SIZES, C150).cost
    nothing = SimpleNamespace(status=4)  # scipy's number for numerical trouble
    monkeypatch.setattr(tree_bound, "linprog", lambda *_, **__: nothing)
    answer = size_tree(random_tree(seed, 5, head_m=8.0), SIZES, C150)
    assert answer.cost == pytest.approx(expected, rel=FORMULA)
    assert answer.bound <= answer.cost


def test_fronts_that_have_lost_a_stretch_are_no_answer(monkeypatch):
    # As if rounding had left no point within the head that is granted at the root.
    monkeypatch.setattr(Front, "cheapest_within", lambda *_: -1)
    with pytest.raises(SolverFailed, match="lost the stretch 1 to 2"):
        size_tree(two_loop_tree({(4, 5), (5, 7)}), INCHES, C130)


def test_a_dearer_pipe_never_lowers_the_cost():
    tree = random_tree(4, 40, head_m=9.0)
    base = size_tree(tree, SIZES, C150).cost
    for row in range(len(SIZES)):
        dearer = SIZES.copy()
        dearer.loc[row, "price_per_m"] += 0.1
        assert size_tree(tree, dearer, C150).cost >= base * (1 - FORMULA)


def test_more_head_never_raises_the_cost():
    costs = [
        size_tree(random_tree(4, 40, head_m=h), SIZES, C150).cost for h in (8.0, 12.0, 20.0, 40.0)
    ]
    assert costs == sorted(costs, reverse=True)


def test_equal_sizes_are_settled_by_the_first_listed():
    # Two sizes alike in bore and price: the one listed first is taken, every time.
    twins = pd.DataFrame({"size": ["one", "two"], "bore_m": 0.03, "price_per_m": 1.0})
    tree = random_tree(2, 12, head_m=50.0)
    assert set(size_tree(tree, twins, C150).sizes.values()) == {"one"}


def test_the_same_tree_gives_the_same_answer():
    tree = random_tree(6, 120, head_m=12.0)
    assert size_tree(tree, SIZES, C150) == size_tree(tree, SIZES, C150)


def test_a_tree_of_one_node_costs_nothing():
    alone = nx.DiGraph()
    alone.add_node("pump", head_available_m=3.0)
    assert size_tree(alone, SIZES, C150).cost == 0.0


def test_a_thousand_stretches_are_sized_with_proof():
    answer = size_tree(random_tree(8, 1000, head_m=20.0), SIZES, C150)
    assert len(answer.sizes) == 1000
    assert answer.gap == 0.0


def test_a_node_out_of_reach_is_named_with_what_it_lacks():
    # 5 m at the source, no flow and so no loss, 6 m wanted: 1 m short.
    tree = nx.DiGraph()
    tree.add_node("source", head_available_m=5.0)
    tree.add_node("high", head_required_m=6.0)
    tree.add_edge("source", "high", length_m=10.0)
    with pytest.raises(Infeasible, match=r"Node high .* 1\.000 m short"):
        size_tree(tree, SIZES, C150)
    tree.nodes["source"]["head_available_m"] = 6.0
    assert size_tree(tree, SIZES, C150).sizes == {("source", "high"): "d20"}


def test_every_fault_of_a_tree_and_a_price_list_is_told_at_once():
    tree = nx.DiGraph()
    tree.add_node("a", head_available_m=math.nan)
    tree.add_node("b", demand_m3_s=-1.0)
    tree.add_node("c", head_required_m="high")
    tree.add_edge("a", "b", length_m=-2.0)
    tree.add_edge("b", "c", loss_coefficient=-0.5)
    sizes = pd.DataFrame(
        {"size": ["d20", "d20"], "bore_m": [0.02, 0.0], "price_per_m": [1.0, math.inf]}
    )
    with pytest.raises(BadInput) as raised:
        size_tree(tree, sizes, C150)
    told = str(raised.value)
    for fault in (
        "head_available_m = nan",
        "demand_m3_s = -1",
        "head_required_m = 'high'",
        "length_m = -2",
        "no length_m",
        "loss_coefficient = -0.5",
        "bore of 0",
        "price_per_m = inf",
        "more than once",
    ):
        assert fault in told
    assert len(raised.value.problems) == 9


@pytest.mark.parametrize(
    ("edges", "fault"),
    [
        ([(0, 1), (2, 3)], "2 roots"),
        ([(0, 1), (2, 1)], "parents"),
        ([(0, 1), (1, 0)], "circle"),
        ([], "is empty"),
        ([(0, 1), (2, 3), (3, 2)], "circle"),
    ],
)
def test_what_is_no_tree_is_refused(edges, fault):
    graph = nx.DiGraph()
    graph.add_edges_from(edges, length_m=1.0)
    with pytest.raises(BadInput, match=fault):
        size_tree(graph, SIZES, C150)


def test_a_price_list_without_its_columns_is_refused():
    with pytest.raises(BadInput, match="bore_m"):
        size_tree(random_tree(1, 3), pd.DataFrame({"size": ["d20"]}), C150)
