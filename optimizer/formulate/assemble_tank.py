"""The tank that feeds the beds, its riser and its overflow: as built, and on the bill."""

from __future__ import annotations

import math
from dataclasses import dataclass

from optimizer.candidates.tank import source_level_m
from optimizer.formulate.assemble_pipe import built_stretch
from optimizer.formulate.bill import LaidStretch
from optimizer.formulate.loads import Load
from optimizer.formulate.overflow_ways import overflow_cents, overflow_parts
from optimizer.formulate.stretch_ways import fittings_loss, parts_in
from optimizer.formulate.sump_tables import above_outlet_m3
from optimizer.formulate.tank_lifting import Risers
from optimizer.formulate.tank_tables import Lift, tank_cents
from optimizer.physics.laws import DarcyWeisbach
from optimizer.physics.pipe import bore_area_m2
from optimizer.records.design import BuiltStretch, CostLine
from optimizer.records.header_tank import BuiltTank, HeaderTank
from optimizer.records.network import Stretch
from optimizer.records.parts import Catalog
from optimizer.records.problem import Duty
from optimizer.records.site import Site


@dataclass(frozen=True)
class TankPlant:
    """What fills the tank, as chosen. ``setting_m`` is the sump's setting level above its floor."""

    site: Site
    catalog: Catalog
    tank: HeaderTank
    stretch: Stretch
    lift: Lift
    setting_m: float

    def lifted(self, sump_level_m: float) -> float:
        """Return what the pump brings at a sump level.

        Raises:
            AssertionError: if it brings nothing there, which no chosen lift does.
        """
        riser = Risers.of(self.site, self.catalog, self.stretch, [self.lift.riser])
        ((flow,),) = riser.brought_m3_s(self.lift.curve, [sump_level_m]).tolist()
        if math.isnan(flow):
            raise AssertionError(f"{self.lift.option.id} brings nothing to the tank")
        return float(flow)

    @property
    def flow_m3_s(self) -> float:
        """What the pump brings with the sump at its setting level."""
        return self.lifted(self.setting_m)

    @property
    def water_m3(self) -> float:
        """All the water the tank holds."""
        if self.tank.part is not None:
            sold = self.catalog.sumps[self.tank.part]
            return sold.area_m2 * (sold.depth_m - sold.freeboard_m)
        return self.site.fish_tank.volume_m3 if self.site.fish_tank else 0.0

    @property
    def laid(self) -> LaidStretch:
        """The riser as the bill counts it."""
        load = Load(Duty("lift", 0), self.stretch.length_m, last=False)
        return LaidStretch(self.stretch, self.lift.riser, load, 0)


def built_riser(plant: TankPlant) -> BuiltStretch:
    """Return the riser as built, at what the pump brings with the sump at its setting level."""
    stretch, pipe, flow = plant.stretch, plant.lift.riser.pipe, plant.flow_m3_s
    law = DarcyWeisbach(pipe.roughness_m, plant.site.goals.water_temperature_c)
    local = fittings_loss(stretch, plant.catalog)
    return built_stretch(
        stretch,
        plant.lift.riser,
        plant.catalog,
        head=stretch.head,
        points=stretch.points,
        length_m=stretch.length_m,
        flow_m3_s=flow,
        loss_m=float(law.head_loss_m(flow, stretch.length_m, pipe.bore_m, local)),
        volume_m3=float(bore_area_m2(pipe.bore_m)) * stretch.length_m,
        parts=parts_in(stretch, False, 0),
    )


def built_tank(plant: TankPlant, lowest_m: float, highest_m: float) -> BuiltTank:
    """Return the tank as built, between the sump's lowest and highest running level."""
    tank, pipe = plant.tank, plant.lift.overflow
    x, y = tank.at
    return BuiltTank(
        part=tank.part or "",
        label=plant.catalog.sumps[tank.part].label if tank.part else "fish tank",
        x_m=x,
        y_m=y,
        water_level_m=tank.water_level_m,
        inlet_level_m=plant.stretch.points[-1][2],
        outlet_level_m=source_level_m(plant.site),
        water_m3=plant.water_m3,
        above_outlet_m3=above_outlet_m3(tank, plant.catalog),
        pump_flow_m3_s=(plant.lifted(lowest_m), plant.flow_m3_s, plant.lifted(highest_m)),
        overflow_m3_s=plant.lift.greatest_m3_s,
        overflow_pipe=pipe.id,
        overflow_nominal=pipe.nominal,
        overflow_bore_m=pipe.bore_m,
        overflow_length_m=plant.stretch.length_m,
        overflow_manning_n=plant.site.returns.manning_n,
        overflow_parts=overflow_parts(plant.stretch),
    )


def tank_lines(plant: TankPlant) -> list[CostLine]:
    """Return the bill's lines for the tank and its overflow pipe."""
    part, pipe, length = plant.tank.part, plant.lift.overflow, plant.stretch.length_m
    metres, fittings, laying = overflow_cents(plant.stretch, pipe, plant.catalog, plant.site)
    count = float(sum(each.count for each in overflow_parts(plant.stretch)))
    lines = [
        CostLine("capital", f"overflow pipe {pipe.nominal}", pipe.id, length, "m", metres),
        CostLine("capital", f"overflow fittings {pipe.nominal}", pipe.id, count, "piece", fittings),
    ]
    if laying:
        lines.append(CostLine("capital", "laying overflow pipe", "labour", length, "m", laying))
    if part:
        sold = plant.catalog.sumps[part]
        what = f"header tank: {sold.label}"
        money = tank_cents(plant.site, plant.catalog)
        lines.append(CostLine("capital", what, part, 1.0, "piece", money))
    return lines
