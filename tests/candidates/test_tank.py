"""A tank over the beds: its riser and where the supply begins, argued by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from optimizer.candidates.network import candidate_network
from optimizer.errors import BadInput
from optimizer.records.header_tank import HeaderTank
from optimizer.records.site import Corridor
from tests.candidates.ground import TWO_ROWS, by_id, close, site_of


def with_tank(site, at=(0.5, 2.0), level_m=2.0):
    return replace(site, header_tank=HeaderTank(at, level_m))


def test_a_tank_is_filled_by_a_riser_of_its_own_and_feeds_the_beds():
    network = candidate_network(with_tank(site_of(*TWO_ROWS)))
    riser = by_id(network)["riser to tank"]
    # Out of the sump 1 m, straight over the ground, up from 0.1 m to 5 cm over the water.
    assert (riser.tail, riser.head) == ("pump", "tank")
    assert riser.length_m == close(1.0 + math.hypot(0.5, 2.0) + 1.95)
    assert dict(riser.fittings) == {
        "elbow_90": 2, "exit": 1, "non_return_valve": 1, "strainer": 1, "union": 1
    }  # fmt: skip
    assert network.tank_riser == riser and riser not in network.supply
    # From the outlet, 20 cm under the water, down to pipe height and square to the header.
    first = by_id(network)["header to junction 1"]
    assert [p[2] for p in first.points] == [close(1.8), close(0.1), close(0.1)]
    assert dict(first.fittings) == {"bulkhead": 1, "elbow_90": 1, "union": 1}
    assert {s.tail for s in network.supply if s.tail in ("pump", "tank")} == {"tank"}


def test_a_riser_to_a_tank_follows_the_corridors():
    aisle = Corridor("aisle", ((0.0, 0.0), (0.0, 3.0), (1.5, 3.0)))
    network = candidate_network(with_tank(site_of(TWO_ROWS[1], corridors=(aisle,)), (0.4, 2.0)))
    riser = by_id(network)["riser to tank"]
    assert [p[:2] for p in riser.points[1:]] == [
        (0.0, 0.0), (0.0, 2.0), (close(0.4), 2.0), (close(0.4), 2.0)
    ]  # fmt: skip


def test_a_position_where_the_tank_stands_is_refused():
    with pytest.raises(BadInput, match="same place as the tank"):
        candidate_network(with_tank(site_of(*TWO_ROWS), at=(2.0, 1.0)))
