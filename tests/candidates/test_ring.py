"""The network of a header closed into a ring: its ends, its stretches, the pipe that closes it."""

import math
from dataclasses import replace

import pytest

from optimizer.candidates.layouts import is_one_layout, layouts_of
from optimizer.candidates.network import candidate_network
from optimizer.candidates.ring import with_ends_built
from optimizer.errors import BadInput
from optimizer.formulate.stretch_ways import tees_at_ends
from optimizer.records.header_ring import CLOSING, HeaderRing
from optimizer.records.site import KeepOut
from tests.builders.ring_site import LONG_WAY, ring_text
from tests.tolerances import FORMULA
from tests.whole.feature_sites import job_of


@pytest.fixture
def site(tmp_path):
    """Four rows 2 m apart, leads at x = 2, the sump at the origin; closed behind the header."""
    return job_of(tmp_path, ring_text(rows=4, through=LONG_WAY)).site


def test_the_closing_pipe_joins_the_first_and_the_last_rows_place_by_the_places_named(site):
    closing = candidate_network(site).closing
    assert closing.id == CLOSING
    # By hand: (2, 0) to (0.5, 0), along to (0.5, 6), back to (2, 6): 1.5 + 6 + 1.5 m, two bends.
    assert [p[:2] for p in closing.points] == [(2, 0), (0.5, 0), (0.5, 6), (2, 6)]
    assert closing.length_m == pytest.approx(9.0, rel=FORMULA)
    assert dict(closing.fittings) == {"elbow_90": 2, "reducer": 1, "tee_branch": 1}


def test_the_places_may_be_named_from_either_end(site):
    backwards = HeaderRing(tuple(reversed(site.header_ring.through)), "always")
    again = candidate_network(replace(site, header_ring=backwards))
    assert again.closing == candidate_network(site).closing


@pytest.mark.parametrize(("feed", "pipes"), [("south", 3), ("centre", 4), ("north", 3)])
def test_the_ring_is_the_header_from_the_first_to_the_last_row(site, feed, pipes):
    network = candidate_network(replace(site, ground=replace(site.ground, header_fed=feed)))
    ring = [s for s in network.stretches if s.id in network.ring]
    assert len(ring) == pipes
    assert all((s.kind, s.row) == ("header", None) for s in ring)
    # 6 m of header between the first and the last row, wherever it is fed.
    assert math.fsum(s.length_m for s in ring) == pytest.approx(6.0, rel=FORMULA)
    ends = [node for s in (*ring, network.closing) for node in (s.tail, s.head)]
    assert all(ends.count(node) == 2 for node in ends)


def test_every_row_leaves_the_ring_by_a_tee_and_tees_are_pipes_that_meet_less_two(site):
    network = candidate_network(site)
    firsts = [s for s in network.stretches if s.kind == "lateral" and s.tail.startswith("junction")]
    assert len(firsts) == 4
    assert all({"tee_branch", "tee_run"} & dict(s.fittings).keys() for s in firsts)
    tees = tees_at_ends(network)
    assert tees[CLOSING] == 0
    for node in {n for s in network.stretches if s.id in network.ring for n in (s.tail, s.head)}:
        meeting = sum(node in (s.tail, s.head) for s in network.laid)
        assert sum(tees[s.id] for s in network.stretches if s.head == node) == meeting - 2


def test_without_the_key_the_network_is_the_open_one(site):
    network = candidate_network(replace(site, header_ring=None))
    assert (network.closing, network.ring) == (None, ())
    assert network.laid == network.supply


def test_a_ring_that_is_compared_stands_beside_the_open_header(site):
    compared = replace(site, header_ring=replace(site.header_ring, wanted="cheaper"))
    assert not is_one_layout(compared)
    names = [layout.name for layout in layouts_of(compared)]
    assert names == ["header left open", "header closed into a ring"]
    assert [layout.site.header_ring is None for layout in layouts_of(compared)] == [True, False]
    assert is_one_layout(site)


def test_a_closing_pipe_across_a_keep_out_is_refused(site):
    pond = KeepOut("pond", (0.2, 2.0), (1.0, 3.0))
    ground = replace(site.ground, keep_outs=(pond,))
    with pytest.raises(BadInput, match="would cross keep-out 'pond'"):
        candidate_network(replace(site, ground=ground))
    beside = KeepOut("pond", (0.6, 2.0), (1.0, 3.0))
    assert candidate_network(replace(site, ground=replace(ground, keep_outs=(beside,))))


def test_two_rows_at_two_places_make_no_ring(tmp_path):
    two = job_of(tmp_path, ring_text(rows=2)).site
    with pytest.raises(BadInput, match="fewer than three places"):
        candidate_network(two)


def test_rows_that_all_leave_at_one_place_make_no_ring(site):
    east, other = site.rows[:2]
    west = replace(other, start=(1.35, 0.0), direction=(-1.0, 0.0))
    ground = replace(site.ground, header_fed="nearest")
    one = replace(site, rows=(east, west), ground=ground)
    with pytest.raises(BadInput, match="no ring can be made"):
        candidate_network(one)


def test_the_rows_at_both_ends_of_a_ring_have_a_bed_and_others_may_have_none(site):
    loose = replace(site, rows=tuple(replace(row, beds_least=0) for row in site.rows))
    built = with_ends_built(loose, candidate_network(loose))
    assert [row.beds_least for row in built.rows] == [1, 0, 0, 1]
    opened = replace(loose, header_ring=None)
    assert with_ends_built(opened, candidate_network(opened)) == opened
