"""What holds for the network of any rows."""

from __future__ import annotations

import math
import time
from collections import Counter

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.candidates.network import candidate_network
from optimizer.formulate.stretch_ways import tees_at_ends
from optimizer.records.site import Row
from tests.builders.random_site import random_site
from tests.candidates.ground import row, site_of, spot
from tests.tolerances import FORMULA

EXAMPLES = 60
ROW_GAP_M = 2.0


@st.composite
def rows_of_a_site(draw: st.DrawFn) -> tuple[Row, ...]:
    """Rows two metres apart, some of them named positions, all running east or all north."""
    east = draw(st.booleans())
    found = []
    for index in range(draw(st.integers(1, 5))):
        along = draw(st.integers(4, 30)) / 10.0
        across = ROW_GAP_M * (index + 1)
        start = (along, across) if east else (across, along)
        level = draw(st.sampled_from((0.0, 0.4, -0.3)))
        name = "ABCDE"[index]
        if draw(st.booleans()):
            found.append(spot(name, start, level_m=level))
            continue
        found.append(
            row(
                name,
                start,
                draw(st.integers(1, 6)),
                direction=(1.0, 0.0) if east else (0.0, 1.0),
                spacing_m=draw(st.sampled_from((0.5, 1.3))),
                level_m=level,
            )
        )
    return tuple(found)


@settings(max_examples=EXAMPLES, deadline=None, derandomize=True)
@given(rows_of_a_site())
def test_the_network_is_a_tree_from_the_pump_with_every_bed_a_leaf_reached_once(rows):
    network = candidate_network(site_of(*rows))
    graph = network.graph
    assert nx.is_arborescence(graph)
    assert [n for n in graph if graph.in_degree(n) == 0] == ["pump"]
    beds = [f"bed {p.id}" for p in network.positions]
    leaves = [n for n in graph if graph.out_degree(n) == 0]
    assert sorted(leaves) == sorted(beds)
    assert len(set(beds)) == sum(r.positions for r in rows)


@settings(max_examples=EXAMPLES, deadline=None, derandomize=True)
@given(rows_of_a_site())
def test_stretches_come_parents_first_under_ids_of_their_own(rows):
    stretches = candidate_network(site_of(*rows)).stretches
    reached = {"pump"}
    for stretch in stretches:
        assert stretch.tail in reached
        reached.add(stretch.head)
    assert len({s.id for s in stretches}) == len(stretches)


@settings(max_examples=EXAMPLES, deadline=None, derandomize=True)
@given(rows_of_a_site())
def test_no_way_to_a_bed_is_shorter_than_the_straight_line(rows):
    # Pipe to a take-off climbs from the sump's floor to the take-off's level, and goes at least as
    # far over the ground as the crow flies.
    site = site_of(*rows)
    network = candidate_network(site)
    into = {s.head: s for s in network.stretches}
    for position in network.positions:
        way, node = 0.0, position.take_off
        while node != "pump":
            way += into[node].length_m
            node = into[node].tail
        climb = position.ground_level_m + site.ground.pipe_height_m + 0.9
        straight = math.dist(site.ground.sump, (position.x_m, position.y_m)) + climb
        assert way >= straight * (1.0 - FORMULA)


@settings(max_examples=EXAMPLES, deadline=None, derandomize=True)
@given(rows_of_a_site())
def test_stretch_lengths_are_those_of_their_routes(rows):
    for stretch in candidate_network(site_of(*rows)).stretches:
        steps = list(zip(stretch.points, stretch.points[1:], strict=False))
        flat = sum(math.dist(a[:2], b[:2]) for a, b in steps)
        climbs = sum(abs(a[2] - b[2]) for a, b in steps)
        assert math.isclose(stretch.length_m, flat + climbs, rel_tol=FORMULA, abs_tol=FORMULA)


@settings(max_examples=EXAMPLES, deadline=None, derandomize=True)
@given(rows_of_a_site())
def test_there_is_a_tee_for_every_branch_and_one_closed_at_the_end_of_every_row(rows):
    # Joining n beds into one pipe takes n - 1 tees. The last tee of a row is closed by a clean-out
    # instead of an elbow, so every row end, if it is no lone bed, adds one.
    network = candidate_network(site_of(*rows))
    bought = sum(tees_at_ends(network).values())
    row_ends = sum(
        1
        for position in network.positions
        if network.graph.out_degree(position.take_off) == 1
        and dict(network.graph.edges[position.take_off, f"bed {position.id}"]["stretch"].fittings)
        .get("tee_branch")
    )  # fmt: skip
    assert bought == len(network.positions) - 1 + row_ends


@pytest.mark.parametrize("seed", range(60))
def test_shared_pipe_serves_whole_rows_and_no_row_is_fed_from_two_sides(seed):
    # What shared pipe carries is then known from the numbers of beds in the rows beyond it. Random
    # sites with crossing corridors, keep-outs and rows either way.
    site, _ = random_site(seed)
    network = candidate_network(site)
    positions = {row.id: row.positions for row in site.rows}
    for stretch in network.stretches:
        beyond = nx.descendants(network.graph, stretch.head) | {stretch.head}
        counts = Counter(p.row for p in network.positions if f"bed {p.id}" in beyond)
        if len(counts) > 1:
            assert counts == {name: positions[name] for name in counts}
            assert stretch.row is None
        else:
            assert {stretch.row} == set(counts)


def test_a_thousand_beds_are_laid_out_and_the_time_is_shown(capsys):
    rows = tuple(row(f"R{i}_", (2.0, 1.0 + 2.0 * i), 25) for i in range(40))
    started = time.perf_counter()
    network = candidate_network(site_of(*rows))
    seconds = time.perf_counter() - started
    with capsys.disabled():
        print(f"\ncandidate network of {len(network.positions)} beds: {seconds:.2f} s")
    assert len(network.positions) == 1000
