"""A tank over the beds that stands, as a design records it."""

from __future__ import annotations

import math

from optimizer.candidates.tank import source_level_m
from optimizer.formulate.sump_tables import above_outlet_m3
from optimizer.physics.overflow import overflow_capacity_m3_s
from optimizer.records.design import Design
from optimizer.records.header_tank import TANK, BuiltTank
from optimizer.records.network import CandidateNetwork
from optimizer.records.parts import Catalog
from optimizer.records.site import Site
from optimizer.records.stands import Stands

TANK_WORDS = "tank over the beds"
"""What a fault of the tank is told of."""


def standing_tank(
    site: Site, catalog: Catalog, network: CandidateNetwork, stands: Stands
) -> BuiltTank | None:
    """Return the tank that feeds the beds as it stands; None where the pump does.

    What the pump brings is left at 0: it is found by running the system.
    """
    tank, riser = site.header_tank, network.tank_riser
    if tank is None or riser is None:
        return None
    pipe, sold = catalog.pipes[stands.overflow], catalog.sumps.get(tank.part or "")
    fish_m3 = site.fish_tank.volume_m3 if site.fish_tank else 0.0
    x, y = tank.at
    return BuiltTank(
        part=tank.part or "",
        label=sold.label if sold else "fish tank",
        x_m=x,
        y_m=y,
        water_level_m=tank.water_level_m,
        inlet_level_m=riser.points[-1][2],
        outlet_level_m=source_level_m(site),
        water_m3=sold.area_m2 * (sold.depth_m - sold.freeboard_m) if sold else fish_m3,
        above_outlet_m3=above_outlet_m3(tank, catalog),
        pump_flow_m3_s=(0.0, 0.0, 0.0),
        overflow_m3_s=0.0,
        overflow_pipe=pipe.id,
        overflow_nominal=pipe.nominal,
        overflow_bore_m=pipe.bore_m,
        overflow_length_m=riser.length_m,
        overflow_manning_n=site.returns.manning_n,
    )


def overflow_room_m3_s(design: Design) -> float:
    """Return what the overflow of a tank over the beds carries; infinite where there is none."""
    tank = design.tank
    if tank is None:
        return math.inf
    riser = next(s for s in design.stretches if s.head == TANK)
    slope = max(0.0, (tank.water_level_m - riser.points[1][2]) / tank.overflow_length_m)
    return overflow_capacity_m3_s(tank.overflow_bore_m, slope, tank.overflow_manning_n)
