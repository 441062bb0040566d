"""A system whose beds are fed from a tank over them: diagnosed and mended as any other."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from optimizer.errors import BadInput
from optimizer.mend.as_built import AsBuilt, as_built
from optimizer.mend.readings import openings_of
from optimizer.mend.run import diagnose, read_standing
from optimizer.mend.state import running
from optimizer.mend.supply_causes import supply_blame
from optimizer.records.stands import Stands
from tests.mend.tiny import TEXT, opened

TANK = """
[header_tank]
at = ["1 m", "1 m"]
water_level = "2.4 m"
part = "sump_0200"
"""

PIPES = """
[[standing.pipe]]
run = "header"
size = "1-1/4 in"
"""


def site_file(folder: Path, overflow: str = 'overflow = "4 in"') -> Path:
    text = TEXT.replace("[standing]", f"{TANK}[standing]\n{overflow}", 1) + PIPES
    text = text.replace("pump_065w_mid", "pump_150w_mid").replace("55 %", "50 %")
    file = folder / "tank.toml"
    file.write_text(text)
    return file


def fed_by_tank(folder: Path) -> AsBuilt:
    return read_standing(site_file(folder))


def standing(built: AsBuilt, stands: Stands) -> AsBuilt:
    return as_built(built.site, built.catalog, built.network, stands)


def test_a_system_fed_from_a_tank_works_as_it_stands(tmp_path):
    found = diagnose(fed_by_tank(tmp_path))
    assert found.state.faults == ()


def test_below_a_tank_no_inflow_moves_with_the_sump_s_level(tmp_path):
    # The tank's overflow holds its level, so the beds know nothing of the sump.
    for bed in diagnose(fed_by_tank(tmp_path)).state.beds:
        assert bed.inflow_m3_s[0] == pytest.approx(bed.inflow_m3_s[2], rel=1e-6)


def test_a_knocked_valve_below_a_tank_is_found_and_turned_back(tmp_path):
    built = fed_by_tank(tmp_path)
    knocked = standing(built, opened(built.stands, A2=0.25))
    found = diagnose(knocked, most=1)
    assert ("A2", "valve too shut") in {(f.subject, f.cause) for f in found.state.faults}
    assert [(c.kind, c.subject) for c in found.proposals[0].changes] == [("turn", "A2")]


def test_a_pump_that_brings_less_than_the_beds_take_is_told_and_mended(tmp_path):
    # By hand: the beds take more than the pump's flow at the tank, by simulation of both.
    built = fed_by_tank(tmp_path)
    weak = standing(built, replace(built.stands, pump="pump_040w_mid"))
    openings, _ = openings_of(weak)
    now = running(weak.design, openings)
    assert sum(b.inflow_m3_s[1] for b in now.beds) > now.points[1].pump_flow_m3_s
    found = diagnose(weak, most=1)
    assert "tank runs down" in {f.cause for f in found.state.faults}
    best = found.proposals[0]
    after = running(best.design, best.openings)
    assert sum(b.inflow_m3_s[1] for b in after.beds) < after.points[1].pump_flow_m3_s


def test_an_overflow_too_narrow_for_what_the_pump_brings_is_told(tmp_path):
    built = fed_by_tank(tmp_path)
    narrow = standing(built, replace(built.stands, overflow="sch40_1"))
    found = diagnose(narrow, most=1)
    assert "overflow too small" in {f.cause for f in found.state.faults}
    assert "overflow" in {c.kind for c in found.proposals[0].changes}


def test_a_tank_whose_overflow_is_not_described_is_asked_for(tmp_path):
    with pytest.raises(BadInput, match="overflow of the tank"):
        read_standing(site_file(tmp_path, overflow=""))


@pytest.mark.parametrize(
    ("level", "blamed"),
    [("0.9 m", ("tank too low", "tank over the beds")),
     ("1.4 m", ("stretch too narrow", "lateral to A1"))],
)  # fmt: skip
def test_a_tank_too_low_for_any_one_stretch_made_wider_is_itself_to_blame(level, blamed, tmp_path):
    # Beds take their water in at 0.8 m; their row is laid in 1/2 in throughout. From 1.4 m one
    # stretch laid wider lets enough through; from 0.9 m the rest of the row alone loses too much.
    file = site_file(tmp_path)
    narrow = 'run = "A"\nsize = "1/2 in"'
    text = file.read_text().replace('run = "A"\nsize = "1-1/4 in"', narrow)
    file.write_text(text.replace('water_level = "2.4 m"', f'water_level = "{level}"'))
    built = read_standing(file)
    openings, _ = openings_of(built)
    blame = supply_blame(built, running(built.design, openings), "A3")
    assert (blame.cause, blame.blamed) == blamed
