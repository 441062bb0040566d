"""The figures of a result table, against the bill and the parts of the design."""

from __future__ import annotations

import pytest

from optimizer.explore.point import ENERGY, figures_of
from tests.builders.zoned_design import zoned_design
from tests.explore.small import HALF_A_CENT
from tests.tolerances import FORMULA

KILOWATT_HOURS_OF_A_WATT = 24.0 * 365.0 / 1000.0
"""Of a year without a pause."""


def test_first_cost_energy_and_later_pumps_add_up_to_the_cost_also_with_timed_valves():
    row = figures_of(zoned_design())
    parts = [row[name] for name in ("capital", "energy_worth", "replacements")]
    assert sum(parts) == pytest.approx(row["cost"], abs=HALF_A_CENT)


def test_energy_is_that_of_the_pump_and_of_the_timed_valves():
    # One turn's valves are open at a time. All energy is bought at one price over the same years;
    # the bill rounds the pump's, and each valve's, to a cent.
    design = zoned_design()
    row, zones, watts = figures_of(design), design.zones, design.pump.duty_watts
    drawn = watts + zones.valve_watts * len(zones.valves) / len(zones.zones)
    assert row["energy_kwh_per_year"] == pytest.approx(
        drawn * KILOWATT_HOURS_OF_A_WATT, rel=FORMULA
    )
    pump = next(line.cents for line in design.costs if line.what == ENERGY) / 100.0
    rounded = (len(zones.valves) + drawn / watts) * HALF_A_CENT
    assert row["energy_worth"] == pytest.approx(pump * drawn / watts, abs=rounded)
