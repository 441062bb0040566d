"""Sites that no pump serves: what stands in its way is told, and the change that is told helps."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.errors import Infeasible
from optimizer.formulate.no_plant import require_a_quiet_pump, require_room_for_a_pump
from optimizer.formulate.pump_tables import pump_tables
from optimizer.records.noise import NoiseLimit
from optimizer.records.problem import LevelBand, PumpOption
from optimizer.records.site import Standing
from tests.builders.random_site import shipped_catalog
from tests.formulate.two_rows import SITE

CATALOG = shipped_catalog()
PUMP = replace(CATALOG.pumps["pump_100w_high"], submergence_m=0.10)
"""Water over it 0.10 m and the least swing 0.15 m: it needs 0.25 m in all."""


def tank(depth_m, freeboard_m=0.05):
    return replace(next(iter(CATALOG.sumps.values())), depth_m=depth_m, freeboard_m=freeboard_m)


def test_a_sump_too_shallow_for_any_pump_is_told_with_what_it_holds():
    with pytest.raises(Infeasible, match=r"at least 0.25 m of water, 0.10 m over") as told:
        require_room_for_a_pump([PUMP], [tank(0.25), tank(0.20)], 0.5)
    assert "The deepest allowed sump holds 0.20 m." in told.value.clash
    assert told.value.remedies[0].requirement == "sumps that may be bought"
    require_room_for_a_pump([PUMP], [tank(0.31)], 0.5)


def test_siphons_too_low_for_any_pump_s_water_are_told_with_the_height_that_is_missing():
    # 0.25 m less 0.115 m is 0.135 m, rounded up to 0.14 m.
    with pytest.raises(Infeasible, match="would keep the bed from draining") as told:
        require_room_for_a_pump([PUMP], [tank(0.6)], 0.115)
    assert told.value.remedies[0].change == (
        "set the beds at least 0.14 m higher, or the sump so much lower."
    )
    require_room_for_a_pump([PUMP], [tank(0.6)], 0.115 + 0.14)


def test_a_fish_tank_too_low_for_any_pump_s_water_is_told_with_the_height_that_is_missing():
    # 0.25 m less 0.195 m is 0.055 m, rounded up to 0.06 m.
    with pytest.raises(Infeasible, match=r"fish tank's water lies 0.20 m above its floor") as told:
        require_room_for_a_pump([PUMP], [tank(0.6)], 0.5, 0.195)
    assert told.value.remedies[0].change == (
        "set the fish tank at least 0.06 m higher, or the sump so much lower."
    )
    require_room_for_a_pump([PUMP], [tank(0.6)], 0.5, 0.195 + 0.06)


def test_where_no_sound_level_is_told_every_pump_counts_as_loud_and_that_is_said():
    silent = {PUMP.id: replace(PUMP, noise_db=None)}
    loud = PumpOption("1 x pump", PUMP.id, 1, 0, 5.0, loud_hours=24.0)
    site = replace(SITE, noise=NoiseLimit(40.0, 8.0))
    with pytest.raises(Infeasible, match="of none of them a sound level is told"):
        require_a_quiet_pump(site, replace(CATALOG, pumps=silent), [loud])
    require_a_quiet_pump(site, CATALOG, [replace(loud, loud_hours=8.0)])


def test_a_pump_that_is_not_sold_and_does_not_stand_there_is_no_option():
    band = LevelBand("swing 0.30 m", 0.05, 0.35)
    gone = Standing(not_sold=(PUMP.id,))
    there = replace(gone, pump=PUMP.id, pump_count=1)
    options = [
        [option.count for option in pump_tables(site, [PUMP], [band], (60, 120), 1.3).options]
        for site in (SITE, replace(SITE, standing=gone), replace(SITE, standing=there))
    ]
    assert options == [[1, 2], [], [1]]


@pytest.mark.parametrize("ceiling_cm", range(1, 25))
def test_the_height_that_is_missing_is_no_more_than_is_needed_and_suffices(ceiling_cm):
    # Of 0.25 m in all, outlets at 0.11 m leave 0.14 m wanting, not 0.15 m, and so at every cm.
    outlet_m, lacking_cm = ceiling_cm / 100.0, 25 - ceiling_cm
    with pytest.raises(Infeasible) as told:
        require_room_for_a_pump([PUMP], [tank(0.6)], outlet_m)
    assert f"at least {lacking_cm / 100.0:.2f} m higher" in told.value.remedies[0].change
    require_room_for_a_pump([PUMP], [tank(0.6)], outlet_m + lacking_cm / 100.0)
