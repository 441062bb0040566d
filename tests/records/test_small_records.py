"""Small records that answer for themselves."""

import pytest

from optimizer.records.choice import SolveRecord
from optimizer.records.zones import BuiltZone, BuiltZones
from tests.tolerances import EXACT


def test_a_design_that_costs_nothing_is_proven_and_one_above_its_bound_by_its_share():
    # 200 against a bound of 150: a quarter of the cost is open.
    free = SolveRecord("complete", "optimal", 0, 0.0, 1.0)
    open_ = SolveRecord("complete", "stopped", 200, 150.0, 1.0)
    assert free.gap == EXACT
    assert open_.gap == 0.25


def test_every_row_has_its_zone_and_a_row_of_no_zone_is_not_found():
    first = BuiltZone("zone 1", ("A",), 5e-4, 1.5, 30.0)
    second = BuiltZone("zone 2", ("B", "C"), 7e-4, 1.4, 35.0)
    zones = BuiltZones(3600.0, 30.0, 1, (first, second), (), "timer", "a timer", 4, 6.0, 26.0)
    assert [zones.zone_of(row) for row in "ABC"] == [first, second, second]
    with pytest.raises(KeyError, match="nowhere"):
        zones.zone_of("nowhere")
