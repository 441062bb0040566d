"""The candidate network of plain sites, argued by hand."""

from __future__ import annotations

from dataclasses import replace

import networkx as nx
import pytest

from optimizer.candidates.layouts import layouts_of
from optimizer.candidates.network import candidate_network
from optimizer.candidates.segments import Segment, along, foot_share
from optimizer.errors import BadInput
from optimizer.records.site import Corridor, KeepOut, Purchase
from tests.candidates.ground import TWO_ROWS, by_id, close, count_of, row, site_of, spot


def test_the_header_runs_through_the_row_leads_half_a_spacing_before_the_first_beds():
    # Both rows start at x = 2 with 1 m spacing: their leads, and so the header, lie at x = 1.5.
    riser = by_id(candidate_network(site_of(*TWO_ROWS)))["riser to junction 1"]
    assert [p[:2] for p in riser.points] == [(0.0, 0.0), (0.0, 0.0), (1.5, 0.0), (1.5, 1.0)]


def test_the_riser_climbs_out_of_the_sump_to_pipe_height():
    # Up from -0.9 to 0.1 is 1 m, then 1.5 m east and 1 m north.
    riser = by_id(candidate_network(site_of(*TWO_ROWS)))["riser to junction 1"]
    assert riser.points[0][2] == -0.9
    assert riser.points[1][2] == close(0.1)
    assert riser.length_m == close(1.0 + 1.5 + 1.0)


def test_a_stretch_to_higher_ground_is_longer_by_the_difference_of_level():
    # From (1.5, 1) north 2 m and east 0.5 m to B1, and 0.5 m up to the terrace.
    lateral = by_id(candidate_network(site_of(*TWO_ROWS)))["lateral to B1"]
    assert lateral.length_m == close(2.0 + 0.5 + 0.5)
    assert [p[2] for p in lateral.points] == [close(0.1), close(0.6), close(0.6)]


def test_elbows_and_tees_are_counted_where_the_pipe_turns_and_branches():
    # The riser turns at the foot of its climb and at (1.5, 0). At the junction row A branches off
    # square and row B goes straight on, turning once into its own row.
    found = by_id(candidate_network(site_of(*TWO_ROWS)))
    assert dict(found["riser to junction 1"].fittings) == {"elbow_90": 2, "strainer": 1, "union": 1}
    assert dict(found["lateral to A1"].fittings) == {"tee_branch": 1}
    assert dict(found["lateral to B1"].fittings) == {"elbow_90": 1, "tee_run": 1}
    assert dict(found["lateral to B2"].fittings) == {"tee_run": 1}


def test_a_drop_leaves_a_tee_goes_over_the_rim_and_out():
    drop = by_id(candidate_network(site_of(*TWO_ROWS)))["drop A3"]
    assert dict(drop.fittings) == {"tee_branch": 1, "elbow_90": 2, "union": 1, "exit": 1}
    assert (drop.tail, drop.head, drop.length_m) == ("take_off A3", "bed A3", 0.0)


def test_a_non_return_valve_stands_in_the_riser_only_where_asked_for():
    site = site_of(*TWO_ROWS)
    asked = site.__class__(**{**vars(site), "purchase": Purchase(non_return_valve=True)})
    for each, expected in ((site, 0), (asked, 1)):
        counts = {s.id: count_of(s, "non_return_valve") for s in candidate_network(each).stretches}
        assert counts.pop("riser to junction 1") == expected
        assert set(counts.values()) == {0}


def test_a_turn_of_45_degrees_takes_a_half_elbow():
    # The aisle turns by 45 degrees at (2, 0); climbing out of the sump is the one square turn.
    aisle = Corridor("aisle", ((0.0, 0.0), (2.0, 0.0), (4.0, 2.0)))
    network = candidate_network(site_of(spot("P", (4.0, 2.0)), corridors=(aisle,)))
    riser = by_id(network)["riser to P"]
    assert dict(riser.fittings) == {"elbow_45": 1, "elbow_90": 1, "strainer": 1, "union": 1}


def test_a_corridor_that_is_drawn_twice_changes_nothing():
    aisle = Corridor("aisle", ((0.0, 0.0), (2.0, 0.0), (4.0, 2.0)))
    again = Corridor("again", tuple(reversed(aisle.points)))
    once, twice = (
        candidate_network(site_of(spot("P", (4.0, 2.0)), corridors=corridors))
        for corridors in ((aisle,), (aisle, again))
    )
    assert twice.supply == once.supply


def test_the_foot_of_a_piece_without_length_is_its_one_point():
    point = Segment("aisle", (1.0, 2.0), (1.0, 2.0))
    assert along(point, foot_share(point, (5.0, 5.0))) == (1.0, 2.0)


def test_pipe_follows_crossing_corridors_and_joins_where_they_cross():
    # Up the aisle to (0, 2), where the path crosses it; along it to x = 1.5, under both leads.
    corridors = (
        Corridor("aisle", ((0.0, 0.0), (0.0, 5.0))),
        Corridor("path", ((-1.0, 2.0), (5.0, 2.0))),
    )
    network = candidate_network(site_of(*TWO_ROWS, corridors=corridors))
    riser = by_id(network)["riser to junction 1"]
    assert [p[:2] for p in riser.points[1:]] == [(0.0, 0.0), (0.0, 2.0), (1.5, 2.0)]
    assert network.dropped == ()


def test_a_keep_out_drops_the_piece_it_blocks_with_its_reason_and_pipe_goes_round():
    # The pond lies over the short way up the aisle; the loop over the far corridor stays open.
    corridors = (
        Corridor("aisle", ((0.0, 0.0), (0.0, 3.0))),
        Corridor("round", ((0.0, 0.0), (-2.0, 0.0), (-2.0, 3.0), (0.0, 3.0))),
    )
    pond = KeepOut("pond", (-0.5, 1.0), (0.5, 2.0))
    row_b = row("B", (1.0, 3.0))
    network = candidate_network(site_of(row_b, corridors=corridors, keep_outs=(pond,)))
    assert [(d.run, d.reason) for d in network.dropped] == [
        ("aisle", "it would cross keep-out 'pond'")
    ]
    riser = by_id(network)["riser to B1"]
    # 1 m climb, 2 m west, 3 m north, 2 m east, 1 m on to B1.
    assert riser.length_m == close(1.0 + 2.0 + 3.0 + 2.0 + 1.0)


def test_pipe_may_run_along_the_edge_of_a_keep_out():
    edge = KeepOut("bench", (0.0, 0.5), (0.6, 0.9))
    aisle = Corridor("aisle", ((0.0, 0.0), (0.0, 3.0)))
    network = candidate_network(
        site_of(row("A", (1.0, 3.0)), corridors=(aisle,), keep_outs=(edge,))
    )
    assert network.dropped == ()


def test_positions_cut_off_by_a_keep_out_are_all_named_with_the_reason():
    wall = KeepOut("wall", (3.2, 0.5), (3.8, 1.5))
    with pytest.raises(BadInput) as caught:
        candidate_network(site_of(row("A", (2.0, 1.0), 4), keep_outs=(wall,)))
    assert [p.where for p in caught.value.problems] == ["position A3", "position A4"]
    assert all("keep-out 'wall'" in p.what for p in caught.value.problems)


def test_two_positions_in_one_place_are_refused_by_name():
    with pytest.raises(BadInput) as caught:
        candidate_network(site_of(row("A", (2.0, 1.0)), spot("P", (3.0, 1.0))))
    assert [(p.where, "position A2" in p.what) for p in caught.value.problems] == [
        ("position P", True)
    ]


def test_two_positions_of_one_name_are_refused():
    # The eleventh bed of row R and the first of row R1 would both be called R11.
    with pytest.raises(BadInput) as caught:
        candidate_network(site_of(row("R", (2.0, 1.0), 11), row("R1", (2.0, 3.0))))
    assert [p.where for p in caught.value.problems] == ["position R11"]


@pytest.mark.parametrize("name", ["pump", "junction 1", "take_off A1"])
def test_a_position_may_not_take_a_name_used_for_pipe(name):
    with pytest.raises(BadInput, match="this name is used for pipe"):
        candidate_network(site_of(row("A", (2.0, 1.0)), spot(name, (3.0, 4.0))))


def test_named_positions_hang_on_one_header_and_the_last_one_ends_in_an_elbow():
    # The header runs along y = 1, the middle of the three leads, from the sump's x to the farthest.
    spots = (spot("P", (2.0, 1.0)), spot("Q", (4.0, 1.0)), spot("R", (6.0, 2.0)))
    found = by_id(candidate_network(site_of(*spots)))
    assert [s.id for s in found.values() if s.kind == "header"] == ["header to Q"]
    assert found["lateral to R"].length_m == close(2.0 + 1.0)
    assert count_of(found["drop R"], "tee_branch") == 0
    assert count_of(found["drop R"], "elbow_90") == 3
    assert count_of(found["drop P"], "tee_branch") == 1


def test_a_row_may_be_reached_from_its_far_end():
    # The aisle meets the row at its third place, so water passes the third bed first.
    aisle = Corridor("aisle", ((4.0, 0.0), (4.0, 5.0)))
    network = candidate_network(site_of(row("A", (2.0, 1.0)), sump=(4.0, 0.0), corridors=(aisle,)))
    into = {s.head: s for s in network.stretches}
    assert into["take_off A3"].tail == "pump"
    assert into["take_off A2"].tail == "take_off A3"
    assert into["take_off A1"].tail == "take_off A2"


def test_a_row_may_be_reached_in_its_middle_and_water_then_parts_both_ways():
    aisle = Corridor("aisle", ((3.0, 0.0), (3.0, 5.0)))
    network = candidate_network(site_of(row("A", (2.0, 1.0)), sump=(3.0, 0.0), corridors=(aisle,)))
    leaving = {s.head for s in network.stretches if s.tail == "take_off A2"}
    assert leaving == {"take_off A1", "take_off A3", "bed A2"}


def test_a_row_crossed_by_shared_pipe_at_both_ends_is_fed_from_the_nearer_one_alone():
    # Two aisles cross row A, before its first and after its fourth bed. Row B hangs beyond, on the
    # far aisle, which passes row A without joining it.
    corridors = (
        Corridor("near", ((1.7, 0.0), (1.7, 1.5))),
        Corridor("along", ((1.7, 0.0), (5.5, 0.0))),
        Corridor("far", ((5.5, 0.0), (5.5, 4.0))),
    )
    rows = (row("A", (2.0, 1.0), 4, spacing_m=1.0), row("B", (6.0, 3.0)))
    long = (replace(rows[0], positions=5, beds_least=5, beds_most=5), rows[1])
    network = candidate_network(site_of(*long, sump=(1.7, 0.0), corridors=corridors))
    into = {s.head: s for s in network.stretches}
    chain = ["take_off A5"]
    while chain[-1] != "take_off A1":
        chain.append(into[chain[-1]].tail)
    assert chain == [f"take_off A{i}" for i in (5, 4, 3, 2, 1)]
    assert into["take_off B1"].row == "B"
    assert into["take_off B1"].tail == into["take_off A1"].tail


def test_a_row_runs_in_its_own_direction():
    west = row("W", (4.0, 1.0), direction=(-1.0, 0.0))
    xs = [p.x_m for p in candidate_network(site_of(west)).positions]
    assert xs == [4.0, 3.0, 2.0]


def test_the_graph_is_frozen_and_says_what_every_place_is():
    graph = candidate_network(site_of(*TWO_ROWS)).graph
    kinds = nx.get_node_attributes(graph, "kind")
    assert kinds["pump"] == "pump"
    assert kinds["junction 1"] == kinds["take_off B2"] == "junction"
    assert kinds["bed B2"] == "position"
    with pytest.raises(nx.NetworkXError, match="rozen"):
        graph.add_node("more")


def test_the_same_site_gives_the_same_network():
    one, two = candidate_network(site_of(*TWO_ROWS)), candidate_network(site_of(*TWO_ROWS))
    assert one.stretches == two.stretches
    assert one.positions == two.positions


# where the header is fed


def fed(site, word):
    return replace(site, ground=replace(site.ground, header_fed=word))


def test_a_header_fed_at_its_centre_is_reached_half_way_between_the_outer_rows():
    # Leads at (1.5, 1) and (1.5, 3): up beside the header to y = 2, then square to it.
    network = candidate_network(fed(site_of(*TWO_ROWS), "centre"))
    riser = by_id(network)["riser to junction 1"]
    assert [p[:2] for p in riser.points] == [(0.0, 0.0), (0.0, 0.0), (0.0, 2.0), (1.5, 2.0)]
    assert {s.id for s in network.stretches if s.tail == "junction 1"} == {
        "lateral to A1",
        "lateral to B1",
    }


def test_a_header_fed_at_its_far_end_feeds_the_far_row_first():
    riser = by_id(candidate_network(fed(site_of(*TWO_ROWS), "north")))["riser to junction 1"]
    assert [p[:2] for p in riser.points[1:]] == [(0.0, 0.0), (0.0, 3.0), (1.5, 3.0)]


def test_an_end_that_the_header_does_not_have_is_refused_with_those_it_has():
    with pytest.raises(BadInput) as caught:
        candidate_network(fed(site_of(*TWO_ROWS), "east"))
    (problem,) = caught.value.problems
    assert (problem.where, "south to north" in problem.what) == ("ground.header_fed", True)


def test_a_layout_left_open_is_refused_where_one_is_needed():
    with pytest.raises(BadInput, match="several layouts"):
        candidate_network(fed(site_of(*TWO_ROWS), "any"))


def test_with_one_row_every_feed_is_the_same():
    site = site_of(TWO_ROWS[0])
    assert [layout.site.ground.header_fed for layout in layouts_of(fed(site, "any"))] == ["nearest"]
    assert candidate_network(fed(site, "north")).stretches == candidate_network(site).stretches


def test_a_sump_under_the_header_feeds_both_its_sides_by_one_riser():
    # Leads at (1.5, 1) and (1.5, 3); the sump between them, at (1.5, 2).
    network = candidate_network(site_of(*TWO_ROWS, sump=(1.5, 2.0)))
    assert [s.id for s in network.stretches if s.tail == "pump"] == ["riser to junction 1"]
    assert by_id(network)["riser to junction 1"].length_m == close(1.0)
