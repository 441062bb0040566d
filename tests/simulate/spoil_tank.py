"""Ways to spoil what the example design, fed from a tank, promises of that tank."""

from __future__ import annotations

import dataclasses

from optimizer.records.design import Design
from tests.builders.tank_design import with_tank
from tests.simulate.spoil_fish import with_fish
from tests.simulate.spoil_tools import LEVELS, Spoiled

TANK = "tank over the beds"


def brought_misstated() -> Spoiled:
    flows = tuple(1.02 * flow for flow in with_tank().tank.pump_flow_m3_s)
    expected = {(TANK, f"pump's flow at the {level} level, as stated") for level in LEVELS}
    return with_tank(pump_flow_m3_s=flows), expected


def tank_that_runs_dry() -> Spoiled:
    # The pump brings a quarter more than the beds take: valves set 30 % too wide empty the tank.
    # The beds' windows are wide enough for that.
    design = with_tank()
    promise = dataclasses.replace(design.promise, valve_setting_error=0.3)
    expected = {
        (TANK, f"overflows at the {level} level, pump weak and valves set too wide")
        for level in LEVELS
    }
    return dataclasses.replace(design, promise=promise), expected


def riser_under_water() -> Spoiled:
    return with_tank(gap_m=-1e-3), {(TANK, "riser ends over its water")}


def outlet_below_the_sump_water() -> Spoiled:
    return with_tank(outlet_level_m=0.0), {(TANK, "outlet above the sump's highest water")}


def overflow_too_narrow() -> Spoiled:
    # An upright pipe of 40 mm vents itself up to 0.3 sqrt(9.81 x 0.04) x pi 0.04^2/4 = 0.24 L/s.
    promise = "overflow pipe takes all that the pump brings"
    return with_tank(overflow_bore_m=0.04), {(TANK, promise)}


def overflow_counted_too_small() -> Spoiled:
    return with_tank(overflow_m3_s=1e-5), {(TANK, "overflow it is sized for")}


def pipe_too_thin_for_the_tank() -> Spoiled:
    design = with_tank()
    last = design.stretches[-1]
    thin = tuple(
        dataclasses.replace(s, rating_pa=1e3) if s is last else s for s in design.stretches
    )
    promise = "pipe's rating bears the tank's water at no flow"
    return dataclasses.replace(design, stretches=thin), {(last.id, promise)}


def tank_of_fish(above_m: float = 0.0) -> Design:
    """The example fed from its fish tank, whose level is stated so much above the tank's."""
    design = with_tank()
    fish = dataclasses.replace(
        with_fish().fish,
        feeds_beds=True,
        water_level_m=design.tank.water_level_m + above_m,
        turnovers_per_hour=design.pump.duty_flow_m3_s * 3600.0 / with_fish().fish.volume_m3,
    )
    return dataclasses.replace(design, fish=fish)


def tank_at_another_level_than_the_fish() -> Spoiled:
    return tank_of_fish(above_m=0.01), {(TANK, "its water is the fish tank's")}
